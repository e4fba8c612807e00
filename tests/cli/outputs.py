#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Saves what every command of a program prints, and compares two such captures number by number.

    outputs.py capture PROGRAM FOLDER [--rename=OLD=NEW ...]
    outputs.py compare OLD NEW [--words FILE | --exact]

`capture` runs each command with each option on every damper in stacks/ and tests/cli/stacks, in a copy of these two
folders, two runs at a time. A run leaves NAME.command, NAME.out, NAME.err, NAME.status and, if it draws, NAME.svg.
`--rename=--discs=--shims` gives an option its new spelling where the program has renamed it; the run keeps its name,
so that captures from before and after compare.

`compare` demands the same runs, the same exit statuses and the same numbers: the same text in the same order, figures
included. Words may differ: each change of wording is listed once, with numbers shown as #, and so is each change of a
CSV column or a JSON key. `--words` writes this list to a file. `--exact` demands the same bytes instead.
Exit status: 0 the same, 1 different, 2 usage.
"""
import argparse
import collections
import concurrent.futures
import csv
import difflib
import io
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

SOURCE = pathlib.Path(__file__).resolve().parents[2]
FOLDERS = ("stacks", "tests/cli/stacks")
LESSONS = ("bleed", "dish", "crossover", "taper", "thickness", "charge", "temperature", "clamp")
FIGURE = "FIGURE.svg"  # stands in a command for the run's own NAME.svg
WIDTH = 100  # the program breaks running text at this column
SHOWN = 20  # differences of one kind that are printed in full

FORMATS = ("", "--format csv", "--format json", "--units inch")
DIRECTIONS = ("--direction compression", "--direction rebound")
# Settings that reach parts of the model that the files leave alone.
SETTINGS = (
    "'friction=none'",
    "'temperature=-20 degC'",
    "'piston.compression.dish=0.15 mm'",
    "'piston.compression.dish=-0.1 mm'",
    "'piston.compression.clamp.grip=sliding'",
    "'piston.compression.clamp.grip=sliding' --set 'piston.compression.clamp.hole=11 mm'",
    "'piston.rebound.clamp={washer: 16 mm}'",
    "'piston.compression.stack=[1 of 56 x 0.10 mm]' --set 'piston.compression.clamp={washer: 18 mm}'",
    "'piston.compression.stack=[\"2 of 56 x 0.2 mm\", \"1 of 51 x 0.1 mm, hole 47 mm\", 2 of 50 x 0.2 mm]'",
    "'piston.bleed=none' --set 'gas.charge=6 bar gauge at 20 degC'",
    "'materials={spring steel: {young: 206 GPa, poisson: 0.3, yield: 1500 MPa}}'",
    "'leak=none'",
)
# Command lines that are refused, or answered without a file.
ALONE = (
    "", "--help", "--version", "help curve", "curv VAN", "check", "compare VAN", "curve VAN --speedz 1", "curve VAN --speeds 0",
    "curve VAN --speeds '0.1 bar'", "curve VAN --speeds 0.1..0.5", "curve VAN --limits 0.5,0.1,1", "curve VAN --format xml",
    "curve VAN --clicks 8", "curve VAN --charge '14 bar'", "curve VAN --temperature 10..80:8", "curve VAN --set dish",
    "curve VAN --set 'friction=60 kg'", "curve VAN --set 'frictoin=60 N'", "curve VAN --plot a.jpg",
    "curve stacks/none.yaml", "curve stacks", "lift VAN --pressures 0.25", "lift VAN --pressures 1e4MPa",
    "lift VAN --sensitivity=0.4kg", "lift VAN --profile --discs", "lift VAN --set 'piston.compression.stack=[2 of 17 x 0.2 mm]'",
    "lift VAN --set 'piston.compression.stack=[2 of 56 x 15 mm]'", "lift VAN --set 'piston.compression.land.inner=60 mm'",
    "check VAN --set 'body.rod=63.5 mm' --set 'piston.compression.dish=nan mm' --set 'oil.density=3 m'",
    "explain VAN --lesson none", "band VAN --samples 0", "band VAN --correlation 2", "check VAN tests/cli/stacks/linear.yaml",
    "compare VAN tests/cli/stacks/linear.yaml tests/cli/stacks/reservoir.yaml",
    "compare VAN tests/cli/stacks/linear.yaml tests/cli/stacks/reservoir.yaml --format json",
) + tuple(f"{command} --help" for command in ("check", "lift", "curve", "compare", "explain", "band"))

NUMBER = re.compile(r"(?<![A-Za-z_0-9])[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
TABLE_VALUE = re.compile(r"^!|(?<=  )-(?=  |$)|" + NUMBER.pattern, re.M)  # a mark and an absent value are results too
ANY_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")  # in a figure: M10,20 too
JSON_KEY = re.compile(r'"((?:\\.|[^"\\])*)"\s*:')
JSON_VALUE = re.compile(NUMBER.pattern + r"|\b(?:null|true|false)\b")

# numbers: [text]; columns: names of the CSV columns or the JSON keys; units: rows and sentences with numbers as #.
Reading = collections.namedtuple("Reading", "numbers columns units")


def cases_of_file(path, first, following):
    """Every command line for one damper file; it is compared with the first and the next file of its folder."""
    for more in (*FORMATS, "--speeds 0.01..1.2:13", "--clicks compression=3,rebound=2", "--limits 0.1,0.4,0.9"):
        yield f"check {path} {more}"
    for setting in SETTINGS:
        yield f"check {path} --set {setting}"
        yield f"curve {path} --set {setting}"
        yield f"lift {path} --set {setting} --format csv"
    for direction in DIRECTIONS:
        lift = f"lift {path} {direction}"
        for form in FORMATS:
            for more in ("", "--discs", "--profile", "--sensitivity", "--free"):
                yield f"{lift} {more} {form}"
        yield f"{lift} --sensitivity=0.3mm"
        yield f"explain {path} --lesson bleed {direction} --format json"
        yield f"{lift} --pressures 0..40bar:15 --format csv"
        yield f"{lift} --free --discs --pressures 0.25MPa,2MPa --format csv"
        yield f"{lift} --plot {FIGURE}"
        yield f"{lift} --stress --plot {FIGURE}"
        for lesson in LESSONS:
            for form in ("", "--format csv"):
                yield f"explain {path} --lesson {lesson} {direction} {form}"
    for more in ("", "--speeds 0.01..1.2:13", "--limits 0.1,0.4,0.9", "--clicks compression=3,rebound=2",
                 "--clicks-sweep compression", "--clicks-sweep rebound", "--temperature 20,60,100", "--charge '10,14 bar gauge'"):
        for form in FORMATS:
            yield f"curve {path} {more} {form}"
    for more in ("", "--rebound-up --units inch", "--temperature 20,60,100", "--clicks-sweep rebound"):
        yield f"curve {path} {more} --plot {FIGURE}"
    yield f"curve {path} --plot"  # drawn in letters
    for form in FORMATS:
        yield f"explain {path} {form}"
        for other in dict.fromkeys((first, following)):
            yield f"compare {path} {other} {form}"
        yield f"compare {path} {following} --band --samples 60 --seed 3 {form}"
        yield f"band {path} --samples 80 {form}"
    yield f"explain {path} --speeds 0.05,0.3,1 --limits 0.1,0.4,0.9 --format csv"
    yield f"explain {path} --plot {FIGURE}"
    yield f"explain {path} --lesson bleed --plot {FIGURE}"
    yield f"compare {path} {following} --set 'temperature=60 degC' --plot {FIGURE}"
    yield f"compare {path} {following} --band --samples 60 --plot {FIGURE}"
    yield f"band {path} --samples 80 --seed 7 --correlation 50% --speeds 0.1,0.5 --format csv"
    yield f"band {path} --samples 80 --set 'piston.compression.dish=0.2 mm +/- 0.05 mm' --format csv"
    yield f"band {path} --samples 80 --plot {FIGURE}"


def cases():
    """{name: words of the command line}, in the order of the files. Names hold no number of a place in a list, so
    that a case more or less leaves the others' names as they are."""
    lines = [line.replace("VAN", "tests/cli/stacks/van.yaml") for line in ALONE]
    for folder in FOLDERS:
        files = [f"{folder}/{path.name}" for path in sorted((SOURCE / folder).glob("*.yaml"))]
        for at, path in enumerate(files):
            lines += cases_of_file(path, files[0], files[(at + 1) % len(files)])
    made = {}
    for line in lines:
        name = re.sub(r"[^A-Za-z0-9.,=]+", "-", line.replace(FIGURE, "figure").replace(".yaml", "")).strip("-") or "nothing"
        if made.setdefault(name, shlex.split(line)) != shlex.split(line):
            raise SystemExit(f"two cases are called {name}")
    return made


