#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""When the machine does not play along: no gnuplot, full disks, closed outputs, readers that leave, terminals.

    machine.py PROGRAM
"""
import os
import pathlib
import pty
import re
import resource
import select
import stat
import subprocess

from program import LINEAR, PROGRAM, VAN, environment, expect, finish, folder, refused, run

COMMANDS = (["curve", VAN], ["lift", VAN], ["compare", VAN, LINEAR])


def check_no_gnuplot():
    """The table still comes; the plot's failure is a sentence and a non-zero exit."""
    bare = environment(PATH="/nowhere")
    with folder() as here:
        for command in COMMANDS:
            for form in ("table", "csv", "json"):
                plain = run(*command, "--format", form, env=bare)
                expect(plain.returncode == 0 and plain.stderr == "", f"no plot, no gnuplot needed: {plain.stderr}")
                done = run(*command, "--format", form, "--plot", "a.svg", env=bare, cwd=here)
                expect(done.returncode == 5 and done.stdout == plain.stdout, f"{command[0]} {form}: {done.returncode}")
                expect("gnuplot is not installed" in done.stderr, done.stderr)
            done = run(*command, "--plot", env=bare, cwd=here)
            expect(done.returncode == 5 and done.stdout == run(*command).stdout, f"{command[0]} --plot: {done.stderr}")
        expect(os.listdir(here) == [], f"left behind: {os.listdir(here)}")
        # one that dies at once: a broken pipe must not end us
        tools = pathlib.Path(here) / "bin"
        tools.mkdir()
        (tools / "gnuplot").write_text("#!/bin/sh\nexit 7\n", encoding="utf-8")
        (tools / "gnuplot").chmod(0o755)
        done = run("curve", VAN, "--plot", "a.svg", env=environment(PATH=f"{tools}:{os.environ['PATH']}"), cwd=here)
        expect(done.returncode == 5 and "exit status 7" in done.stderr and "Compression" in done.stdout, done.stderr)


def check_bad_plot_places():
    with folder() as here:
        for path, words in (("nowhere/a.svg", "No such file"), ("/dev/null/a.svg", "Not a directory")):
            done = run("curve", VAN, "--plot", path, cwd=here)
            expect(done.returncode == 5 and words in done.stderr and "Compression" in done.stdout, f"{path}: {done.stderr}")
        if os.geteuid() != 0:  # root writes everywhere
            os.chmod(here, stat.S_IRUSR | stat.S_IXUSR)
            done = run("curve", VAN, "--plot", "a.svg", cwd=here)
            expect(done.returncode == 5 and "Permission denied" in done.stderr, done.stderr)
            os.chmod(here, stat.S_IRWXU)


def limit_files():
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, resource.RLIM_INFINITY))


def check_full():
    for command in (*COMMANDS, ["check", VAN], ["--help"], ["--version"], ["curve", "--help"]):
        for extra in ([], ["--format", "json"]) if VAN in command else ([],):
            with open("/dev/full", "w", encoding="utf-8") as full:
                done = subprocess.run([PROGRAM, *command, *extra], stdout=full, stderr=subprocess.PIPE, text=True,
                                      env=environment(), check=False)
            expect(done.returncode == 5 and "could not be written to standard output" in done.stderr,
                   f"{command} to a full disk: {done.returncode} {done.stderr}")
    with folder() as here:
        old = pathlib.Path(here) / "a.svg"
        old.write_text("old", encoding="utf-8")
        done = run("curve", VAN, "--plot", "a.svg", cwd=here, preexec_fn=limit_files)
        expect(done.returncode == 5 and "a.svg: " in done.stderr, f"no room for the picture: {done.stderr}")
        expect(old.read_text(encoding="utf-8") == "old" and os.listdir(here) == ["a.svg"], "the old picture stays")


def check_closed():
    """Closed descriptors: files opened later must not land in their place."""
    for closed in (">&-", "<&- >&-", "<&- >&- 2>&-", "2>&- >&-"):
        done = subprocess.run(["sh", "-c", f'"$0" curve "$1" {closed}', str(PROGRAM), VAN], capture_output=True, text=True,
                              env=environment(), check=False)
        expect(done.returncode == 5, f"curve {closed}: {done.returncode}")
        expect("2>&-" in closed or "could not be written" in done.stderr, f"curve {closed}: {done.stderr}")
    done = subprocess.run(["sh", "-c", '"$0" curve "$1" 2>&- <&-', str(PROGRAM), VAN], capture_output=True, text=True,
                          env=environment(), check=False)
    expect(done.returncode == 0 and done.stdout == run("curve", VAN).stdout, "stdin and stderr are not needed")
    with folder() as here:
        done = subprocess.run(["sh", "-c", 'cp "$1" bad.yaml; "$0" curve bad.yaml --plot a.svg <&- >&- 2>&-', str(PROGRAM),
                               VAN], cwd=here, env=environment(), check=False)
        expect(done.returncode == 5, f"all closed: {done.returncode}")
        picture = (pathlib.Path(here) / "a.svg").read_text(encoding="utf-8")
        expect(picture.startswith("<?xml") and picture.rstrip().endswith("</svg>"), "the picture is a picture")
        expect((pathlib.Path(here) / "bad.yaml").read_bytes() == pathlib.Path(VAN).read_bytes(), "the file is as it was")


