#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`band` and `compare --band` from outside: reproducible by seed, progress on a terminal, an interrupt that keeps."""
import csv
import io
import json
import os
import pty
import re
import signal
import subprocess
import sys
import time

sys.dont_write_bytecode = True
from program import FIRMER, LINEAR, PROGRAM, VAN, document, environment, expect, finish, refused, rows, run  # noqa: E402

SHORT = ("--samples", 400, "--speeds", "0.1,0.3,1.0")

told = run("band", VAN, *SHORT)
expect(told.returncode == 0, told.stderr)
for words in ("95 of 100 builds", "Most of it:", "EN 10140", "dish: 0.4 mm +/- 0.03 mm (file)", "correlates by 0.80",
              "solved whole", "seed 1", "nitrogen"):
    expect(words in told.stdout.replace("\n", " "), f"`{words}` is not said")
expect(told.stdout == run("band", VAN, *SHORT, "--threads", 3).stdout, "threads change the answer")
expect(told.stdout != run("band", VAN, *SHORT, "--seed", 2).stdout, "another seed changes nothing")
expect(told.stderr == "", f"progress without a terminal: {told.stderr!r}")
for row in rows("band", VAN, *SHORT):
    expect(row["force_least_N"] < row["force_middle_N"] < row["force_most_N"], f"{row}")
    expect(row["force_least_low_N"] <= row["force_least_N"] <= row["force_least_high_N"], f"{row}")
answer = document("band", VAN, *SHORT, "--correlation", "35 %")
expect(answer["samples_done"] == 400 and answer["correlation"] == 0.35, "options of the band")
expect(0 < answer["held_out_error_of_half_width"] < 0.043, "shortened lift")
expect("standing" in answer["causes"]["grip"], "standing of the causes")

# Two stacks: one face shim more is beyond the noise, the same file is not.
apart = document("compare", LINEAR, FIRMER, "--band", *SHORT)["beyond_noise"]
expect(any(row["beyond_noise"] for row in apart if row["direction"] == "compression"), "a face shim in the noise")
same = run("compare", LINEAR, LINEAR, "--band", *SHORT)
expect(same.stdout.count("by more than the noise at no speed") == 2, same.stdout)

# Ctrl-C, TERM and HUP: what was sampled by then is reported, and the exit status says that it is not all. Progress on
# a terminal.
def interrupted(signal_sent, *arguments):
    main, side = pty.openpty()
    started = subprocess.Popen([str(PROGRAM), *arguments], stdout=subprocess.PIPE, stderr=side,
                               stdin=subprocess.DEVNULL, env=environment())
    os.close(side)
    shown = b""
    while b" 1 %" not in shown and started.poll() is None:
        shown += os.read(main, 4096)
    began = time.monotonic()
    started.send_signal(signal_sent)
    out, _ = started.communicate(timeout=60)
    took = time.monotonic() - began
    said = b""
    try:
        while more := os.read(main, 4096):
            said += more
    except OSError:  # the other end is closed
        pass
    os.close(main)
    expect(re.search(rb"(band|compare): \d+ %", shown), f"no progress: {shown!r}")
    expect(started.returncode == 5, f"{signal_sent}: ended with {started.returncode}")
    expect(took < 30, f"{signal_sent}: {took} s from the interrupt to the answer")
    return out.decode(), said.decode()


LONG = ("--samples", "200000", "--threads", "1")
out, said = interrupted(signal.SIGINT, "band", VAN, *LONG, "--format", "json")
kept = json.loads(out)
expect(40 <= kept["samples_done"] < 200000 and kept["samples_asked"] == 200000, "what was kept")
expect(f"interrupted after {kept['samples_done']:.0f} of 200000 builds" in said, f"builds, not blocks of them: {said!r}")
out, said = interrupted(signal.SIGTERM, "band", VAN, *LONG, "--format", "csv")
for row in csv.DictReader(io.StringIO(out)):
    expect(40 <= float(row["samples_done"]) < float(row["samples_asked"]) == 200000, f"an unmarked CSV: {row}")
    expect(row["samples_done"] in said, said)
out, said = interrupted(signal.SIGHUP, "compare", LINEAR, FIRMER, "--band", *LONG)
expect("INTERRUPTED: too few builds were sampled to tell a difference" in out.replace("\n", " "), f"the curves: {out}")
expect("linear.yaml: interrupted after" in said, said)

refused(2, "40 to 200000", "band", VAN, "--samples", "39")
refused(2, "0 to 1", "band", VAN, "--correlation", "1.2")
refused(2, "whole number", "band", VAN, "--seed", "-1")
refused(2, "unknown option", "curve", VAN, "--samples", "50")
refused(3, "", "band", "no-such-file.yaml")
finish()
