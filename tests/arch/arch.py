#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The rules of the house that a compiler does not check.

    python3 tests/arch/arch.py [--top FOLDER] [--objects BUILD_FOLDER] [--compilers gcc,clang]

Prints one line per breach, with its place, and ends with 1 when there is one. test_arch.py proves for each rule that
it can fail. With --objects the built room libraries are looked at too.
"""
import argparse
import pathlib
import re
import subprocess
import sys
import tempfile

# What each room may include: read_rooms() fills it from the table in src/meson.build, where the list stands once.
ROOMS = {}
# Each outside library is known to one room.
LIBRARIES = {"gsl/": "num", "yaml.h": "file", "cjson/": "report"}
# Only cli talks, ends the process, or reads argv and environment.
TALK = r"\b(printf|vprintf|puts|putchar|perror|exit|_exit|_Exit|quick_exit|abort|getenv|secure_getenv|setenv|putenv|getopt" \
       r"|getopt_long)\s*\(|\b(stdout|stderr|stdin)\b"
# Only draw starts another process (gnuplot), and nobody by way of a shell.
SPAWN = r"\b(fork|vfork|posix_spawn|posix_spawnp|execv|execvp|execve|execl|execlp)\s*\(|\benviron\b"
SHELL = r"\b(system|popen)\s*\("
# Changeable data of the process as (room, name), each with the reason why it may exist.
GLOBALS = {
    ("num", "guard"): "counts the threads inside GSL, whose one error handler is the process's (src/num/gsl_guard.c)",
}
# Known breaches, to be mended: empty is the aim. Each circle by its files as file_uses names them, each public function
# that no comment stands above by its name. One that is mended must leave its list.
KNOWN_CIRCLES = []
KNOWN_BARE = set()
WARNINGS = ["-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Wshadow", "-Wstrict-prototypes",
            "-Wmissing-prototypes", "-Wvla", "-Wformat=2", "-Werror"]


def blank_out(text, strings=True):
    """C text with comments (and strings) replaced by blanks, so that places stay right."""
    pattern = re.compile(r'//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\'', re.S)

    def blank(match):
        found = match.group(0)
        if not strings and found[0] in "\"'":
            return found
        return re.sub(r"[^\n]", " ", found)

    return pattern.sub(blank, text)


def includes(text):
    """(line, opening character, name) of each #include."""
    for number, line in enumerate(blank_out(text, strings=False).split("\n"), 1):
        match = re.match(r'\s*#\s*include\s*(["<])([^">]+)[">]', line)
        if match:
            yield number, match.group(1), match.group(2)


def sources(top):
    for room in sorted(ROOMS):
        folder = top / "src" / room
        for path in sorted(folder.rglob("*.[ch]")) if folder.is_dir() else []:
            yield room, path
    for path in sorted((top / "include" / "kneepoint").glob("*.h")):
        yield (path.stem if path.stem in ROOMS else None), path


def inner_header(top, room, name):
    """Is "name" a header in the room's own folder, with or without the room in front?"""
    plain = name[len(room) + 1:] if name.startswith(room + "/") else name
    return "/" not in plain and (top / "src" / room / plain).is_file()


def room_header(name):
    """The room whose own header this is ("num/num.h" is num's), which the rooms that may include it see; else None."""
    room, _, header = name.partition("/")
    return room if room in ROOMS and header == room + ".h" else None