def check_reader_leaves():
    """`| head`: not killed by a signal, and no complaint."""
    reading, writing = os.pipe()
    process = subprocess.Popen([PROGRAM, "curve", VAN, "--speeds", "0.01..1:1000", "--format", "csv"], stdout=writing,
                               stderr=subprocess.PIPE, text=True, env=environment())
    os.close(writing)
    os.close(reading)
    _, said = process.communicate(timeout=60)
    expect(process.returncode == 5 and said == "", f"the reader left: {process.returncode} {said!r}")


def on_terminal(arguments, rows=None, **changes):
    """What comes out on a pseudo-terminal."""
    master, slave = pty.openpty()
    if rows is not None:
        import fcntl
        import struct
        import termios
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows[0], rows[1], 0, 0))
    process = subprocess.Popen([PROGRAM, *arguments], stdin=slave, stdout=slave, stderr=slave,
                               env=environment(**{"TERM": "xterm", **changes}))
    os.close(slave)
    said = b""
    while True:
        ready, _, _ = select.select([master], [], [], 60)
        try:
            part = os.read(master, 65536) if ready else b""
        except OSError:  # the other end is closed
            part = b""
        if not part:
            break
        said += part
    process.wait(60)
    os.close(master)
    return said.decode("utf-8").replace("\r\n", "\n")


def check_terminal():
    said = on_terminal(["curve", VAN])
    expect("\033[1m" in said, "headings are bold on a terminal")
    plain = run("curve", VAN).stdout
    for changes in ({"NO_COLOR": "1"}, {"TERM": "dumb"}, {"TERM": None}):
        expect("\033" not in on_terminal(["curve", VAN], **changes), f"no emphasis with {changes}")
    expect("\033[1m" in on_terminal(["curve", VAN], NO_COLOR=""), "an empty NO_COLOR says nothing")
    wide = on_terminal(["curve", VAN], rows=(50, 200), NO_COLOR="1")
    expect(wide == plain, "a wide terminal shows what a pipe gets")
    bad = on_terminal(["curve", VAN, "--set", "friction=none"])
    expect("\033[1mwarning:" in bad, "warnings stand out on a terminal")
    narrow = on_terminal(["curve", VAN, "--plot"], rows=(40, 60), NO_COLOR="1")
    drawn = narrow[re.search(r"not\s+this\s+estimate\.", narrow).end():]
    expect(max(len(line) for line in drawn.splitlines()) <= 60, "a plot as wide as the terminal")
    expect("*****compression" in drawn and "shaft speed [m/s]" in drawn, "curve and axis are in it")
    words = narrow[:narrow.index("summary")]
    expect(max(len(line) for line in words.splitlines()) <= 60, "running text as wide as the terminal")


def check_display():
    """A display, but a gnuplot that knows no window: the terminal, and nothing opened."""
    with folder() as here:
        tools = pathlib.Path(here)
        (tools / "gnuplot").write_text("#!/bin/sh\nscript=$(cat)\ncase $script in *GPVAL_TERMINALS*) echo \" dumb $WINDOW svg \";;"
                                       " *'set terminal qt'*) touch opened;; *) echo plotted;; esac\n", encoding="utf-8")
        (tools / "gnuplot").chmod(0o755)
        path = f"{tools}:{os.environ['PATH']}"
        done = run("curve", VAN, "--plot", cwd=here, env=environment(DISPLAY=":99", PATH=path))
        expect(done.returncode == 0 and done.stdout.endswith("plotted\n"), f"no window known: {done.stderr}")
        expect(not (tools / "opened").exists(), "nothing opened")
        done = run("curve", VAN, "--plot", cwd=here, env=environment(DISPLAY=":99", PATH=path, WINDOW="qt"))
        expect(done.returncode == 0 and (tools / "opened").exists() and "plotted" not in done.stdout, f"a window: {done}")
        (tools / "opened").unlink()
        done = run("curve", VAN, "--plot", cwd=here, env=environment(PATH=path, WINDOW="qt"))
        expect(done.returncode == 0 and not (tools / "opened").exists(), "no display, no window")
        plain = run("curve", VAN, "--format", "csv").stdout
        done = run("curve", VAN, "--plot", "--format", "csv", cwd=here, env=environment(DISPLAY=":99", PATH=path))
        expect(done.returncode == 5 and done.stdout == plain and "no window" in done.stderr, f"csv stays csv: {done.stderr}")
        refused(2, "name a file", "curve", VAN, "--plot", "--format", "csv", cwd=here, env=environment(PATH=path))


check_no_gnuplot()
check_bad_plot_places()
check_full()
check_closed()
check_reader_leaves()
check_terminal()
check_display()
finish()
