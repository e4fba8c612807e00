#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""outputs.py must see a changed number, exit status, figure or run, and let a changed word pass and name it."""
import contextlib
import io
import pathlib
import sys
import tempfile
import unittest
from unittest import mock

sys.dont_write_bytecode = True
import outputs

TABLE = "Lift of the shim. It opens at 0.25 MPa.\n\n  pressure   lift\n       bar     mm\n      0.50  0.248\n!    12.00      -\n"
CSV = 'speed_m_s,force_N,note\n0.052,821.0037554357253,\n0.1,-5e-06,"opens 2 shims, firm"\n'
JSON = '{\n\t"force_N":\t[1.5, null, -2e-07],\n\t"says":\t"opens at 3 bar"\n}\n'
FIGURE = '<svg><path d="M10.5,20 L30,40"/><text x="5">force [N]</text></svg>\n'
PROGRAM = """#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
echo "said $1" ; [ -f stacks/van-rear-linear.yaml ] || exit 9
case "$*" in *--new*) ;; *) exit 2 ;; esac
while [ $# -gt 1 ]; do shift; done
case "$1" in *.svg) echo '<svg/>' >"$1" ;; esac
"""


class Outputs(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.top = pathlib.Path(folder.name)
        for side in ("old", "new"):
            (self.top / side).mkdir()
            self.write(side, "table", out=TABLE, svg=FIGURE)
            self.write(side, "csv", out=CSV, command="curve a.yaml --format csv\n")
            self.write(side, "json", out=JSON, command="curve a.yaml --format json\n")

    def write(self, side, name, out=TABLE, err="warning: 3 shims\n", status="0\n", command="curve a.yaml\n", svg=None):
        for kind, text in (("out", out), ("err", err), ("status", status), ("command", command), ("svg", svg)):
            if text is not None:
                (self.top / side / f"{name}.{kind}").write_text(text, encoding="utf-8")

    def change(self, name, before, after):
        path = self.top / "new" / name
        text = path.read_text(encoding="utf-8")
        self.assertEqual(text.count(before), 1, f"{before!r} in {name}")
        path.write_text(text.replace(before, after), encoding="utf-8")

    def compare(self, *options):
        said = io.StringIO()
        words = ["outputs.py", "compare", str(self.top / "old"), str(self.top / "new"), *options]
        with mock.patch.object(sys, "argv", words), contextlib.redirect_stdout(said):
            status = outputs.main()
        return status, said.getvalue()

    def test_same(self):
        for options in ([], ["--exact"]):
            status, said = self.compare(*options)
            self.assertEqual((status, said), (0, "3 runs: 0 differences that may not be, 0 changes of wording\n"))

    def test_changed_numbers_fail(self):
        for name, before, after in (
                ("table.out", "0.248", "0.249"), ("table.out", "0.50", "0.5"), ("table.out", "0.50", "-0.50"),
                ("table.out", "0.25 MPa", "0.26 MPa"), ("table.out", "!", " "), ("table.out", "      -\n", "  0.300\n"),
                ("table.out", "      -\n", "\n"), ("table.err", "3 shims", "4 shims"), ("table.err", "3 shims", "shims"),
                ("table.status", "0", "1"), ("table.svg", "L30,40", "L30,41"), ("table.svg", "M10.5", "M10.4"),
                ("csv.out", "821.0037554357253", "821.0037554357254"), ("csv.out", "-5e-06", "5e-06"),
                ("csv.out", "-5e-06", "-5e-07"), ("csv.out", "-5e-06", ""), ("csv.out", "0.1,", ""),
                ("csv.out", "opens 2", "opens 3"), ("json.out", "1.5", "1.50"), ("json.out", "null", "0"),
                ("json.out", ", -2e-07", ""), ("json.out", "3 bar", "4 bar")):
            with self.subTest(name=name, before=before, after=after):
                self.setUp()
                self.change(name, before, after)
                status, said = self.compare()
                self.assertEqual(status, 1)
                self.assertIn(name.rsplit(".", 1)[0], said)
                self.assertIn("1 differences that may not be", said)

    def test_numbers_that_change_places_fail(self):
        self.change("csv.out", "0.052,821.0037554357253", "821.0037554357253,0.052")
        self.assertEqual(self.compare()[0], 1)

    def test_changed_words_pass_and_are_listed(self):
        for name, before, after, listed in (
                ("table.out", "Lift of the shim", "Opening of the shim", "- Lift of the shim.\n  + Opening of the shim."),
                ("table.out", "pressure   lift", "pressure     opening", "- pressure lift\n  + pressure opening"),
                ("table.err", "warning", "caution", "- warning: # shims\n  + caution: # shims"),
                ("table.svg", "force [N]", "damping force [N]", "- force [N]\n  + damping force [N]"),
                ("csv.out", "firm", "soft", "- opens # shims, firm\n  + opens # shims, soft"),
                ("csv.out", "force_N", "damping_force_N", "column or key, in 1 of the outputs, first csv.out\n  - force_N\n"),
                ("json.out", "opens at", "cracks at", "cracks at # bar"),
                ("json.out", "says", "sentence", "column or key, in 1 of the outputs, first json.out\n  - says\n  + sentence")):
            with self.subTest(name=name, before=before, after=after):
                self.setUp()
                self.change(name, before, after)
                status, said = self.compare()
                self.assertEqual(status, 0, said)
                self.assertIn(listed, said)
                self.assertIn("0 differences that may not be, 1 changes of wording", said)
                self.assertEqual(self.compare("--exact")[0], 1)

    def test_one_change_in_many_places_is_listed_once(self):
        for name in ("table.out", "csv.out"):
            self.change(name, "shim", "disc")
        for side, word in (("old", "shim"), ("new", "disc")):
            self.write(side, "more", out=TABLE.replace("shim", word).replace("0.25 MPa", "0.75 MPa"))
        path = self.top / "words.txt"
        status, said = self.compare("--words", str(path))
        self.assertEqual((status, said), (0, "4 runs: 0 differences that may not be, 2 changes of wording\n"))
        self.assertIn("words, in 2 of the outputs, first more.out\n  - Lift of the shim.\n  + Lift of the disc.\n",
                      path.read_text(encoding="utf-8"))

    def test_text_broken_elsewhere_is_no_change(self):
        text = " ".join(["word"] * 30) + " at 5 mm."
        for side, at in (("old", 95), ("new", 90)):
            cut = text.index(" ", at)
            self.write(side, "long", out=text[:cut] + "\n" + text[cut + 1:] + "\n")
        self.assertEqual(self.compare()[0], 0)
        self.assertIn("0 changes of wording", self.compare()[1])

    def test_missing_and_added_runs_fail(self):
        self.write("new", "more")
        self.assertEqual(self.compare()[0], 1)
        self.write("old", "more", svg=FIGURE)
        status, said = self.compare()
        self.assertEqual(status, 1)
        self.assertIn("more.svg: only in", said)
        (self.top / "new" / "table.status").unlink()
        self.assertEqual(self.compare()[0], 1)

    def test_empty_folder_is_no_capture(self):
        for path in (self.top / "new").iterdir():
            path.unlink()
        with self.assertRaises(SystemExit):
            self.compare()

    def test_capture(self):
        program = self.top / "program"
        program.write_text(PROGRAM, encoding="utf-8")
        program.chmod(0o755)
        some = {"a": ["lift", "--old=1", "--plot", outputs.FIGURE], "b": ["check", "--older"]}
        with mock.patch.object(outputs, "cases", lambda: some), contextlib.redirect_stdout(io.StringIO()) as said:
            outputs.capture(program, self.top / "made", [("--old", "--new")])
            with self.assertRaises(SystemExit):
                outputs.capture(program, self.top / "made", [])
        found = {path.name: path.read_text(encoding="utf-8") for path in (self.top / "made").iterdir()}
        self.assertEqual(found, {"a.command": "lift --new=1 --plot FIGURE.svg\n", "a.err": "", "a.out": "said lift\n",
                                 "a.status": "0\n", "a.svg": "<svg/>\n", "b.command": "check --older\n", "b.err": "",
                                 "b.out": "said check\n", "b.status": "2\n"})
        self.assertIn("2 runs in ", said.getvalue())

    def test_cases(self):
        every = list(outputs.cases().values())
        commands = {words[0] for words in every if words}
        self.assertLessEqual({"check", "lift", "curve", "compare", "explain", "band"}, commands)
        for folder in outputs.FOLDERS:
            for path in (outputs.SOURCE / folder).glob("*.yaml"):
                self.assertGreater(sum(f"{folder}/{path.name}" in words for words in every), 100)


if __name__ == "__main__":
    unittest.main()
