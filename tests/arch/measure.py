#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Prints how large, how tangled and how well explained the C code is.

    measure.py [--top FOLDER | --rev REVISION] [--objects BUILD_FOLDER]

Without --objects, circles of files and exported symbols are left out, for they are read from the built objects: an
object that needs a symbol uses the file that defines it. A function's lines go from the first line of its head to its
closing brace. A body begins at a line that begins with `{` outside of all braces; the shares of blank and comment
lines are those of the lines behind it, closing brace included, and a comment line is one that begins a comment.
"""
import argparse
import io
import pathlib
import re
import subprocess
import sys
import tarfile
import tempfile

sys.dont_write_bytecode = True
import arch

LONG = 60  # lines that a function keeps to as a habit


def count_lines(folder):
    return sum(len(path.read_text(errors="replace").splitlines()) for path in folder.rglob("*.[ch]"))


def functions(text):
    """(name, lines of head and body, [body lines]) of each function of a C file."""
    lines = text.split("\n")
    depth, opened, body = 0, None, []
    for number, line in enumerate(lines):
        plain = re.sub(r"//.*|/\*.*?\*/", "", re.sub(r'"(\\.|[^"\\])*"', "", line))
        opening, closing = plain.count("{"), plain.count("}")
        if depth == 0 and opening > closing and line.startswith("{"):
            opened, body = number, []
        elif opened is not None and depth > 0:
            body.append(line)
        depth += opening - closing
        if depth <= 0:
            if opened is not None:
                name, begin = head(lines, opened)
                yield name, number - begin + 1, body
            opened = None


def head(lines, opened):
    """(name, first line) of the function whose body opens there."""
    begin = opened
    while begin > 0 and lines[begin - 1].strip() and not re.search(r"[;}]\s*$|\*/\s*$|^#", lines[begin - 1]):
        begin -= 1
    name = re.search(r"(\w+)\s*\(", " ".join(lines[begin:opened]))
    return name.group(1) if name else "?", begin


def exported(build):
    """Names that the shared library shows to others."""
    libraries = [path for path in sorted((build / "src").glob("libkneepoint.so*")) if path.is_file()]
    if not libraries:
        raise SystemExit(f"{build}: no shared library in it")
    run = subprocess.run(["nm", "-D", "-P", "--defined-only", str(libraries[0])], capture_output=True, text=True, check=True)
    return {line.split()[0] for line in run.stdout.splitlines()}


def declared(top):
    """Every name that a public header declares outside of comments."""
    text = "\n".join(arch.blank_out(path.read_text()) for path in (top / "include" / "kneepoint").glob("*.h"))
    return set(re.findall(r"\bkp_\w+", text))


def report(top, build):
    """The lines to print."""
    yield f"{count_lines(top / 'src')} lines in src, {count_lines(top / 'include')} in include"
    if build:
        uses = arch.file_uses(build)
        if not uses:
            raise SystemExit(f"{build}: no objects in it")
        found = arch.circles(uses)
        yield f"{len(found)} circles of files"
        for circle in found:
            yield f"    {', '.join(circle)}"
            for user in circle:
                for owner in sorted(set(uses[user]) & set(circle)):
                    yield f"        {user} uses {owner}: {', '.join(sorted(uses[user][owner]))}"
    every = [(lines, name, path.relative_to(top), body) for path in sorted((top / "src").rglob("*.c"))
             for name, lines, body in functions(path.read_text(errors="replace"))]
    long = sorted((row[:3] for row in every if row[0] > LONG), reverse=True)
    yield f"{len(long)} of {len(every)} functions over {LONG} lines"
    for lines, name, path in long:
        yield f"    {lines} {name} {path}"
    if every:
        yield "longest function: {0} lines, {1} in {2}".format(*max(row[:3] for row in every))
    bodies = [line for row in every for line in row[3]]
    blank = sum(not line.strip() for line in bodies)
    comment = sum(bool(re.match(r"\s*(//|/\*)", line)) for line in bodies)
    share = 100.0 / max(1, len(bodies))
    yield f"{share * blank:.1f} % blank lines and {share * comment:.1f} % comment lines in {len(bodies)} lines of function bodies"
    if build:
        names = exported(build)
        known = declared(top)
        hidden = sorted(name for name in names if name.split(".")[0] not in known)  # a compiler's own: name.resolver
        yield f"{len(names)} exported symbols, {len(hidden)} of them not declared in include/kneepoint"
        yield from (f"    {name}" for name in hidden)
    public = list(arch.public_functions(top))
    bare = [f"    {path.relative_to(top)}:{line}: {name}" for path, line, name, good in public if not good]
    yield f"{len(public)} public functions, {len(bare)} of them without a comment directly above"
    yield from bare


def main():
    parser = argparse.ArgumentParser(description="Measures the C code of a tree.")
    place = parser.add_mutually_exclusive_group()
    here = pathlib.Path(__file__).resolve().parents[2]
    place.add_argument("--top", type=pathlib.Path, default=here)
    place.add_argument("--rev")
    parser.add_argument("--objects", type=pathlib.Path)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        top = arguments.top.resolve()
        if arguments.rev:
            run = subprocess.run(["git", "-C", str(here), "archive", "--format=tar", arguments.rev, "src", "include"],
                                 capture_output=True, check=False)
            if run.returncode != 0:
                raise SystemExit(run.stderr.decode().strip())
            tarfile.open(fileobj=io.BytesIO(run.stdout)).extractall(folder)
            top = pathlib.Path(folder)
        for line in report(top, arguments.objects):
            print(line)


if __name__ == "__main__":
    main()
