#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""measure.py must see each thing that it counts, in a small tree where each is known."""
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.dont_write_bytecode = True
import arch
import measure

HEADER = """/* what it is for */
#include <stddef.h>
#define KP_API __attribute__((visibility("default")))
#ifdef __cplusplus
extern "C" {
#endif
/** Says one. */
KP_API int kp_one(int x,
                  int y);
KP_API int kp_two(void);
typedef struct kp_thing {
    int size; /* [m] */
    int (*kp_call)(void);
} kp_thing; /* a thing */
KP_API const char *kp_three(kp_thing *thing);
typedef int (*kp_callback)(int x);
/* A line. */
// Another.
KP_API void kp_four(int (*call)(int x)); /* behind it */
KP_API void kp_five(void);
/* Its size in full. */
static inline int kp_six(void)
{
    return 6;
}
#ifdef __cplusplus
}
#endif
"""
SOURCE = """/* head of the file */
static const int table[] = {
    1, 2,
};

/* Adds. */
static int add(int x,
               int y)
{
    /* why */
    int sum = x + y; /* behind code */

    if (sum > 3) { // a brace in a word: "{"
        sum = table[0];
    }
    return sum;
}
"""


class Measures(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.top = pathlib.Path(folder.name)
        for name, text in (("include/kneepoint/base.h", HEADER), ("src/base/add.c", SOURCE), ("src/base/inner.h", "/* in */\n")):
            (self.top / name).parent.mkdir(parents=True, exist_ok=True)
            (self.top / name).write_text(text, encoding="utf-8")

    def test_public_functions(self):
        self.assertEqual([(line, name, good) for _, line, name, good in arch.public_functions(self.top)],
                         [(8, "kp_one", True), (10, "kp_two", False), (15, "kp_three", False), (19, "kp_four", True),
                          (20, "kp_five", False), (22, "kp_six", True)])

    def test_licence_is_no_comment(self):
        for above, good in (("/* SPDX-License-Identifier: GPL-3.0-or-later */\n", False), ("", False), ("/* It. */\n", True)):
            (self.top / "include/kneepoint/base.h").write_text(above + "int kp_one(void);\n", encoding="utf-8")
            self.assertEqual([row[3] for row in arch.public_functions(self.top)], [good])

    def test_functions(self):
        (name, lines, body), = measure.functions(SOURCE)
        self.assertEqual((name, lines, len(body)), ("add", 11, 8))
        self.assertEqual(body[0], "    /* why */")
        self.assertEqual(body[-1], "}")

    def test_report(self):
        said = list(measure.report(self.top, None))
        self.assertEqual(said, [
            "18 lines in src, 28 in include", "0 of 1 functions over 60 lines", "longest function: 11 lines, add in src/base/add.c",
            "12.5 % blank lines and 12.5 % comment lines in 8 lines of function bodies",
            "6 public functions, 3 of them without a comment directly above",
            *(f"    include/kneepoint/base.h:{place}" for place in ("10: kp_two", "15: kp_three", "20: kp_five"))])
        path = self.top / "src/base/add.c"
        path.write_text(SOURCE.replace("    return", "    sum++;\n" * 60 + "    return"), encoding="utf-8")
        said = list(measure.report(self.top, None))
        self.assertIn("1 of 1 functions over 60 lines", said)
        self.assertIn("    71 add src/base/add.c", said)

    def build(self, **files):
        folder = self.top / "build" / "src" / "libkp_base.a.p"
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            (folder / f"{name}.c").write_text(text, encoding="utf-8")
            subprocess.run(["gcc", "-fPIC", "-c", f"{name}.c", "-o", f"{name}.c.o"], cwd=folder, check=True)
        subprocess.run(["gcc", "-shared", *(f"libkp_base.a.p/{name}.c.o" for name in files), "-o", "libkneepoint.so"],
                       cwd=folder.parent, check=True)
        return self.top / "build"

    def test_objects(self):
        files = {"base_a": "int kp_two(void); int kp_one(void) { return kp_two(); }\n",
                 "base_b": "int kp_x(void); static int mine(void) { return 1; } int kp_two(void) { return kp_x() + mine(); }\n",
                 "base_c": "static int mine(void) { return 2; } int kp_x(void) { return mine(); }\n"}
        build = self.build(**files)
        uses = arch.file_uses(build)
        self.assertEqual(uses, {"base_a.c": {"base_b.c": {"kp_two"}}, "base_b.c": {"base_c.c": {"kp_x"}}})
        self.assertEqual(arch.circles(uses), [])
        said = list(measure.report(self.top, build))
        self.assertIn("0 circles of files", said)
        self.assertIn("3 exported symbols, 1 of them not declared in include/kneepoint", said)
        self.assertIn("    kp_x", said)
        files["base_c"] = "int kp_one(void); int kp_x(void) { return kp_one(); }\n"
        said = list(measure.report(self.top, self.build(**files)))
        self.assertIn("1 circles of files", said)
        self.assertIn("    base_a.c, base_b.c, base_c.c", said)
        self.assertIn("        base_c.c uses base_a.c: kp_one", said)

    def test_circles(self):
        self.assertEqual(arch.circles({"a": "b", "b": "c", "c": "ad", "d": "e", "e": "d", "f": "a"}), [["a", "b", "c"], ["d", "e"]])

    def test_empty_build_folder(self):
        (self.top / "build" / "src").mkdir(parents=True)
        with self.assertRaises(SystemExit):
            list(measure.report(self.top, self.top / "build"))


if __name__ == "__main__":
    unittest.main()
