#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds the program as shipped and runs the benchmark, from any folder, on a machine with nothing installed:
#
#     sh tests/bench/run.sh [--json] [solver] [curve] [rate] [decks] [elements]
#
# The build folder is build-bench (KP_BUILD_DIR-bench where that is set). Only the benchmark writes to stdout.
set -eu
top=$(cd "$(dirname "$0")/../.." && pwd)
build=${KP_BUILD_DIR:-$top/build}-bench
sh "$top/tests/install.sh" gcc libc6-dev binutils meson ninja-build pkg-config libgsl-dev libyaml-dev \
    libcjson-dev libcriterion-dev valgrind calculix-ccx >&2
[ -f "$build/build.ninja" ] || CC=gcc meson setup "$build" "$top" >&2
ninja -C "$build" tests/bench/bench src/kneepoint >&2
exec "$build/tests/bench/bench" "$@"
