#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares two runs of the benchmark:

    compare.py OLD.json NEW.json

Each number is new over old. Instructions can be compared between builds on any machine, yardsticks (time over that of a
fixed kernel) between machines or under different load, and seconds only under the same load.
"""
import json
import sys

SHOWN = [("instructions", "instructions"), ("yardsticks", "yardsticks"), ("seconds", "seconds"),
         ("processor_seconds", "processor s"), ("peak_memory_bytes", "peak memory"), ("solves", "solves"),
         ("newton_steps", "Newton steps"), ("stacks_a_second_undisturbed", "stacks/s")]


def current(name):
    """The name in use now; older runs called coarse tables screened."""
    return name.replace("screened", "coarse")


def rows(run):
    """(sheet, case) -> numbers"""
    return {(current(sheet), current(row["case"])): row for sheet, content in run.items() if isinstance(content, list)
            for row in content}


def ratio(old, new, key):
    before, after = old.get(key), new.get(key)
    return f"{after / before:.3f}" if before and after is not None else "-"


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    old, new = (rows(json.load(open(path, encoding="utf-8"))) for path in sys.argv[1:])
    print(f"{'new / old':52s}" + "".join(f"{heading:>14s}" for _, heading in SHOWN))
    for name in [name for name in old if name in new]:
        if not any(ratio(old[name], new[name], key) != "-" for key, _ in SHOWN):
            continue
        print(f"{name[0] + ': ' + name[1]:52.52s}" + "".join(f"{ratio(old[name], new[name], key):>14s}"
                                                             for key, _ in SHOWN))
    for sheet, case in [name for name in old if name in new and name[0] == "growth"]:
        print(f"{sheet}: {case}: " + ", ".join(f"{key.replace('_', ' ')} {before:.3f} -> {new[sheet, case][key]:.3f}"
                                              for key, before in old[sheet, case].items() if key != "case"))
    for name in sorted(old.keys() ^ new.keys()):
        print(f"only in {'the old' if name in old else 'the new'}: {name[0]}: {name[1]}")


main()
