#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Instructions of one load path and of a whole curve process, counted by valgrind's callgrind: the figure that a busy
# machine does not change. sh tests/bench/callgrind.sh [BUILD_FOLDER]   (built already, without sanitizers)
set -eu
top=$(cd "$(dirname "$0")/../.." && pwd)
build=${1:-$top/build-tests/gcc}
sh "$top/tests/install.sh" valgrind
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

# instructions COMMAND...: prints the count; the command's own output is of no interest.
instructions() {
    valgrind --tool=callgrind --callgrind-out-file="$scratch/callgrind.out" "$@" >/dev/null 2>"$scratch/log" || {
        cat "$scratch/log" >&2
        exit 1
    }
    sed -n 's/^summary: \([0-9]*\).*/\1/p; s/^totals: \([0-9]*\).*/\1/p' "$scratch/callgrind.out" | head -n 1
}

one=$(instructions "$build/tests/bench/bench" --paths 1)
three=$(instructions "$build/tests/bench/bench" --paths 3)
echo "one load path, 24 loads, 8 distinct shims, set-up included: $(((three - one) / 2)) instructions"
for file in van-rear-linear van-rear-digressive; do
    echo "curve stacks/$file.yaml, whole process: $(instructions "$build/src/kneepoint" curve "$top/stacks/$file.yaml" --format csv) instructions"
done
