#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What DEVELOPERS.md names must exist.

    python3 tests/arch/docs.py [--top FOLDER]

Prints one line per breach, with its place, and ends with 1 when there is one. The rules:

- A file or folder in backticks exists, from the top of the tree, from src, or by its bare name anywhere in the tree;
  `*` stands for any letters. So does each file in a block of shell commands (info string sh).
- A name that begins with kp_ occurs in src or include, wherever it stands in the page; `kp_cmd_*` needs one that begins
  so. A function of one file, written `newton()`, is called or defined in src or tests.
- The rooms of the table headed `room` are those of src/meson.build, in its order.
- A block with a file in its info string (```c tests/embed/print_curve.c) is an excerpt: lines of that file, unchanged
  and in order. A line `...` stands for lines left out.

Names of examples that do not exist yet stand in INVENTED. One that exists must leave the list.
"""
import argparse
import pathlib
import re
import sys

sys.dont_write_bytecode = True
import arch

PAGE = "DEVELOPERS.md"
# The flow branch and the command that the page teaches to add.
INVENTED = {
    "kp_ball", "kp_ball_data", "kp_ball_flow", "kp_ball_cracking", "kp_cmd_shims", "kp_report_shims",
    "src/flow/ball.c", "tests/flow/test_ball.c", "src/cli/cmd_shims.c", "src/report/shims.c",
}
CODE_FOLDERS = ("src", "include", "tests")
FOLDERS = CODE_FOLDERS + ("stacks", "plots", ".ci")
FILE_NAME = re.compile(r"[\w.*/-]+\.(c|h|cpp|py|sh|md|build|yaml|json|csv|1|svg)$")


def blocks_and_prose(text):
    """([(line, info string, [lines])], [(line, text)]) of a page: its fenced blocks, and everything else."""
    blocks, prose, inside = [], [], None
    for number, line in enumerate(text.split("\n"), 1):
        fence = re.match(r"\s*```(.*)$", line)
        if fence and inside is None:
            inside = (number + 1, fence.group(1).strip(), [])
        elif fence:
            blocks.append(inside)
            inside = None
        elif inside is not None:
            inside[2].append(line)
        else:
            prose.append((number, line))
    return blocks, prose


def files(top):
    return [path for folder in FOLDERS if (top / folder).is_dir() for path in (top / folder).rglob("*")] + list(top.glob("*"))


def is_path(word):
    """Whether a word in backticks names a file or folder of this tree."""
    first = word.split("/")[0]
    return bool(FILE_NAME.match(word)) or ("/" in word and (first in FOLDERS or first in arch.ROOMS))


def exists(top, word):
    if "/" in word:
        return any(any(base.glob(word.rstrip("/"))) for base in (top, top / "src", top / "include"))
    return any(path.match(word) for path in files(top))


def check_paths(top, text):
    blocks, prose = blocks_and_prose(text)
    words = [(number, word) for number, line in prose for word in re.findall(r"`([^`]+)`", line)]
    for start, info, lines in blocks:
        if info == "sh":
            words += [(start + i, word) for i, line in enumerate(lines) for word in line.split("#")[0].split()
                      if word.split("/")[0] in FOLDERS]
    for number, word in words:
        if is_path(word) and word not in INVENTED and not exists(top, word):
            yield f"{PAGE}:{number}: {word} does not exist"


def code(top, folders):
    return "\n".join(path.read_text(errors="replace") for folder in folders for ending in ("c", "h")
                     for path in sorted((top / folder).rglob(f"*.{ending}")))


def check_names(top, text):
    known = set(re.findall(r"\bkp_\w+", code(top, ("src", "include"))))
    anything = code(top, CODE_FOLDERS)
    for number, line in enumerate(text.split("\n"), 1):
        for name, star in re.findall(r"\b(kp_\w+)(\*?)", line):
            found = any(other.startswith(name) for other in known) if star else name in known
            if not found and name not in INVENTED:
                yield f"{PAGE}:{number}: {name}{star} occurs neither in src nor in include"
        for name in re.findall(r"`(\w+)\(\)`", line):
            if not name.startswith("kp_") and not re.search(rf"\b{name}\(", anything):
                yield f"{PAGE}:{number}: no function {name}() in {', '.join(CODE_FOLDERS)}"


def check_invented(top, text):
    known = set(re.findall(r"\bkp_\w+", code(top, ("src", "include"))))
    for name in sorted(INVENTED):
        if name in known or ("/" in name and (top / name).exists()):
            yield f"tests/arch/docs.py: {name} exists now; take it off INVENTED, and teach another example"
        if name not in text:
            yield f"tests/arch/docs.py: {name} is no longer in {PAGE}; take it off INVENTED"


def check_rooms(top, text):
    table = re.search(r"^\| room \|.*\n\|[-| ]+\|\n((?:\|.*\n?)*)", text, re.M)
    rooms = re.findall(r"^\| `(\w+)` \|", table.group(1), re.M) if table else []
    if rooms != list(arch.ROOMS):
        yield f"{PAGE}: its table of rooms has {', '.join(rooms) or 'none'}; src/meson.build has {', '.join(arch.ROOMS)}"


def check_excerpts(top, text):
    for start, info, lines in blocks_and_prose(text)[0]:
        name = info.split()[1] if len(info.split()) > 1 else None
        if name is None:
            continue
        if not (top / name).is_file():
            yield f"{PAGE}:{start - 1}: {name} does not exist"
            continue
        source, at, piece = (top / name).read_text().split("\n"), 0, []
        for number, line in enumerate([*lines, "..."], start):
            if line.strip() != "...":
                piece.append(line)
                continue
            while at + len(piece) <= len(source) and source[at:at + len(piece)] != piece:
                at += 1
            if at + len(piece) > len(source):
                yield f"{PAGE}:{number - len(piece)}: these lines do not stand in {name}"
                break
            at, piece = at + len(piece), []


RULES = (check_paths, check_names, check_invented, check_rooms, check_excerpts)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--top", type=pathlib.Path, default=pathlib.Path(__file__).resolve().parents[2])
    top = parser.parse_args().top
    arch.read_rooms(top)
    text = (top / PAGE).read_text()
    breaches = [breach for rule in RULES for breach in rule(top, text)]
    for breach in breaches:
        print(breach)
    print(f"{len(breaches)} breaches in {PAGE}")
    return 1 if breaches else 0


if __name__ == "__main__":
    sys.exit(main())
