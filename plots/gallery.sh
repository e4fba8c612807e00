#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Redraws every picture of the README: sh plots/gallery.sh [PROGRAM [FOLDER]]
# PROGRAM: a built kneepoint (default: that of build-demo); FOLDER: where to draw (default: plots/).
set -eu
top=$(cd "$(dirname "$0")/.." && pwd)
kneepoint=${1:-$top/build-demo/program/src/kneepoint}
out=${2:-$top/plots}
out=$(cd "$out" && pwd)
cd "$top"

draw() {
    name=$1
    shift
    "$kneepoint" "$@" --plot "$out/$name" >/dev/null
    echo "$out/$name"
}

draw linear-digressive.svg compare stacks/van-rear-linear.yaml stacks/van-rear-digressive.yaml
draw linear-firmer.svg compare stacks/van-rear-linear.yaml stacks/van-rear-linear-firmer.yaml
draw digressive-curve.svg curve stacks/van-rear-digressive.yaml
draw digressive-lift.svg lift stacks/van-rear-digressive.yaml --direction compression --pressures 0..5bar:41
draw digressive-explain.svg explain stacks/van-rear-digressive.yaml
draw lesson-dish.svg explain stacks/van-rear-digressive.yaml --lesson dish --direction rebound
draw rebound-clicks.svg curve stacks/van-rear-reservoir.yaml --clicks-sweep rebound
draw digressive-band.svg band stacks/van-rear-digressive.yaml
draw stack-stress.svg lift stacks/van-rear-digressive.yaml --stress --pressures 3,5bar
