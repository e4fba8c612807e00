#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Wrong input, end to end: the sentence, the exit status, and nothing on standard output.

    wrong.py PROGRAM

Usage is exit 2, a bad file exit 3 with file:line:column and what would be right, whatever the command.
"""
import pathlib
import random
import re

from program import LINEAR, RESERVOIR, VAN, document, environment, expect, finish, folder, refused, run

SOUND = pathlib.Path(VAN).read_text(encoding="utf-8")
COMMANDS = (["check"], ["lift"], ["curve"], ["compare", LINEAR])


def check_usage():
    usage = [
        ([], "a command is wanted"),
        (["curv", VAN], "did you mean `curve`?"),
        (["--format", "csv"], "the command comes first"),
        (["help", "nothing"], "`nothing` is not a command"),
        # check
        (["check"], "a damper file is wanted"),
        (["check", VAN, "--speedz", "1"], "did you mean `--speeds`?"),
        (["check", VAN, "--plot"], "unknown option `--plot`"),
        # lift
        (["lift", VAN, LINEAR], "one file too many"),
        (["lift", VAN, "--direction", "up"], "compression or rebound is wanted"),
        (["lift", VAN, "--pressures", "0.25"], "the unit is missing"),
        (["lift", VAN, "--pressures", "0.25 mm"], "is the unit of a length"),
        (["lift", VAN, "--pressures=-1bar"], "outside 0 to 1e+08 Pa"),
        (["lift", VAN, "--pressures", "1e4MPa"], "outside 0 to 1e+08 Pa"),
        (["lift", VAN, "--pressures", "1,2bar,3MPa"], "some have none"),
        (["lift", VAN, "--speeds", "1"], "unknown option `--speeds`"),
        (["lift", VAN, "--sensitivity=0.4"], "the unit is missing"),
        (["lift", VAN, "--sensitivity=0.4kg"], "is the unit of a mass"),
        (["lift", VAN, "--sensitivity=-0.4mm"], "outside 1e-06 to 0.005 m"),
        (["lift", VAN, "--sensitivity=0.3,0.4mm"], "one lift is wanted"),
        (["lift", VAN, "--sensitivity", "--pressures", "1bar"], "leave --pressures out"),
        (["lift", VAN, "--doubts"], "--doubts is called --sensitivity now"),
        (["lift", VAN, "--profile", "--discs"], "ask for one at a time"),
        (["lift", VAN, "--profile", "--sensitivity"], "ask for one at a time"),
        (["lift", VAN, "--profile=1"], "--profile takes no value"),
        # curve
        (["curve"], "a damper file is wanted"),
        (["curve", VAN, "--speeds", "0"], "outside 0.0001 to 10 m/s"),
        (["curve", VAN, "--speeds", "-0.1"], "outside 0.0001 to 10 m/s"),
        (["curve", VAN, "--speeds", "0.1,,0.2"], "missing between two commas"),
        (["curve", VAN, "--speeds", ""], "missing between two commas"),
        (["curve", VAN, "--speeds", "nan"], "not a finite number"),
        (["curve", VAN, "--speeds", "0x10"], "only one decimal number"),
        (["curve", VAN, "--speeds", "0.1..0.5"], "FROM..TO:POINTS"),
        (["curve", VAN, "--speeds", "0.1..0.5:1"], "FROM..TO:POINTS"),
        (["curve", VAN, "--speeds", "0.1..0.5:100000"], "FROM..TO:POINTS"),
        (["curve", VAN, "--speeds", ",".join(["0.1..0.5:1000"] * 3)], "more than 2000 values"),
        (["curve", VAN, "--speeds"], "needs a value"),
        (["curve", VAN, "--speeds", "0.1 bar"], "is the unit of a pressure"),
        (["curve", VAN, "--speeds", "0.1 m/s +/- 0.01 m/s"], "without tolerance"),
        (["curve", VAN, "--limits", "0.1,0.5"], "three rising speeds"),
        (["curve", VAN, "--limits", "0.5,0.1,1"], "three rising speeds"),
        (["curve", VAN, "--limits", "0.1,0.5,11"], "outside"),
        (["curve", VAN, "--format", "xml"], "table, csv or json is wanted"),
        (["curve", VAN, "--units", "furlong"], "metric or inch is wanted"),
        (["curve", VAN, "--plot", "a.jpg"], "ends in .svg, .png or .pdf"),
        (["curve", VAN, "--plot=a"], "ends in .svg, .png or .pdf"),
        (["curve", VAN, "--plot", "--format", "csv"], "name a file behind --plot"),
        (["curve", VAN, "--discs"], "unknown option `--discs`"),
        (["curve", VAN, "-x"], "unknown option `-x`"),
        (["curve", VAN, "--rebound-up=yes"], "--rebound-up takes no value"),
        (["curve", VAN, "--set", "dish"], "KEY=VALUE is wanted"),
        (["curve", VAN, "--set", "=3"], "KEY=VALUE is wanted"),
        (["curve", VAN, *["--set", "friction=60 N"] * 65], "more than 64 times --set"),
        (["curve", VAN, "--clicks", "8"], "compression=8, rebound=4 or both"),
        (["curve", VAN, "--clicks", "rebound=-1"], "whole clicks from closed"),
        (["curve", VAN, "--clicks", "up=1"], "compression=8, rebound=4 or both"),
        (["curve", VAN, "--clicks-sweep", "both"], "compression or rebound is wanted"),
        (["curve", VAN, "--temperature", "20 bar"], "is the unit of a pressure"),
        (["curve", VAN, "--temperature", "-300"], "no temperature lies below"),
        (["curve", VAN, "--charge", "14 bar"], "gauge or absolute"),
        (["curve", VAN, "--charge", "10,14 bar gauge", "--temperature", "20,60"], "one at a time"),
        (["curve", VAN, "--temperature", "10..80:8"], "at most 7"),
        # compare
        (["compare", VAN], "at least two damper files are wanted"),
        (["compare", *[VAN] * 8], "one file too many"),
        (["compare", *[VAN] * 9], "more than 8 files"),
        (["compare", VAN, LINEAR, "--direction", "rebound"], "unknown option `--direction`"),
    ]
    for arguments, words in usage:
        done = refused(2, [words, "--help`."], *arguments)
        expect(len(done.stderr.splitlines()) == 2, f"{arguments}: one sentence and where to look: {done.stderr}")


def spoilt(line, replacement):
    """The sound file with one line changed: that line must be there once."""
    expect(SOUND.count(line) == 1, f"`{line}` is in the van's file once")
    return SOUND.replace(line, replacement)


def bad_files():
    """name: (content, line the message names, words of what is wrong or right)"""
    lines = SOUND.splitlines()
    at = {word: number for number, line in enumerate(lines, 1) for word in
          ("friction:", "body:", "gas:", "dish: 0.40", "- 4 of 56 x 0.20", "format:", "stack:                     #",
           "land:  {inner: 52", "port:  {area: 520", "clamp: {washer: 18 mm, grip: held}\n") if word in line}
    shim = at["- 4 of 56 x 0.20"]
    first_stack = SOUND.split("  rebound:")[0]
    return {
        "unknown key": (spoilt("friction: 60 N ", "frictoin: 60 N "), at["friction:"], "did you mean `friction`?"),
        "wrong dimension": (spoilt("dish: 0.40 mm +/- 0.03 mm", "dish: 0.40 kg"), at["dish: 0.40"], "a length is wanted"),
        "missing unit": (spoilt("dish: 0.40 mm +/- 0.03 mm", "dish: 0.40"), at["dish: 0.40"], "the unit is missing"),
        "face shim no larger than the clamp": (spoilt("4 of 56 x 0.20", "4 of 17 x 0.20"), shim, "clamp"),
        "bare triple": (spoilt("4 of 56 x 0.20 mm", "12 x 40 x 0.20"), shim, "COUNT of OUTSIDE x THICKNESS"),
        "negative thickness": (spoilt("4 of 56 x 0.20", "4 of 56 x -0.20"), shim, "larger than 0"),
        "zero thickness": (spoilt("4 of 56 x 0.20", "4 of 56 x 0.00"), shim, "larger than 0"),
        "nan": (spoilt("dish: 0.40 mm", "dish: nan mm"), at["dish: 0.40"], "not a finite number"),
        "inf": (spoilt("dish: 0.40 mm", "dish: .inf mm"), at["dish: 0.40"], "not a finite number"),
        "10 000 shims": (spoilt("4 of 56 x 0.20", "10000 of 56 x 0.20"), shim, "64"),
        "land outside the face shim": (spoilt("land:  {inner: 52 mm, outer: 53 mm}", "land: {inner: 57 mm, outer: 58 mm}"),
                                       at["land:  {inner: 52"], "face shim"),
        "port inside the clamp": (spoilt("port:  {area: 520 mm2, inner: 24 mm}", "port: {area: 520 mm2, inner: 17 mm}"),
                                  at["port:  {area: 520"], "clamp"),
        "rod not smaller than bore": (spoilt("rod: 22 mm", "rod: 63.5 mm"), at["body:"], "not smaller than the bore"),
        "duplicate key": (spoilt("friction: 60 N ", "friction: 60 N\nfriction: 50 N "), at["friction:"] + 1, "friction"),
        "charge without gauge or absolute": (spoilt("charge: 14 bar gauge at", "charge: 14 bar at"), at["gas:"],
                                             "gauge or absolute"),
        "not modelled": (SOUND + "bypass tubes: 2\n", len(lines) + 1, "not modelled"),
        "tab": (spoilt("  bleed:", "\tbleed:"), lines.index("  bleed:") + 1, ""),
        "no rebound": (first_stack, 0, "rebound"),
        "anchor": (spoilt("friction: 60 N ", "friction: &a 60 N "), at["friction:"], ""),
    }


def check_bad_files():
    with folder() as here:
        for name, (content, line, words) in bad_files().items():
            path = pathlib.Path(here) / "bad.yaml"
            path.write_text(content, encoding="utf-8")
            for command in COMMANDS:
                done = refused(3, words, *command, path)
                place = f"{path}:{line}:" if line else str(path)
                expect(any(re.match(re.escape(place) + (r"\d+: " if line else ""), said) for said in
                           done.stderr.splitlines()), f"{name}: no message at {place} in {done.stderr!r}")
        check_bad_bytes(pathlib.Path(here))
        check_loops(pathlib.Path(here))
        # every fault at once, in the order of the file
        several = SOUND.replace("friction: 60 N ", "frictoin: 60 N ").replace("4 of 56 x 0.20", "4 of 56 x -0.20").replace(
            "rod: 22 mm", "rod: 22")
        path.write_text(several, encoding="utf-8")
        said = [int(match.group(1)) for match in re.finditer(r"bad\.yaml:(\d+):\d+: ", refused(3, [], "curve", path).stderr)]
        expect(len(said) >= 3 and said == sorted(said), f"all faults at once, in order: lines {said}")


def check_bad_bytes(here):
    bomb = "format: 1\na: &a [x, x, x, x, x, x, x, x]\n" + "".join(
        f"{chr(98 + i)}: &{chr(98 + i)} [{', '.join(['*' + chr(97 + i)] * 8)}]\n" for i in range(20))
    cases = {"empty": b"", "binary": bytes(range(256)) * 40, "zeros": b"\0" * 5000, "not UTF-8": b"format: 1\nname: \xff\xfe\n",
             "nested": b"a: " + b"[" * 100000, "alias bomb": bomb.encode(), "only a comment": b"# nothing\n",
             "half": SOUND.encode()[:700], "list": b"- 1\n- 2\n", "two documents": SOUND.encode() + b"---\nformat: 1\n"}
    for name, content in cases.items():
        path = here / "bytes.yaml"
        path.write_bytes(content)
        for command in COMMANDS:
            refused(3, "bytes.yaml", *command, path)
    for command in COMMANDS:
        refused(3, "no-such.yaml", *command, here / "no-such.yaml")
        refused(3, str(here), *command, here)


def check_loops(here):
    (here / "a.yaml").write_text("format: 1\nbased on: b.yaml\n", encoding="utf-8")
    (here / "b.yaml").write_text("format: 1\nbased on: a.yaml\n", encoding="utf-8")
    (here / "self.yaml").write_text("format: 1\nbased on: self.yaml\n", encoding="utf-8")
    for name in ("a.yaml", "self.yaml"):
        for command in COMMANDS:
            done = refused(3, "based on", *command, here / name)
            expect(re.search(r"\.yaml:2:\d+: ", done.stderr) is not None, f"where: {done.stderr}")
    # two bad files in one compare: the faults of both
    (here / "one.yaml").write_text(SOUND.replace("rod: 22 mm", "rod: 22"), encoding="utf-8")
    (here / "two.yaml").write_text(SOUND.replace("bore: 63.5 mm", "bore: 63.5"), encoding="utf-8")
    done = refused(3, ["one.yaml:", "two.yaml:"], "compare", here / "one.yaml", here / "two.yaml")
    expect("body.rod" in done.stderr and "body.bore" in done.stderr, done.stderr)
    refused(3, "two.yaml:", "check", VAN, here / "two.yaml")


def check_settings():
    for setting, words in (("friction=60 kg", "a force is wanted"), ("frictoin=60 N", "did you mean `friction`?"),
                           ("piston.compression.dish=1", "the unit is missing"), ("piston.bleed[9].plugged=1", "bleed"),
                           ("piston.compression.stack=[2 of 10 x 0.2 mm]", "clamp"), ("body.rod=none", "rod"),
                           ("piston.compression.stack=[", ""), ("a..b=1", "")):
        for command in COMMANDS:
            done = refused(3, words, *command, VAN, "--set", setting)
            expect("--set" in done.stderr or setting.endswith("=none"), f"{setting}: which of them: {done.stderr}")


def check_words_of_the_shop():
    """No message about a temperature in kelvin, or with a number that is none."""
    for temperature, words in (("-258 degC", "at -258 degC its two viscosity points lead to more than 1e+07 mm2/s"),
                               ("-200 degC", "at -200 degC its two viscosity points lead to more than 1e+07 mm2/s"),
                               ("1000 degC", "at 1000 degC its two viscosity points lead to less than 0.21 mm2/s")):
        done = refused(3, words, "curve", LINEAR, "--set", f"temperature={temperature}")
        expect(not re.search(r" K\b|inf\b", done.stderr), done.stderr)


def check_adjusters():
    refused(3, "this adjuster has 0 (closed) to 20", "curve", RESERVOIR, "--clicks", "compression=21")
    refused(3, "the file has no rebound adjuster", "curve", VAN, "--clicks", "rebound=3")
    refused(3, "the file has no compression adjuster", "curve", VAN, "--clicks-sweep", "compression")
    refused(3, "above the maximum charge, 20 bar gauge: dry nitrogen only", "curve", VAN, "--charge", "14,24 bar gauge")
    refused(3, "is below the air's pressure", "curve", VAN, "--charge", "-0.5 bar gauge")
    refused(3, "open to the air", "curve", VAN, "--set", "gas=open", "--charge", "2 bar gauge")


def check_any_words():
    """Words thrown together: always an exit status of the list, never a crash, and nothing printed on failure."""
    words = ["check", "lift", "curve", "compare", VAN, LINEAR, "--format", "csv", "json", "--units", "inch", "--speeds",
             "0.1", "52mm/s", "0..1:3", "--pressures", "1bar", "5", "--set", "piston.compression.dish=0.3 mm", "x=1",
             "--limits", "0.1,0.2,0.3", "--direction", "rebound", "--discs", "--free", "--profile", "--sensitivity", "--rebound-up", "--clicks", "rebound=4", "--clicks-sweep", "--temperature", "20,60", "--charge", "--help", "--",
             "", "-", "--speeds=", "\xff", "a" * 5000, "--format=table", "help", "--version", "%s%n", "'"]
    seed = 20260802
    choose = random.Random(seed)
    seen = set()
    for trial in range(150):
        arguments = [choose.choice(words[:4])] if choose.random() < 0.8 else []
        arguments += [VAN] if choose.random() < 0.6 else []
        arguments += [choose.choice(words) for _ in range(choose.randrange(6))]
        done = run(*arguments)
        seen.add(done.returncode)
        expect(done.returncode in (0, 1, 2, 3, 5), f"seed {seed}, trial {trial}, {arguments}: {done.returncode} {done.stderr}")
        expect(done.returncode in (0, 1) or (done.stdout == "" and done.stderr != ""),
               f"seed {seed}, trial {trial}, {arguments}: {done.stdout[:100]!r} {done.stderr!r}")
    expect({0, 2, 3} <= seen, f"exit statuses met: {seen}")


def check_nothing_steers_the_terminal():
    """ESC, C1 and marks of writing direction in a name, a key, a file name, an argument or gnuplot's own words are never
    printed, in any format."""
    evil = "\x1b[31m\u009b31m\u202e\u2066"
    steering = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
    with folder() as here:
        here = pathlib.Path(here)
        trial = here / f"trial{evil}.yaml"
        trial.write_text(f"based on: {VAN}\nname: \"u\u202e\u2066d\"\n", encoding="utf-8")
        bad = here / f"bad{evil}.yaml"
        bad.write_text(f"based on: {VAN}\n\"k\u202ey\": 1\n", encoding="utf-8")
        (here / "gnuplot").write_text("#!/bin/sh\ncat >/dev/null\nprintf 'x\\033[31m\\302\\233y\\n' >&2\nexit 1\n")
        (here / "gnuplot").chmod(0o755)
        path = environment(PATH=f"{here}:{environment()['PATH']}")
        cases = [["curve", trial], ["curve", trial, "--format", "csv"], ["curve", trial, "--format", "json"],
                 ["check", trial], ["compare", VAN, trial], ["compare", VAN, trial, "--format", "csv"],
                 ["lift", trial], ["explain", trial], ["curve", bad], ["curve", here / f"no{evil}.yaml"],
                 ["curve", VAN, "--set", f"a{evil}=1"], ["curve", VAN, "--speeds", f"0.1{evil}"],
                 ["curve", VAN, "--plot", f"x{evil}.jpg"], [f"cur{evil}"], [f"--cur{evil}"], ["curve", f"--cur{evil}"],
                 ["curve", VAN, "--set", f"name=a{evil}"], ["curve", VAN, "--plot", here / "a.svg"]]
        for arguments in cases:
            done = run(*arguments, env=path)
            found = steering.findall(done.stdout + done.stderr)
            expect(not found, f"{arguments}: printed {found}: {done.stderr!r}")
        answer = document("curve", trial)
        expect(answer["input"] == str(trial) and answer["name"] == "u\u202e\u2066d", "the escapes read back to the name")


check_usage()
check_nothing_steers_the_terminal()
check_bad_files()
check_settings()
check_adjusters()
check_words_of_the_shop()
check_any_words()
finish()
