#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every rule of docs.py must be able to fail: a small page about a small tree is spoilt in one place at a time, and the
breach must be reported, there and nowhere else."""
import pathlib
import sys
import tempfile
import unittest
from unittest import mock

sys.dont_write_bytecode = True
import arch
import docs

TREE = {
    "src/meson.build": "room_needs = {\n  'base': [],\n  'stack': ['base'],\n}\n",
    "src/stack/solve.c": "static int newton(int x) { return x; }\nint kp_stack_solve(int x) { return newton(x); }\n",
    "include/kneepoint/stack.h": "int kp_stack_solve(int x);\n",
    "tests/run.sh": "true\n",
    "tests/embed/host.c": "int first;\nint second;\nint third;\nint fourth;\n",
}
GOOD = """# Page

| room | holds |
| --- | --- |
| `base` | errors |
| `stack` | `solve.c` |

`kp_stack_solve` in `stack/solve.c`, which `newton()` serves; `src/stack/*.c`, `tests/`, `include/kneepoint/stack.h`,
`kp_stack_*`; `m/s`, `--set a/b`. Not there yet: `kp_new`, `src/stack/new.c`.

```sh
sh tests/run.sh   # not src/nothing
cc other.c
```

```c tests/embed/host.c
int first;
int second;
...
int fourth;
```

```c
int free_example = kp_stack_solve(1);
```
"""


class Rules(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.top = pathlib.Path(folder.name)
        for name, text in TREE.items():
            self.write(name, text)
        rooms = dict(arch.ROOMS)
        self.addCleanup(lambda: (arch.ROOMS.clear(), arch.ROOMS.update(rooms)))
        arch.read_rooms(self.top)
        invented = mock.patch.object(docs, "INVENTED", {"kp_new", "src/stack/new.c"})
        invented.start()
        self.addCleanup(invented.stop)

    def write(self, name, text):
        path = self.top / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)

    def expect(self, old, new, *words):
        """The good page with one text replaced has one breach, and these words are in it."""
        self.assertIn(old, GOOD)
        text = GOOD.replace(old, new)
        found = [breach for rule in docs.RULES for breach in rule(self.top, text)]
        self.assertEqual(len(found), 1, found)
        for word in words:
            self.assertIn(word, found[0])

    def test_good_page_has_no_breach(self):
        self.assertEqual([breach for rule in docs.RULES for breach in rule(self.top, GOOD)], [])

    def test_missing_file_or_folder(self):
        for name in ("src/stack/gone.c", "stack/gone.c", "gone.c", "src/gone", "stack/gone", "src/gone/*.c", "tests/gone/"):
            with self.subTest(name):
                self.expect("`tests/`", f"`{name}`", "DEVELOPERS.md:8", name, "does not exist")

    def test_missing_file_in_a_command(self):
        self.expect("sh tests/run.sh", "sh tests/gone.sh", "DEVELOPERS.md:12", "tests/gone.sh")

    def test_missing_name(self):
        self.expect("`kp_stack_solve`", "`kp_stack_slove`", "DEVELOPERS.md:8", "kp_stack_slove")
        self.expect("kp_stack_solve(1)", "kp_gone(1)", "kp_gone")
        self.expect("`kp_stack_*`", "`kp_stick_*`", "kp_stick_*")
        self.expect("`newton()`", "`galileo()`", "DEVELOPERS.md:8", "galileo()")

    def test_rooms(self):
        for old, new in (("| `base` | errors |\n", ""), ("| `base` |", "| `shed` |"), ("| room |", "| folder |"),
                         ("| `stack` |", "| `stack` | x |\n| `shed` |")):
            with self.subTest(new):
                self.expect(old, new, "table of rooms")

    def test_a_room_that_the_table_leaves_out(self):
        arch.ROOMS["flow"] = set()
        self.expect("# Page", "# Page", "base, stack; src/meson.build has base, stack, flow")

    def test_excerpt(self):
        for old, new in (("int second;", "int second; "), ("int second;\n...", "int second;"), ("int second;\n", ""),
                         ("int first;\nint second;\n...\nint fourth;", "int fourth;\n...\nint first;"),
                         ("int fourth;", "int fourth;\nint fifth;")):
            with self.subTest(new):
                if old == "int second;\n":  # what is left out without a line `...`
                    self.expect("int second;\n...\nint fourth;", "int third;", "do not stand in tests/embed/host.c")
                else:
                    self.expect(old, new, "do not stand in tests/embed/host.c")
        self.expect("```c tests/embed/host.c", "```c tests/embed/gone.c", "tests/embed/gone.c does not exist")

    def test_invented_name_that_exists(self):
        self.write("src/stack/new.c", "\n")
        self.expect("# Page", "# Page", "src/stack/new.c exists now")

    def test_invented_name_that_the_page_no_longer_has(self):
        self.expect("`kp_new`", "nothing", "kp_new is no longer in DEVELOPERS.md")


if __name__ == "__main__":
    unittest.main()