def check_includes(top):
    for room, path in sources(top):
        umbrella = path.name == "kneepoint.h" and path.parent.name == "kneepoint"
        public = path.parent.name == "kneepoint" and path.parent.parent.name == "include"
        if public and room is None and not umbrella:
            yield f"{path.relative_to(top)}: a public header belongs to a room: {', '.join(ROOMS)}"
            continue
        for line, opening, name in includes(path.read_text()):
            place = f"{path.relative_to(top)}:{line}"
            for prefix, owner in LIBRARIES.items():
                if name.startswith(prefix) and (room != owner or public):
                    yield f"{place}: <{name}> belongs to src/{owner} alone, not to a public header or another room"
            if opening == "<":
                continue
            if umbrella:
                if not name.startswith("kneepoint/"):
                    yield f"{place}: the umbrella includes public headers only"
            elif name.startswith("kneepoint/"):
                other = name[len("kneepoint/"):-len(".h")]
                if other == "kneepoint":
                    if room != "cli":
                        yield f"{place}: the umbrella header hides what room {room} needs; include the rooms"
                elif other not in ROOMS:
                    yield f"{place}: {name} is no public header of a room"
                elif other != room and other not in ROOMS[room]:
                    yield f"{place}: room {room} may not include room {other} (only {', '.join(sorted(ROOMS[room])) or 'nothing'})"
            elif not public and room_header(name) and room_header(name) != room:
                other = room_header(name)
                if other not in ROOMS[room]:
                    yield f"{place}: room {room} may not include room {other} (only {', '.join(sorted(ROOMS[room])) or 'nothing'})"
            elif public or not inner_header(top, room, name):
                yield f"{place}: \"{name}\" is not a header of src/{room}; another room's inner headers are its own affair"


def check_cycles(top):
    """No room reaches itself, by the rule or by what the files really include."""
    reaches = {room: set(needs) for room, needs in ROOMS.items()}
    for room, path in sources(top):
        for _, opening, name in includes(path.read_text()):
            other = name[len("kneepoint/"):-len(".h")] if name.startswith("kneepoint/") else room_header(name)
            if room is not None and other in ROOMS and other != room:
                reaches[room].add(other)
    for _ in ROOMS:
        for needs in reaches.values():
            for other in list(needs):
                needs |= reaches[other]
    for room, needs in reaches.items():
        if room in needs:
            yield f"src/{room}: the rooms it includes lead back to it"


def read_rooms(top):
    """Fills ROOMS from the table room_needs of src/meson.build."""
    block = re.search(r"^room_needs = \{(.*?)^\}", (top / "src" / "meson.build").read_text(), re.M | re.S)
    ROOMS.clear()
    for room, needs in re.findall(r"'(\w+)': \[(.*?)\]", block.group(1) if block else ""):
        ROOMS[room] = set(re.findall(r"'(\w+)'", needs))


def check_build(top):
    """src/meson.build has a table of rooms, in data-path order, and every folder of src is one."""
    if not ROOMS:
        yield "src/meson.build: no room_needs table"
        return
    seen = set()
    for room, needs in ROOMS.items():
        for need in sorted(needs - seen):
            yield f"src/meson.build: room {room} needs {need}, which is not above it"
        seen.add(room)
    for folder in sorted((top / "src").iterdir()):
        if folder.is_dir() and any(folder.iterdir()) and folder.name not in ROOMS:
            yield f"src/{folder.name}: not a room of src/meson.build"


def check_calls(top):
    for room, path in sources(top):
        text = blank_out(path.read_text())
        for number, line in enumerate(text.split("\n"), 1):
            if re.match(r"\s*#\s*include", line):
                continue
            place = f"{path.relative_to(top)}:{number}"
            rules = [(SHELL, "nobody goes through a shell")]
            if room != "cli":
                rules.append((TALK, "only cli prints, exits and reads argv or the environment"))
            if room not in ("cli", "draw"):
                rules.append((SPAWN, "only draw starts a process"))
            for pattern, why in rules:
                for match in re.finditer(pattern, line):
                    yield f"{place}: {match.group(0).strip('( ')}: {why}"


def check_licence(top):
    kinds = ("*.c", "*.h", "*.py", "*.sh", "meson.build", "*.gp")
    for folder in ("include", "src", "tests", "stacks", "plots"):
        for kind in kinds:
            for path in sorted((top / folder).rglob(kind)):
                if "SPDX-License-Identifier: GPL-3.0-or-later" not in "\n".join(path.read_text().split("\n")[:2]):
                    yield f"{path.relative_to(top)}: no SPDX line on top"


