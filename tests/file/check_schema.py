#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The shipped JSON Schema is the one the key table makes; every file in stacks/ is valid by it; what the program's reader
refuses as to keys and units, the schema refuses too.

    check_schema.py PRINT_SCHEMA TOP

YAML is read with every scalar as a string, as the program reads it. Exit status 77 (skipped) without the two modules."""
import copy
import json
import pathlib
import subprocess
import sys

try:
    import jsonschema
    import yaml
except ImportError as missing:
    print(f"skipped: {missing} (Debian: python3-yaml, python3-jsonschema)")
    sys.exit(77)

printer, top = sys.argv[1], pathlib.Path(sys.argv[2])
failures = []


def expect(truth, what):
    if not truth:
        failures.append(what)


def read(path):
    return yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)


printed = subprocess.run([printer], check=True, capture_output=True).stdout.decode("utf-8")
shipped = (top / "stacks/kneepoint.schema.json").read_text(encoding="utf-8")
expect(printed == shipped, "stacks/kneepoint.schema.json is not what print_schema prints: print it anew")

schema = json.loads(shipped)
jsonschema.Draft7Validator.check_schema(schema)
validator = jsonschema.Draft7Validator(schema)

files = sorted((top / "stacks").glob("*.yaml"))
expect(len(files) >= 5, f"only {len(files)} files in stacks/")
for path in files:
    for error in validator.iter_errors(read(path)):
        failures.append(f"{path.name}: {'.'.join(map(str, error.absolute_path))}: {error.message[:200]}")

# Changed copies of a whole file: (path, value), None takes the key away.
whole = read(top / "stacks/van-rear-digressive.yaml")
GOOD = [
    (("friction",), None),
    (("friction",), "none"),
    (("piston", "compression", "stop"), {"outside": "40 mm", "gap": "1.5 mm"}),
    (("piston", "compression", "backing"), {"profile": [{"diameter": "16 mm", "gap": "0 mm"},
                                                        {"diameter": "20 mm", "gap": "0.3 mm"}]}),
    (("piston", "compression", "clamp"), {"washer": "16 mm", "grip": "sliding", "hole": "12 mm", "nut load": "9 kN",
                                          "friction": "0.1"}),
    (("piston", "compression", "stack", 0), "3 of 40 x 0.20 mm, hole 12 mm, slots 4 x 2 mm, material bronze"),
    (("materials",), {"bronze": {"young": "110 GPa", "poisson": "0.34", "yield": "500 MPa"}}),
    (("piston", "bleed"), []),
    (("piston", "compression", "stack", 0), "40 x 0.20 mm"),
    (("piston", "compression", "stack", 0), '2 of 1-1/2" x 0.008"'),
    (("piston", "compression", "stack", 0), "2 OF 40 mm +/- 0.1 mm \u00d7 0.20 MM"),
    (("oil", "viscosity"), "15 cSt at 40 degC"),
    (("piston", "compression", "port", "area"), "6 x 8 mm"),
    (("piston", "compression", "land"), {"inner": "33 mm"}),
    (("body", "bore"), "1-7/8 in"),
    (("body", "bore"), '2.5"'),
    (("gas", "charge"), "200 psig at 68 F"),
    (("oil", "viscosity"), {"40 C": "15 cSt", "212 F": "3.8 cSt"}),
    (("gas",), "open"),
    (("base valve",), {"bore": "40 mm", "return check": {"seat": "14 mm", "preload": "2 N", "rate": "1 N/mm",
                                                         "lift": "2 mm"}}),
    (("position",), "125 mm"),
    (("gas", "exponent"), "1.2"),
    (("piston", "compression", "load coverage"), "0.8"),
    (("piston", "compression", "port"), {"area": "240 mm2", "inner": "20 mm", "ports": "4", "share": "60 %"}),
    (("piston", "compression", "flatness"), "0.01 mm"),
    (("piston", "bleed", 0, "flows"), "rebound"),
]
BAD = [
    (("body", "bor"), "63.5 mm"),
    (("body", "bore"), "63.5"),
    (("body", "bore"), "mm"),
    (("body", "bore"), None),
    (("gas", "charge"), "14 bar"),
    (("format",), "2"),
    (("format",), None),
    (("piston", "compression", "stack"), "3 of 40 x 0.20 mm"),
    (("piston", "compression", "stack", 0), "12 x 40 x 0.20"),
    (("piston", "compression", "stack", 0), "40 x 0.20"),
    (("piston", "compression", "stack"), ["1 of 40 x 0.2 mm"] * 65),
    (("piston", "compression", "clamp", "grip"), "loose"),
    (("piston", "compression", "clamp", "hole"), "12"),
    (("piston", "compression", "backing"), {"profile": [{"diameter": "16 mm"}]}),
    (("materials",), {"bronze": {"young": "110", "poisson": "0.34", "yield": "500 MPa"}}),
    (("materials",), {"bronze": {"young": "110 GPa", "poisson": "0.34"}}),
    (("piston", "bleed", 0, "ports"), "four"),
    (("piston", "bleed", 0, "diameter"), None),
    (("piston", "bleed", 0, "flows"), "sideways"),
    (("piston", "compression", "port", "ports"), "four"),
    (("piston", "compression", "port", "share"), "sixty"),
    (("piston", "compression", "flatness"), "0.01"),
    (("base valve",), "1"),
    (("gas",), "shut"),
    (("oil", "viscosity"), "15 mm2/s"),
    (("piston", "rebound"), None),
]


def changed(path, value):
    document = copy.deepcopy(whole)
    node = document
    for step in path[:-1]:
        node = node[step]
    if value is None:
        del node[path[-1]]
    else:
        node[path[-1]] = value
    return document


for path, value in GOOD:
    expect(validator.is_valid(changed(path, value)), f"refused, but good: {path} = {value}")
for path, value in BAD:
    expect(not validator.is_valid(changed(path, value)), f"accepted, but bad: {path} = {value}")
expect(validator.is_valid({"based on": "x.yaml"}), "a trial needs no key but `based on`")
expect(not validator.is_valid({"format": "1"}), "a whole damper needs its keys")
# Editors read numbers as numbers.
expect(validator.is_valid(changed(("piston", "bleed", 0, "ports"), 4)), "an integer as a count")
expect(validator.is_valid(changed(("gas", "exponent"), 1.2)), "a number as a plain number")

for failure in failures:
    print(failure, file=sys.stderr)
print(f"{len(files)} files, {len(GOOD)} good and {len(BAD)} bad changes, {len(failures)} failures")
sys.exit(1 if failures else 0)