def renamed(word, renames):
    for old, new in renames:
        if word == old or word.startswith(old + "="):
            return new + word[len(old):]
    return word


def capture(program, folder, renames):
    program = program.resolve()
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise SystemExit(f"{folder} is not empty")
    environment = {"PATH": os.environ.get("PATH", "/usr/bin:/bin"), "LC_ALL": "C.UTF-8", "COLUMNS": "80"}
    with tempfile.TemporaryDirectory(prefix="kneepoint-outputs-") as here:
        for name in FOLDERS:
            shutil.copytree(SOURCE / name, pathlib.Path(here) / name)

        def run(case):
            name, words = case
            words = [renamed(word, renames) for word in words]
            figure = pathlib.Path(here) / "figures" / name
            figure.mkdir(parents=True)
            shown = f"figures/{name}/{FIGURE}"
            done = subprocess.run([program, *(shown if word == FIGURE else word for word in words)], cwd=here,
                                  env=environment, stdin=subprocess.DEVNULL, capture_output=True, timeout=300, check=False)
            (folder / f"{name}.command").write_text(shlex.join(words) + "\n", encoding="utf-8")
            (folder / f"{name}.status").write_text(f"{done.returncode}\n", encoding="utf-8")
            (folder / f"{name}.out").write_bytes(done.stdout)
            (folder / f"{name}.err").write_bytes(done.stderr)
            if (figure / FIGURE).exists():
                shutil.copyfile(figure / FIGURE, folder / f"{name}.svg")
            return done.returncode

        with concurrent.futures.ThreadPoolExecutor(2) as pool:
            statuses = collections.Counter(pool.map(run, cases().items()))
    print(f"{sum(statuses.values())} runs in {folder}; exit status: "
          + ", ".join(f"{status} of {count}" for status, count in sorted(statuses.items())))