def check_headers(top, compilers):
    """Each public header compiles alone, and twice over."""
    headers = sorted((top / "include" / "kneepoint").glob("*.h"))
    if not headers:
        yield "include/kneepoint: no headers"
    with tempfile.TemporaryDirectory() as folder:
        for header in headers:
            source = pathlib.Path(folder) / (header.stem + ".c")
            line = f'#include "kneepoint/{header.name}"\n'
            source.write_text(line + line + "typedef int not_empty;\n")
        for compiler in compilers:
            command = [compiler, "-std=c17", "-fsyntax-only", "-D_POSIX_C_SOURCE=200809L", "-I", str(top / "include")]
            for header in headers:
                source = pathlib.Path(folder) / (header.stem + ".c")
                try:
                    run = subprocess.run(command + WARNINGS + [str(source)], capture_output=True, text=True)
                except OSError as problem:
                    yield f"{compiler}: {problem}"
                    break
                if run.returncode != 0:
                    yield f"include/kneepoint/{header.name}: {compiler}: does not compile alone and twice:\n{run.stderr}"


def check_comments(top):
    """A comment stands directly above each public function: what it does is part of the interface."""
    bare = set()
    for path, line, name, good in public_functions(top):
        if not good:
            bare.add(name)
            if name not in KNOWN_BARE:
                yield f"{path.relative_to(top)}:{line}: {name}: no comment stands directly above this public function"
    for name in sorted(KNOWN_BARE - bare):
        yield f"tests/arch/arch.py: {name} is no longer without a comment; take it off KNOWN_BARE"


def symbols(paths):
    """(file, flags, section, name) of each symbol in objects or libraries."""
    for path in paths:
        run = subprocess.run(["objdump", "-t", str(path)], capture_output=True, text=True, check=True)
        for line in run.stdout.split("\n"):
            match = re.match(r"^[0-9a-f]+ (.{7}) (\S+)\s+[0-9a-f]+\s+(?:\.hidden )?(\S+)$", line)
            if match and "d" not in match.group(1) and match.group(2) not in ("*UND*", "*ABS*"):
                yield path, *match.groups()


def check_objects(build):
    """No changeable data but the listed; no outside name without kp_; no name twice, for the linker takes either;
    no files that call each other in a circle, for none of them can then be read or tested before the others."""
    libraries = sorted((build / "src").glob("libkp_*.a"))
    if not libraries:
        yield f"{build}: no room libraries in it"
    for library, flags, section, name in symbols(libraries):
        room = library.stem[len("libkp_"):]
        plain = name.split(".")[0]  # a static inside a function is name.1234
        changeable = re.match(r"^(\.data|\.bss|\.tdata|\.tbss|\*COM\*)", section) and ".rel.ro" not in section
        if changeable and (room, plain) not in GLOBALS:
            yield f"{library.name}: {name}: changeable data of the process; it belongs in a workspace"
        if "g" in flags and not name.startswith(("kp_", "__")):
            yield f"{library.name}: {name}: a name that others can see begins with kp_"
    owners = {}
    for path, flags, _, name in symbols([*libraries, *sorted((build / "src" / "kneepoint.p").glob("*.o"))]):
        if "g" in flags and not name.startswith("__"):
            owners.setdefault(name, []).append(path.name)
    for name, files in sorted(owners.items()):
        if len(files) > 1:
            yield f"{name}: defined {len(files)} times, in {' and '.join(files)}"
    uses = file_uses(build)
    found = circles(uses)
    for circle in found:
        if circle not in KNOWN_CIRCLES:
            ties = [f"{user} uses {', '.join(sorted(names))} of {owner}" for user in circle
                    for owner, names in sorted(uses[user].items()) if owner in circle]
            yield f"files call each other in a circle: {'; '.join(ties)}"
    for circle in KNOWN_CIRCLES:
        if circle not in found:
            yield f"tests/arch/arch.py: {', '.join(circle)} are no longer a circle; take it off KNOWN_CIRCLES"


