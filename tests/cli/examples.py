#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The example dampers in stacks/ tell the story that the README tells of them, and can be driven. Prints their figures.

    examples.py PROGRAM

Damping is the force of oil and friction, gas left out. The limits are those of a loaded van by the judgement of this
project; no measured damper stands behind them.
"""
from program import SOURCE, document, expect, finish

SPEEDS = (0.05, 0.1, 0.26, 0.5, 0.75, 1.05)    # [m/s]
DIRECTIONS = ("compression", "rebound")
TOP_DAMPING = {"compression": (1000.0, 4500.0), "rebound": (2000.0, 4500.0)}    # [N] at 1.05 m/s
LEAST_MARGIN = 3e5    # [Pa]
PAIRS = {"van-rear-linear": "van-rear-linear-firmer", "van-rear-digressive": "van-rear-digressive-firmer"}
NAMES = (*PAIRS, *PAIRS.values(), "van-rear-digressive-comfort", "van-rear-reservoir", "trail-ambulance-inch")


class Figures:
    """What is asserted of one direction of one damper; damping in newtons at each of SPEEDS."""

    def __init__(self, answer, direction):
        columns, summary = answer["columns"], answer["summary"][direction]
        rows = [row for row, word in enumerate(columns["direction"]) if word == direction]

        def column(name):
            return dict(zip(SPEEDS, (columns[name][row] for row in rows)))

        self.damping = {speed: abs(force) for speed, force in column("damping_force_N").items()}
        self.share = self.damping[0.1] / self.damping[0.5]
        self.fatigue = max(use for speed, use in column("fatigue_use").items() if speed <= 0.5)
        self.sound = all(column("sound").values()) and summary["sound"]
        self.margin = min(column("cavitation_margin_Pa").values())
        self.knee = summary["knee_speed_m_s"]
        self.index = summary["shape_index"]
        self.shape = summary["shape"]


def read(name):
    answer = document("curve", SOURCE / "stacks" / f"{name}.yaml", "--speeds", ",".join(map(str, SPEEDS)))
    return {direction: Figures(answer, direction) for direction in DIRECTIONS}


def show(name, direction, got):
    forces = " ".join(f"{force:6.0f}" for force in got.damping.values())
    knee = f"{got.knee:5.3f}" if got.knee else "  -  "
    print(f"{name:28} {direction:11} {forces}  {100 * got.share:4.0f}  {knee}  {got.index:4.2f}  {got.fatigue:4.2f} "
          f"{got.margin / 1e5:6.1f}")


def check_sound(name, direction, got):
    """No shim past its yield and no lost margin up to 1.05 m/s, no shim past the fatigue line up to 0.5 m/s."""
    here = f"{name}, {direction}"
    expect(got.sound, f"{here}: not sound up to 1.05 m/s")
    expect(got.fatigue <= 1, f"{here}: fatigue use {got.fatigue:.2f} at or below 0.5 m/s")
    expect(got.margin > LEAST_MARGIN, f"{here}: margin {got.margin:.0f} Pa")


def check_van(name, direction, got):
    low, high = TOP_DAMPING[direction]
    expect(low <= got.damping[1.05] <= high, f"{name}, {direction}: {got.damping[1.05]:.0f} N at 1.05 m/s")


def check_shapes(linear, digressive, direction):
    expect(digressive.share >= 0.6, f"digressive, {direction}: {digressive.share:.3f} of 0.50 m/s at 0.10 m/s")
    expect(digressive.shape == "digressive", f"digressive, {direction}: called {digressive.shape}")
    expect(digressive.knee is not None and 0.08 <= digressive.knee <= 0.15,
           f"digressive, {direction}: knee {digressive.knee}")
    expect(linear.share <= 0.35, f"linear, {direction}: {linear.share:.3f} of 0.50 m/s at 0.10 m/s")
    expect(linear.knee is None, f"linear, {direction}: knee {linear.knee}")
    both = (linear.damping[0.26], digressive.damping[0.26])
    expect(max(both) <= 1.05 * min(both), f"{direction} at 0.26 m/s: {both}")


def check_softer(name, soft, firm, direction):
    """Softer by no more than half and nowhere firmer; gives the largest change, negative where softer."""
    changes = [soft.damping[speed] / firm.damping[speed] - 1 for speed in SPEEDS]
    expect(-0.5 <= min(changes) and max(changes) <= 0.001,
           f"{name}, {direction}: " + " ".join(f"{100 * change:+.1f} %" for change in changes))
    return min(changes)


print(f"{'damping [N] at m/s':40} " + " ".join(f"{speed:6.2f}" for speed in SPEEDS) +
      "  0.1/0.5 [%], knee [m/s], index, fatigue to 0.5 m/s, margin [bar]")
figures = {name: read(name) for name in NAMES}
for name, both in figures.items():
    for direction, got in both.items():
        show(name, direction, got)
        check_sound(name, direction, got)
        if name in PAIRS or name in PAIRS.values():
            check_van(name, direction, got)

for direction in DIRECTIONS:
    check_shapes(*(figures[name][direction] for name in PAIRS), direction)
    comfort = check_softer("comfort", figures["van-rear-digressive-comfort"][direction],
                           figures["van-rear-digressive"][direction], direction)
    expect(comfort <= -0.15, f"comfort, {direction}: {100 * comfort:+.1f} % at most")

for name, trial in PAIRS.items():
    softer = [check_softer(trial, figures[name][direction], figures[trial][direction], direction)
              for direction in DIRECTIONS]
    expect(min(softer) <= -0.05, f"{trial}: firmer by less than 5 % at every speed in both directions")
finish()
