#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a shop sets once: units, completion, standard input, versions.

    shop.py PROGRAM

The scripts for zsh and fish are run only where these shells are installed; else only their words are checked.
"""
import pathlib
import re
import shutil
import subprocess

from program import INCH, VAN, environment, expect, finish, folder, refused, rows, run


def units_of(done):
    """inch or metric, by the heading of the speeds."""
    return "inch" if re.search(r"^ +in/s ", done.stdout, re.M) else "metric" if re.search(r"^ +m/s ", done.stdout, re.M) else ""


def check_units():
    shop = environment(KNEEPOINT_UNITS="inch")
    with folder() as name:
        asks = pathlib.Path(name) / "asks.yaml"
        asks.write_text(pathlib.Path(VAN).read_text(encoding="utf-8") + "units: inch\n", encoding="utf-8")
        metric = pathlib.Path(name) / "metric.yaml"
        metric.write_text(pathlib.Path(VAN).read_text(encoding="utf-8") + "Units: Metric\n", encoding="utf-8")

        # The option comes first, then the file, then the environment.
        for wanted, arguments, env in (("metric", [VAN], None), ("inch", [VAN, "--units", "inch"], None),
                                       ("inch", [asks], None), ("metric", [asks, "--units", "metric"], None),
                                       ("inch", [VAN], shop), ("metric", [VAN, "--units=metric"], shop),
                                       ("metric", [metric], shop), ("inch", [asks], shop)):
            done = run("curve", *arguments, env=env)
            expect(done.returncode == 0 and units_of(done) == wanted, f"{arguments}: {units_of(done)}, not {wanted}")
        # Of several files the first one asks.
        expect(units_of(run("compare", asks, VAN)) == "inch" and units_of(run("compare", VAN, asks)) == "inch" and
               units_of(run("compare", metric, asks)) == "metric", "units of two files")
        # No number depends on them.
        expect(rows("curve", asks) == rows("curve", VAN), "csv is in SI, whatever the file asks")
        refused(3, "expected `metric` or `inch`", "curve", VAN, "--set", "units=furlong")
    refused(2, "KNEEPOINT_UNITS `feet`: metric or inch is wanted", "curve", VAN, env=environment(KNEEPOINT_UNITS="feet"))

    # Bare numbers: in inches a speed of 10 is 0.254 m/s, wherever the option stands.
    for arguments, env in ((["--units", "inch", "--speeds", "10"], None), (["--speeds", "10", "--units", "inch"], None),
                           (["--speeds", "10"], shop), (["--speeds", "10in/s"], None), (["--speeds", "0.254"], None)):
        found = rows("curve", VAN, *arguments, env=env)
        expect(found != [] and abs(found[0]["speed_m_s"] - 0.254) < 1e-12, f"{arguments}: {found[:1]}")
    warm = run("curve", VAN, "--units", "inch", "--temperature", "70,104", "--speeds", "10")
    expect("104 degF" in warm.stdout and "70 degF" in warm.stdout, f"degF: {warm.stdout[:300]} {warm.stderr}")
    cropped = run("curve", VAN, "--speeds", "10", "--plot", "x.jpg", "--units", "inch")
    expect(cropped.returncode == 2, "a plot's file stays behind its option")


def check_standard_input():
    for path in (VAN, INCH):
        with open(path, encoding="utf-8") as text:
            done = subprocess.run([run.__globals__["PROGRAM"], "curve", "-", "--format", "csv"], stdin=text,
                                  capture_output=True, text=True, timeout=60, check=False)
        named = run("curve", path, "--format", "csv")
        expect(done.returncode == 0 and done.stdout == named.stdout, f"{path} by standard input: {done.stderr}")
    for content, words in (("", "-:1:1: the file is empty"), ("format: 1\nbody: 3\n", "-:2:7: body: expected a map")):
        done = subprocess.run([run.__globals__["PROGRAM"], "check", "-"], input=content, capture_output=True, text=True,
                              timeout=60, check=False)
        expect(done.returncode == 3 and words in done.stderr and done.stdout == "", f"{content!r}: {done.stderr}")
    started = run("new", "--bore", "2in")
    done = subprocess.run([run.__globals__["PROGRAM"], "check", "-"], input=started.stdout, capture_output=True, text=True,
                          timeout=60, check=False)
    expect(done.returncode == 0, f"new | check -: {done.stderr}{done.stdout}")


def check_version():
    done = run("--version")
    expect(re.fullmatch(r"kneepoint \d+\.\d+\.\d+\nGSL \d[\d.]*, libyaml \d[\d.]*, cJSON \d[\d.]*\n", done.stdout) is not None,
           f"--version: {done.stdout}")


def options_of(command):
    return sorted(set(re.findall(r"^  --([a-z-]+)", run(command, "--help").stdout, re.M)))


def check_completion():
    commands = re.findall(r"^  ([a-z]+) +[a-z]", run("--help").stdout.split("\n\n")[2], re.M)
    expect(len(commands) >= 8, f"commands: {commands}")
    scripts = {shell: run("completion", shell).stdout for shell in ("bash", "zsh", "fish")}

    # bash: asked for what begins with `--`, it offers exactly what --help names.
    for command in commands:
        ask = (f'{scripts["bash"]}\nCOMP_WORDS=(kneepoint {command} --); COMP_CWORD=2; _kneepoint; '
               'printf "%s\\n" "${COMPREPLY[@]}"')
        done = subprocess.run(["bash", "-c", ask], capture_output=True, text=True, timeout=60, check=False)
        expect(sorted(done.stdout.split()) == [f"--{name}" for name in options_of(command)] and done.stderr == "",
               f"bash completes {command}: {done.stdout} {done.stderr}")
    ask = f'{scripts["bash"]}\nCOMP_WORDS=(kneepoint c); COMP_CWORD=1; _kneepoint; printf "%s\\n" "${{COMPREPLY[@]}}"'
    done = subprocess.run(["bash", "-c", ask], capture_output=True, text=True, timeout=60, check=False)
    expect(sorted(done.stdout.split()) == sorted(name for name in commands if name.startswith("c")), f"bash: {done.stdout}")

    # zsh and fish name the same; the shell itself reads them where it is there.
    for command in commands:
        zsh = re.search(rf"^    {command}\) options=\((.*?)\) ;;$", scripts["zsh"], re.M | re.S)
        expect(zsh is not None and sorted(re.findall(r"'--([a-z-]+)", zsh[1])) == options_of(command), f"zsh: {command}")
        fish = re.findall(rf"__fish_seen_subcommand_from {command}' -l ([a-z-]+)", scripts["fish"])
        expect(sorted(fish) == options_of(command), f"fish: {command}: {fish}")
    for shell, script in scripts.items():
        expect(script.count("'") % 2 == 0, f"{shell}: quotes in pairs")
        if shutil.which(shell) is not None:
            done = subprocess.run([shell, "-n"], input=script, capture_output=True, text=True, timeout=60, check=False)
            expect(done.returncode == 0 and done.stderr == "", f"{shell} -n: {done.stderr}")
    refused(2, "bash, zsh or fish is wanted", "completion", "ksh")
    refused(2, "bash, zsh or fish is wanted", "completion")


check_units()
check_standard_input()
check_version()
check_completion()
finish()