def file_uses(build):
    """{object file: {object file: {symbol}}}: what each file of src takes from which, by the symbol tables. An object
    is named as meson names it, room first: disc_table.c."""
    defined, wanted = {}, {}
    objects = sorted((build / "src").glob("*.p/*.o"))
    run = subprocess.run(["nm", "-A", "-P", *objects], capture_output=True, text=True, check=True) if objects else None
    for path, rest in re.findall(r"^(.*): (\S+ \S)", run.stdout if run else "", re.M):
        file, (name, kind) = pathlib.Path(path).stem, rest.split()
        if kind == "U":
            wanted.setdefault(file, set()).add(name)
        elif kind.isupper() or kind == "i":  # i: a function of which the loader chooses one of several copies
            defined[name] = file
    uses = {}
    for user, names in wanted.items():
        for name in names & defined.keys():
            if defined[name] != user:
                uses.setdefault(user, {}).setdefault(defined[name], set()).add(name)
    return uses


def circles(uses):
    """[[file, ...]]: the files that lead back to each other, each circle once."""
    reached = {}
    for start in uses:
        found, left = set(), [start]
        while left:
            more = set(uses.get(left.pop(), ())) - found
            found |= more
            left += more
        reached[start] = found
    groups = {frozenset(other for other in found if start in reached.get(other, ()))
              for start, found in reached.items() if start in found}
    return sorted(sorted(group) for group in groups)


def public_functions(top):
    """(path, line, name, whether a comment stands directly above) of each function that a public header declares."""
    for path in sorted((top / "include" / "kneepoint").glob("*.h")):
        text = path.read_text()
        code = re.sub(r"^[ \t]*#(?:[^\n]*\\\n)*[^\n]*", lambda match: re.sub(r"[^\n]", " ", match.group(0)),
                      blank_out(text, strings=False), flags=re.M)
        code = re.sub(r'extern "C" \{', lambda match: " " * len(match.group(0)), code)
        depth, outer = 0, []
        for letter in code:
            depth = max(0, depth - (letter == "}"))
            outer.append(letter if depth == 0 or letter == "\n" else " ")
            depth += letter == "{"
        lines = text.split("\n")
        for match in re.finditer(r"[^;{}]+", "".join(outer)):
            name = re.search(r"\b(kp_\w+)\s*\(", match.group(0))
            if name is None or re.search(r"\btypedef\b|=", match.group(0)):
                continue
            begin = match.start() + len(match.group(0)) - len(match.group(0).lstrip())
            line = code.count("\n", 0, begin) + 1
            above = lines[line - 2].strip() if line > 1 else ""
            alone = line > 1 and not code.split("\n")[line - 2].strip() and "SPDX-License-Identifier" not in above
            yield path, line, name.group(1), alone and (above.endswith("*/") or above.startswith("//"))


def main():
    parser = argparse.ArgumentParser(description="Checks the room rule and its companions.")
    parser.add_argument("--top", type=pathlib.Path, default=pathlib.Path(__file__).resolve().parents[2])
    parser.add_argument("--objects", type=pathlib.Path)
    parser.add_argument("--compilers", default="gcc,clang")
    arguments = parser.parse_args()
    top = arguments.top.resolve()
    read_rooms(top)
    breaches = []
    for rule in (check_includes, check_cycles, check_build, check_calls, check_licence, check_comments):
        breaches += rule(top)
    breaches += check_headers(top, [name for name in arguments.compilers.split(",") if name])
    if arguments.objects:
        breaches += check_objects(arguments.objects)
    for breach in breaches:
        print(breach)
    print(f"{len(breaches)} breaches of the rules of the house")
    return 1 if breaches else 0


if __name__ == "__main__":
    sys.exit(main())
