#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Counts the real results of one `meson test` run for tests/run.sh.

    count.py BUILD_FOLDER LOG_NAME

Prints "PASSED FAILED" and, before it on stderr, every failure. A Criterion program counts by its closing Synthesis
line, any other test program as one. Each sanitizer log in the build folder is one more failure, for Criterion hides
what the sanitizers find.
"""
import json
import pathlib
import re
import sys

SYNTHESIS = re.compile(r"Synthesis: Tested: (\d+) \| Passing: (\d+) \| Failing: (\d+) \| Crashing: (\d+)")


def count_test(test):
    """(passed, failed, what went wrong) of one test program."""
    lines = SYNTHESIS.findall(test.get("stdout", "") + test.get("stderr", ""))
    good = test["result"] == "OK"
    if not lines:
        return (1, 0, None) if good else (0, 1, test["result"])
    tested, passed, failed, _ = (sum(int(line[i]) for line in lines) for i in range(4))
    if tested == 0:
        return 0, 1, "holds no test"
    if tested != passed + failed:
        return passed, tested - passed, f"{tested - passed - failed} of {tested} tests neither passed nor failed"
    if failed > 0:
        return passed, failed, f"{failed} of {tested} tests failed"
    return (passed, 0, None) if good else (passed, 1, test["result"])


def main():
    build, log_name = pathlib.Path(sys.argv[1]), sys.argv[2]
    log = build / "meson-logs" / (log_name + ".json")
    passed = failed = 0
    tests = [json.loads(line) for line in log.read_text().splitlines()] if log.is_file() else []
    if not tests:
        failed = 1
        print(f"{log}: no test was run", file=sys.stderr)
    for test in tests:
        good, bad, why = count_test(test)
        passed += good
        failed += bad
        if why:
            print(f"FAILED {test['name']}: {why}", file=sys.stderr)
            if log_name == "testlog":  # the harness's own bad programs need no page each
                print(test.get("stdout", "")[-6000:] + test.get("stderr", "")[-6000:], file=sys.stderr)
    for finding in sorted(build.glob("sanitizer.log*")):
        failed += 1
        lines = [line for line in finding.read_text(errors="replace").splitlines() if line.strip("= ")]
        print(f"FAILED: a sanitizer found something, {finding}", file=sys.stderr)
        if log_name == "testlog":
            print("\n".join(lines[:40]), file=sys.stderr)
    print(passed, failed)


if __name__ == "__main__":
    main()