def is_prose(line):
    return not re.search(r"\S {2,}\S", line)


def paragraphs(text):
    """Lines, with what was broken at the edge of the page put together again."""
    made, last = [], ""
    for line in text.split("\n"):
        beginning = " ".join(line.split()[:3])
        broken = len(last) > WIDTH - 30 and len(last) + 1 + len(beginning) > WIDTH
        if broken and line and is_prose(last) and is_prose(line):
            made[-1] += " " + line.strip()
        else:
            made.append(line)
        last = line
    return made


def sentences(text, pattern=NUMBER):
    """Rows and sentences, numbers as # and the blanks and lines of tables made short."""
    for paragraph in paragraphs(text):
        masked = re.sub(r"\s+", " ", re.sub(r"-{3,}", "---", pattern.sub("#", paragraph))).strip()
        masked = re.sub(r"#(,? #)+", "# ...", masked)
        yield from filter(None, re.split(r"(?<=[.!?]) (?=[A-Z`])", masked))


def read_csv(text):
    table = list(csv.reader(io.StringIO(text)))
    numbers, units = [], []
    for row in table[1:]:
        for cell in row:
            numbers += NUMBER.findall(cell) or ([] if cell else ["empty"])
            if NUMBER.fullmatch(cell) is None:
                units += sentences(cell)
        numbers.append("end of row")
    return Reading(numbers, table[0] if table else [], units)


def read_json(text):
    values = JSON_KEY.sub("", text)
    return Reading(JSON_VALUE.findall(values), list(dict.fromkeys(JSON_KEY.findall(text))), list(sentences(values)))


def read_figure(text):
    labels = re.findall(r">([^<>\n]*\S[^<>\n]*)<", text)
    return Reading(ANY_NUMBER.findall(text), [], [unit for label in labels for unit in sentences(label)])


def read_text(text):
    return Reading(TABLE_VALUE.findall(text), [], list(sentences(text)))


def reader(kind, command):
    if kind == "svg":
        return read_figure
    for form, read in (("csv", read_csv), ("json", read_json)):
        if kind == "out" and f"--format {form}" in command:
            return read
    return read_text


