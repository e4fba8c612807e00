#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""tests/commits.sh must find the commit that does not build and the commit whose test fails, and leave nothing."""
import os
import pathlib
import shutil
import signal
import subprocess
import tempfile
import time
import unittest

TESTS = pathlib.Path(__file__).resolve().parents[1]
BUILD = "project('small', 'c')\ntest('small', executable('small', 'small.c'))\n"


@unittest.skipUnless(shutil.which("git"), "git is not installed")
class Commits(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.top = pathlib.Path(folder.name) / "small"
        self.places = pathlib.Path(folder.name) / "temporary"
        self.places.mkdir()
        (self.top / "tests").mkdir(parents=True)
        for name in ("commits.sh", "count.py"):
            shutil.copyfile(TESTS / name, self.top / "tests" / name)
        self.git("init", "-q", "-b", "main")
        self.commit("begin", "int main(void) { return 0; }\n")

    def git(self, *words):
        identity = ["-c", "user.name=Tester", "-c", "user.email=tester@example.org", "-c", "commit.gpgsign=false"]
        done = subprocess.run(["git", *identity, *words], cwd=self.top, capture_output=True, text=True, check=True)
        return done.stdout

    def commit(self, subject, source):
        (self.top / "meson.build").write_text(BUILD, encoding="utf-8")
        (self.top / "small.c").write_text(source, encoding="utf-8")
        self.git("add", "-A")
        self.git("commit", "-q", "--allow-empty", "-m", subject)

    def start(self, *words):
        return subprocess.Popen(["sh", "tests/commits.sh", *words], cwd=self.top, stdout=subprocess.PIPE,
                                stderr=subprocess.PIPE, text=True, env={**os.environ, "TMPDIR": str(self.places)})

    def run_on(self, *words):
        process = self.start(*words)
        said, _ = process.communicate(timeout=120)
        self.assertEqual(list(self.places.iterdir()), [], "something is left behind")
        self.assertEqual(len(self.git("worktree", "list").splitlines()), 1)
        return process.returncode, [line.split(" ", 1)[1] for line in said.splitlines()]

    def expect(self, lines, patterns):
        self.assertEqual(len(lines), len(patterns), lines)
        for line, pattern in zip(lines, patterns):
            self.assertRegex(line, pattern)

    def test_each_commit(self):
        self.commit("good", "int main(void) { return 1 - 1; }\n")
        self.commit("breaks the build", "int main(void) { return }\n")
        self.commit("breaks the test", "int main(void) { return 1; }\n")
        self.commit("good again", "int main(void) { return 0; }\n")
        status, lines = self.run_on("HEAD~4")
        self.assertEqual(status, 1)
        self.expect(lines, [r"^good: built, 1 passed, 0 failed, \d+ s$", r"^breaks the build: NOT BUILT, \d+ s$",
                            r"^breaks the test: built, 0 passed, 1 failed, \d+ s$", r"^good again: built, 1 passed, 0 failed"])
        status, lines = self.run_on("--build-only", "HEAD~2", "HEAD")
        self.assertEqual(status, 0)
        self.expect(lines, [r"^breaks the test: built, \d+ s$", r"^good again: built, \d+ s$"])
        self.assertEqual(self.run_on("HEAD")[0], 2)
        self.assertEqual(self.run_on("no-such-commit")[0], 2)
        self.assertEqual(self.run_on()[0], 2)

    def test_interrupt(self):
        self.commit("slow", "#include <unistd.h>\nint main(void) { return (int)sleep(3); }\n")
        process = self.start("HEAD~1")
        deadline = time.monotonic() + 60
        while not list(self.places.glob("*/tree/meson.build")) and time.monotonic() < deadline:
            time.sleep(0.05)
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=60)
        self.assertEqual(process.returncode, 143)
        self.assertEqual(list(self.places.iterdir()), [])
        self.assertEqual(len(self.git("worktree", "list").splitlines()), 1)


if __name__ == "__main__":
    unittest.main()
