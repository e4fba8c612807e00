#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every rule of arch.py must be able to fail: a small tree that keeps the rules is broken in one place at a time, and
the breach must be reported, there and nowhere else."""
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest
from unittest import mock

sys.dont_write_bytecode = True
import arch

LICENCE = "/* SPDX-License-Identifier: GPL-3.0-or-later */\n"
GOOD = {
    "include/kneepoint/base.h": "#ifndef B\n#define B\n/* Based. */\nint kp_base(void);\n#endif\n",
    "include/kneepoint/stack.h": '#ifndef D\n#define D\n#include "kneepoint/base.h"\n/* A stack. */\nint kp_stack(void);\n#endif\n',
    "include/kneepoint/kneepoint.h": '#include "kneepoint/base.h"\n#include "kneepoint/stack.h"\n',
    "src/base/base.c": '#include "kneepoint/base.h"\n#include <math.h>\n#include "base/inner.h"\n'
                       "/* printf(\"in a comment\"), exit(1) */ static const char text[] = \"system(stdout)\";\n",
    "src/base/inner.h": "/* nothing */\n",
    "src/stack/stack.c": '#include "kneepoint/stack.h"\n#include "num/num.h"\n#include "inner.h"\n',
    "src/stack/inner.h": "/* nothing */\n",
    "src/draw/draw.c": "int kp_pipe(void) { return posix_spawn(); }\n",
    "src/cli/main.c": '#include "kneepoint/kneepoint.h"\nint main(void) { printf("x"); exit(0); }\n',
    "tests/stack/test.c": "int main(void);\n",
}
BUILD = """# SPDX-License-Identifier: GPL-3.0-or-later
room_needs = {
  'base': [],
  'num': ['base'],
  'fluid': ['base', 'num'],
  'stack': ['base', 'num'],
  'flow': ['base', 'num', 'fluid'],
  'model': ['base', 'stack'],
  'file': ['base', 'model'],
  'draw': ['base'],
  'report': ['base', 'stack', 'draw'],
  'cli': ['base', 'stack', 'report'],
}
"""


class Rules(unittest.TestCase):
    def setUp(self):
        for name, none in (("KNOWN_CIRCLES", []), ("KNOWN_BARE", set())):
            known = mock.patch.object(arch, name, none)
            known.start()
            self.addCleanup(known.stop)
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.top = pathlib.Path(folder.name)
        for name, text in GOOD.items():
            self.write(name, text)
        self.write("src/meson.build", BUILD, licence="")
        arch.read_rooms(self.top)

    def write(self, name, text, licence=LICENCE):
        path = self.top / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(licence + text)

    def breaches(self):
        found = []
        for rule in (arch.check_includes, arch.check_cycles, arch.check_build, arch.check_calls, arch.check_licence,
                     arch.check_comments):
            found += rule(self.top)
        return found

    def expect(self, *words):
        found = self.breaches()
        self.assertEqual(len(found), 1, found)
        for word in words:
            self.assertIn(word, found[0])

    def test_good_tree_has_no_breach(self):
        self.assertEqual(self.breaches(), [])

    def test_forbidden_room(self):
        for header in ("kneepoint/fluid.h", "flow/flow.h"):
            self.write("src/stack/stack.c", f'#include "kneepoint/base.h"\n#include "{header}"\n')
            self.expect("src/stack/stack.c:3", "room stack may not include room " + header.split("/")[1][:-2])

    def test_room_header_in_a_public_header(self):
        self.write("include/kneepoint/stack.h", '#include "num/num.h"\n')
        self.expect("include/kneepoint/stack.h:2", "inner headers")

    def test_forbidden_room_in_a_public_header(self):
        self.write("include/kneepoint/draw.h", '#include "kneepoint/model.h"\n')
        self.expect("include/kneepoint/draw.h:2", "may not include room model")

    def test_umbrella_below_cli(self):
        self.write("src/draw/draw.c", '#include "kneepoint/kneepoint.h"\n')
        self.expect("src/draw/draw.c:2", "umbrella")

    def test_inner_header_of_another_room(self):
        for name in ("stack/inner.h", "../stack/inner.h"):
            self.write("src/draw/draw.c", f'#include "{name}"\n')
            self.expect("src/draw/draw.c:2", "inner headers")

    def test_outside_library_in_a_wrong_room(self):
        for name, room in (("gsl/gsl_roots.h", "stack"), ("yaml.h", "base"), ("gsl/gsl_rng.h", "draw"), ("cjson/cJSON.h", "stack"),
                           ("cjson/cJSON.h", "cli")):
            with self.subTest(name):
                self.setUp()
                self.write(f"src/{room}/more.c", f"#include <{name}>\n")
                self.expect(f"src/{room}/more.c:2", name)

    def test_outside_library_in_a_public_header(self):
        self.write("include/kneepoint/cli.h", "#include <cjson/cJSON.h>\n")
        self.expect("include/kneepoint/cli.h:2", "cjson/cJSON.h")

    def test_cycle(self):
        arch.ROOMS["base"].add("stack")
        self.assertTrue(any("src/base" in breach for breach in arch.check_cycles(self.top)))

    def test_cycle_by_a_file(self):
        self.write("src/base/base.c", '#include "kneepoint/stack.h"\n')
        self.assertTrue(any("src/base" in breach for breach in arch.check_cycles(self.top)))

    def test_a_room_that_needs_one_below_it(self):
        self.write("src/meson.build", BUILD.replace("'fluid': ['base', 'num']", "'fluid': ['base', 'flow']"), licence="")
        arch.read_rooms(self.top)
        self.assertTrue(any("fluid needs flow" in breach for breach in arch.check_build(self.top)))

    def test_no_table_of_rooms(self):
        self.write("src/meson.build", "", licence="")
        arch.read_rooms(self.top)
        self.assertIn("src/meson.build: no room_needs table", list(arch.check_build(self.top)))

    def test_unknown_room(self):
        self.write("src/shed/shed.c", "int kp_shed(void);\n")
        self.expect("src/shed")

    def test_talk_exit_environment_below_cli(self):
        for call in ('printf("x")', "puts(x)", "exit(1)", "abort()", 'getenv("HOME")', 'fprintf(stderr, "x")',
                     "setenv(a, b, 1)", "fflush(stdout)"):
            with self.subTest(call):
                self.write("src/stack/more.c", f"void kp_f(void) {{ {call}; }}\n")
                self.expect("src/stack/more.c:2", "only cli")

    def test_process_outside_draw(self):
        self.write("src/file/more.c", "void kp_f(void) { fork(); }\n")
        self.expect("src/file/more.c:2", "only draw")

    def test_shell_anywhere(self):
        for room in ("draw", "cli"):
            with self.subTest(room):
                self.setUp()
                self.write(f"src/{room}/more.c", 'void kp_f(void) { system("ls"); }\n')
                self.expect(f"src/{room}/more.c:2", "shell")

    def test_licence_line(self):
        self.write("tests/stack/test.c", "int main(void);\n", licence="")
        self.expect("tests/stack/test.c", "SPDX")

    def test_header_that_needs_another(self):
        for compiler in ("gcc", "clang"):
            self.assertEqual(list(arch.check_headers(self.top, [compiler])), [])
        self.write("include/kneepoint/stack.h", "size_t kp_stack(void);\n")
        for compiler in ("gcc", "clang"):
            found = list(arch.check_headers(self.top, [compiler]))
            self.assertTrue(any("stack.h" in breach and compiler in breach for breach in found), found)

    def test_header_without_a_guard(self):
        self.write("include/kneepoint/stack.h", "typedef struct kp_stack { int x; } kp_stack;\n")
        for compiler in ("gcc", "clang"):
            found = list(arch.check_headers(self.top, [compiler]))
            self.assertTrue(any("stack.h" in breach and compiler in breach for breach in found), found)

    def test_missing_compiler(self):
        self.assertEqual(len(list(arch.check_headers(self.top, ["no-such-compiler"]))), 1)

    def objects(self, text):
        folder = self.top / "build" / "src"
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        (folder / "a.c").write_text(text)
        subprocess.run(["gcc", "-fPIC", "-O2", "-c", "a.c", "-o", "a.o"], cwd=folder, check=True)
        subprocess.run(["ar", "rcs", "libkp_stack.a", "a.o"], cwd=folder, check=True)
        return list(arch.check_objects(self.top / "build"))

    def test_objects(self):
        good = "const char *const kp_names[] = {\"a\", \"b\"}; static int local(int x) { return x + 1; }\n" \
               "int kp_f(int x) { return local(x) + kp_names[0][0]; }\n"
        self.assertEqual(self.objects(good), [])
        for bad, word in (("int kp_counter = 3;", "kp_counter"), ("static int hidden; int *kp_p(void) { return &hidden; }", "hidden"),
                          ("int kp_g(void) { static int calls; return ++calls; }", "calls"),
                          ("int loose(void) { return 1; }", "loose"), ("_Thread_local int kp_t;", "kp_t")):
            with self.subTest(bad):
                found = self.objects(good + bad)
                self.assertEqual(len(found), 1, found)
                self.assertIn(word, found[0])

    def test_listed_data_may_exist(self):
        kept = arch.GLOBALS
        self.addCleanup(setattr, arch, "GLOBALS", kept)
        arch.GLOBALS = {("stack", "kp_counter"): "an example"}
        self.assertEqual(self.objects("int kp_counter = 3;\n"), [])
        self.assertEqual(len(self.objects("int kp_counter = 3; int kp_other = 3;\n")), 1)

    def test_listed_data_has_a_reason(self):
        for place, reason in arch.GLOBALS.items():
            self.assertTrue(len(place) == 2 and len(reason) > 20, place)

    def test_name_defined_twice(self):
        self.assertEqual(self.objects("int kp_f(void) { return 1; }\n"), [])
        folder = self.top / "build" / "src" / "kneepoint.p"
        folder.mkdir()
        (folder / "main.c").write_text("int kp_f(void); int kp_f(void) { return 2; } int main(void) { return 0; }\n")
        subprocess.run(["gcc", "-c", "main.c", "-o", "main.o"], cwd=folder, check=True)
        found = list(arch.check_objects(self.top / "build"))
        self.assertEqual(len(found), 1, found)
        self.assertIn("kp_f: defined 2 times", found[0])

    def test_public_function_without_a_comment(self):
        for text in ("int kp_bare(void);\n", "/* Not directly above. */\n\nint kp_bare(void);\n",
                     "typedef int kp_number; /* of another */\nint kp_bare(void);\n"):
            with self.subTest(text):
                self.write("include/kneepoint/draw.h", text)
                self.expect("include/kneepoint/draw.h:", "kp_bare: no comment")
                with mock.patch.object(arch, "KNOWN_BARE", {"kp_bare"}):
                    self.assertEqual(self.breaches(), [])
        with mock.patch.object(arch, "KNOWN_BARE", {"kp_bare", "kp_stack"}):
            self.expect("kp_stack is no longer without a comment")

    def test_circle_of_files(self):
        folder = self.top / "build" / "src" / "libkp_stack.a.p"
        folder.mkdir(parents=True)

        def build(**files):
            for name, text in files.items():
                (folder / f"{name}.c").write_text(text)
                subprocess.run(["gcc", "-fPIC", "-c", f"{name}.c", "-o", f"{name}.c.o"], cwd=folder, check=True)
            subprocess.run(["ar", "rcs", "../libkp_stack.a", *(f"{name}.c.o" for name in files)], cwd=folder, check=True)
            return list(arch.check_objects(self.top / "build"))

        above = "int kp_low(void); int kp_high(void) { return kp_low(); }\n"
        self.assertEqual(build(stack_high=above, stack_low="int kp_low(void) { return 1; }\n"), [])
        found = build(stack_high=above, stack_low="int kp_high(void); int kp_low(void) { return kp_high(); }\n")
        self.assertEqual(found, ["files call each other in a circle: stack_high.c uses kp_low of stack_low.c; "
                                 "stack_low.c uses kp_high of stack_high.c"])
        with mock.patch.object(arch, "KNOWN_CIRCLES", [["stack_high.c", "stack_low.c"]]):
            self.assertEqual(list(arch.check_objects(self.top / "build")), [])
            found = build(stack_high=above, stack_low="int kp_low(void) { return 1; }\n")
            self.assertEqual(len(found), 1, found)
            self.assertIn("no longer a circle", found[0])

    def test_objects_of_an_empty_folder(self):
        (self.top / "build" / "src").mkdir(parents=True)
        self.assertEqual(len(list(arch.check_objects(self.top / "build"))), 1)


if __name__ == "__main__":
    unittest.main()