def changes(old, new):
    """[(old words, new words)]; the one that is missing is empty."""
    if old == new:
        return []
    if len(old) == len(new):
        return [pair for pair in zip(old, new) if pair[0] != pair[1]]
    made = []
    for what, i, j, k, m in difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if what == "replace" and j - i == m - k:
            made += [pair for pair in zip(old[i:j], new[k:m]) if pair[0] != pair[1]]
        elif what != "equal":
            made.append((" ".join(old[i:j]), " ".join(new[k:m])))
    return made


def first_difference(old, new):
    """In words, where two lists of numbers part."""
    for at, (before, after) in enumerate(zip(old, new), 1):
        if before != after:
            return f"number {at} was {before}, is {after}"
    return f"{len(old)} numbers were {len(new)} numbers"


def runs_of(folder):
    runs = {path.name[:-len(".status")] for path in folder.glob("*.status")}
    if not runs:
        raise SystemExit(f"{folder}: no capture in it")
    return runs


def compare(old, new, exact):
    """(faults, wording): sentences on what must not differ, and {(kind, old words, new words): [runs]}."""
    faults, wording = [], {}
    runs_old, runs_new = runs_of(old), runs_of(new)
    faults += [f"{name}: only in {folder}" for folder, names in ((old, runs_old - runs_new), (new, runs_new - runs_old))
               for name in sorted(names)]
    for name in sorted(runs_old & runs_new):
        command = (old / f"{name}.command").read_text(encoding="utf-8")
        for kind in ("status", "out", "err", "svg"):
            before, after = (folder / f"{name}.{kind}" for folder in (old, new))
            if before.exists() != after.exists():
                faults.append(f"{name}.{kind}: only in {old if before.exists() else new}")
            if not before.exists() or not after.exists() or before.read_bytes() == after.read_bytes():
                continue
            before, after = (path.read_bytes().decode("utf-8", "replace") for path in (before, after))
            if kind == "status":
                faults.append(f"{name}: exit status was {before.strip()}, is {after.strip()}")
                continue
            if exact:
                faults.append(f"{name}.{kind}: other bytes")
                continue
            read = reader(kind, command)
            before, after = read(before), read(after)
            if before.numbers != after.numbers:
                faults.append(f"{name}.{kind}: {first_difference(before.numbers, after.numbers)}")
            for what, pairs in (("column or key", changes(before.columns, after.columns)),
                                ("words", changes(before.units, after.units))):
                for pair in pairs:
                    wording.setdefault((what, *pair), []).append(f"{name}.{kind}")
    return faults, wording


def list_wording(wording):
    for (what, before, after), where in sorted(wording.items(), key=lambda item: (item[0][0], -len(item[1]), item[0])):
        yield f"{what}, in {len(where)} of the outputs, first {where[0]}\n  - {before}\n  + {after}\n"


def main():
    parser = argparse.ArgumentParser(description="Saves and compares what all commands print.")
    modes = parser.add_subparsers(dest="mode", required=True)
    mode = modes.add_parser("capture")
    mode.add_argument("program", type=pathlib.Path)
    mode.add_argument("folder", type=pathlib.Path)
    mode.add_argument("--rename", action="append", default=[], metavar="OLD=NEW")
    mode = modes.add_parser("compare")
    mode.add_argument("old", type=pathlib.Path)
    mode.add_argument("new", type=pathlib.Path)
    mode.add_argument("--words", type=pathlib.Path)
    mode.add_argument("--exact", action="store_true")
    arguments = parser.parse_args()
    if arguments.mode == "capture":
        renames = [tuple(rename.split("=", 1)) for rename in arguments.rename]
        if any(len(rename) != 2 for rename in renames):
            parser.error("--rename takes OLD=NEW")
        capture(arguments.program, arguments.folder, renames)
        return 0
    faults, wording = compare(arguments.old, arguments.new, arguments.exact)
    listed = list(list_wording(wording))
    if arguments.words:
        arguments.words.write_text("\n".join(listed), encoding="utf-8")
    elif listed:
        print("\n".join(listed))
    for fault in faults[:SHOWN]:
        print(fault)
    if len(faults) > SHOWN:
        print(f"and {len(faults) - SHOWN} more")
    print(f"{len(runs_of(arguments.old))} runs: {len(faults)} differences that may not be, {len(listed)} changes of wording")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
