#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the manual shows is run: every console block of README.md, the pictures it shows, the commands and options it
and the manual page name.

    readme.py PROGRAM SOURCE_FOLDER [--update]

A console block holds `$ command` lines, each followed by what it prints (stdout and stderr). A line `...` stands for
any number of lines left out. The commands run in an empty folder that has stacks/ and the program in its path.
--update writes what the program prints now into README.md instead (blocks without `...` only): read the difference
before it is committed.
"""
import os
import pathlib
import re
import subprocess
import sys
import tempfile


def console_blocks(text):
    """(line number, command, expected lines) of each command."""
    inside, found = False, []
    for number, line in enumerate(text.split("\n"), 1):
        if line.startswith("```"):
            inside = line.strip() == "```console"
        elif inside and line.startswith("$ "):
            found.append((number, line[2:], []))
        elif inside:
            if not found:
                raise ValueError(f"line {number}: a console block begins with a command")
            found[-1][2].append(line.rstrip())
    return found


def matches(expected, got):
    """Line by line, where `...` stands for any number of lines."""
    if not expected:
        return not got
    if expected[0] == "...":
        return any(matches(expected[1:], got[skip:]) for skip in range(len(got) + 1))
    return bool(got) and expected[0] == got[0] and matches(expected[1:], got[1:])


def run(command, program, source):
    with tempfile.TemporaryDirectory() as folder:
        os.symlink(source / "stacks", pathlib.Path(folder) / "stacks")
        environment = dict(os.environ, LC_ALL="C.UTF-8", COLUMNS="120", PATH=f"{program.parent}:{os.environ['PATH']}")
        environment.pop("DISPLAY", None)
        done = subprocess.run(["sh", "-c", command], cwd=folder, env=environment, text=True, stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL, timeout=120)
        return [line.rstrip() for line in done.stdout.rstrip("\n").split("\n")] if done.stdout else []


def check_console(text, program, source):
    blocks = console_blocks(text)
    if not blocks:
        yield "README.md: no console block"
    for number, command, expected in blocks:
        while expected and not expected[-1]:
            expected.pop()
        got = run(command, program, source)
        if not matches(expected, got):
            yield f"README.md:{number}: $ {command}\nexpected:\n" + "\n".join(expected) + "\ngot:\n" + "\n".join(got)


def check_pictures(text, source):
    pictures = set(re.findall(r"!\[[^\]]*\]\((plots/[^)]+)\)", text))
    drawn = {f"plots/{name}" for name in re.findall(r"^draw (\S+)", (source / "plots" / "gallery.sh").read_text(), re.M)}
    if not pictures:
        yield "README.md: no picture"
    for name in sorted(pictures | drawn):
        if name not in drawn:
            yield f"{name}: shown in the README, not drawn by plots/gallery.sh"
        if name not in pictures:
            yield f"{name}: drawn by plots/gallery.sh, not shown in the README"
        if not (source / name).is_file():
            yield f"{name}: not there"


def check_names(text, manual, program):
    """Every command and long option of --help stands in README (commands) and in the manual page (both)."""
    plain = manual.replace("\\-", "-")
    top = subprocess.run([program, "--help"], capture_output=True, text=True, check=True).stdout
    commands = [name for name in ("new", "check", "lift", "curve", "compare", "explain", "stroke", "band", "fit", "match",
                                  "corner", "sheet", "watch", "completion") if re.search(rf"^\s+{name}\b", top, re.M)]
    if len(commands) < 4:
        yield f"--help names {len(commands)} commands"
    helped = set()
    for command in commands:
        if f"`{command}" not in text:
            yield f"README.md: no word of the command {command}"
        if not re.search(rf"\b{command}\b", plain):
            yield f"kneepoint.1: no word of the command {command}"
        for option in sorted(set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", subprocess.run(
                [program, command, "--help"], capture_output=True, text=True, check=True).stdout))):
            helped.add(option)
            if option not in plain:
                yield f"kneepoint.1: no word of {option}, which `kneepoint {command} --help` names"
    for option in sorted(set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", plain)) - helped - {"--version"}):
        yield f"kneepoint.1: {option}, which no command's --help names"


def can_fail(text, program, source):
    """The checks above on a README spoilt in one place each must find it."""
    blocks = console_blocks(text)
    number, command, expected = next(block for block in blocks if any(re.search(r"\d", line) for line in block[2]))
    line = next(line for line in expected if re.search(r"\d", line))
    one_off = re.sub(r"\d", lambda digit: str((int(digit.group(0)) + 1) % 10), line, count=1)
    spoilt = f"```console\n$ {command}\n" + "\n".join(one_off if line == old else old for old in expected) + "\n```\n"
    if not list(check_console(spoilt, program, source)):
        yield f"a wrong digit in the block of line {number} is not noticed"
    if not list(check_pictures(text + "\n![x](plots/no-such.svg)\n", source)):
        yield "a missing picture is not noticed"
    if not list(check_names("", "", program)):
        yield "a missing command is not noticed"


def update(text, program, source):
    lines, out = text.split("\n"), []
    expected_until = -1
    blocks = {number: (command, expected) for number, command, expected in console_blocks(text)}
    for number, line in enumerate(lines, 1):
        if number <= expected_until:
            continue
        out.append(line)
        if number in blocks and "..." not in blocks[number][1]:
            command, expected = blocks[number]
            got = run(command, program, source)
            out += got + [""] * (bool(expected) and not expected[-1])
            expected_until = number + len(expected)
    return "\n".join(out)


def main():
    program, source = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    text = (source / "README.md").read_text()
    if "--update" in sys.argv:
        (source / "README.md").write_text(update(text, program, source))
        return 0
    manual = (source / "src" / "cli" / "kneepoint.1").read_text()
    faults = [*check_console(text, program, source), *check_pictures(text, source), *check_names(text, manual, program)]
    faults += can_fail(text, program, source)
    for fault in faults:
        print(fault)
    print(f"{len(faults)} faults in the manual")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
