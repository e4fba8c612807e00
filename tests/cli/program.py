# SPDX-License-Identifier: GPL-3.0-or-later
"""Running the built program, and counting what is not as it should be. Used by the tests beside it."""
import csv
import io
import json
import os
import pathlib
import subprocess
import sys
import tempfile

PROGRAM = pathlib.Path(sys.argv[1]).resolve()
SOURCE = pathlib.Path(__file__).resolve().parents[2]
VAN, LINEAR, FIRMER, INCH, RESERVOIR = (str(SOURCE / "tests" / "cli" / "stacks" / f"{name}.yaml")
                             for name in ("van", "linear", "firmer", "inch", "reservoir"))

failures = []
checks = 0


def environment(**changes):
    """The environment of the test without what steers the program; None removes a variable."""
    made = {key: value for key, value in os.environ.items()
            if key not in ("DISPLAY", "WAYLAND_DISPLAY", "COLUMNS", "NO_COLOR", "POSIXLY_CORRECT")}
    made.update({key: value for key, value in changes.items() if value is not None})
    for key in [key for key, value in changes.items() if value is None]:
        made.pop(key, None)
    return made


def run(*arguments, env=None, cwd=None, **options):
    return subprocess.run([str(PROGRAM), *map(str, arguments)], capture_output=True, text=True, timeout=120,
                          stdin=subprocess.DEVNULL, env=env or environment(), cwd=cwd, **options)


def expect(good, what):
    global checks
    checks += 1
    if not good:
        failures.append(what)
        print(f"FAILED: {what}")
    return good


def near(got, want, relative, what):
    return expect(abs(got - want) <= relative * abs(want), f"{what}: {got!r}, wanted {want!r} within {relative}")


def rows(*arguments, **options):
    """Rows of a CSV answer, numbers as float."""
    done = run(*arguments, "--format", "csv", **options)
    if not expect(done.returncode == 0, f"{arguments} ended with {done.returncode}: {done.stderr}"):
        return []
    return [{key: number(value) for key, value in row.items()} for row in csv.DictReader(io.StringIO(done.stdout))]


def number(text):
    try:
        return float(text)
    except ValueError:
        return text


def document(*arguments, **options):
    """A JSON answer; numbers other than JSON's (NaN, Infinity) are refused."""
    def refuse(word):
        raise ValueError(f"{word} is not JSON")
    done = run(*arguments, "--format", "json", **options)
    expect(done.returncode == 0, f"{arguments} ended with {done.returncode}: {done.stderr}")
    return json.loads(done.stdout, parse_constant=refuse)


def refused(status, words, *arguments, **options):
    """The program must end so, say these words, and print nothing."""
    done = run(*arguments, **options)
    shown = " ".join(map(str, arguments))
    expect(done.returncode == status, f"{shown}: ended with {done.returncode}, not {status}: {done.stderr}")
    expect(done.stdout == "", f"{shown}: printed {done.stdout[:200]!r}")
    for word in [words] if isinstance(words, str) else words:
        expect(word in done.stderr, f"{shown}: `{word}` is not in {done.stderr!r}")
    return done


def folder():
    return tempfile.TemporaryDirectory(prefix="kneepoint-cli-")


def finish():
    print(f"{checks} checks, {len(failures)} failed")
    sys.exit(1 if failures else 0)
