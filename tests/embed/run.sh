#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Programs built against the installed library, as an embedder would: sh tests/embed/run.sh BUILD_FOLDER
# Installs the build into a scratch folder, compiles each program with what pkg-config says of it, and runs it.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
stacks=$here/../../stacks
build=$1
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

DESTDIR=$scratch/root meson install -C "$build" --no-rebuild >"$scratch/install.log" 2>&1 || {
    cat "$scratch/install.log" >&2
    exit 1
}
pc=$(find "$scratch/root" -name kneepoint.pc)
library=$(dirname "$(find "$scratch/root" -name 'libkneepoint.so')")
export PKG_CONFIG_SYSROOT_DIR="$scratch/root" PKG_CONFIG_PATH="${pc%/*}" LD_LIBRARY_PATH="$library"
flags=$(pkg-config --cflags --libs kneepoint)
gsl_flags=$(pkg-config --cflags --libs gsl)

# shellcheck disable=SC2086 # flags are words
{
    cc -std=c17 -Wall -Wextra -Wpedantic -Werror "$here/print_curve.c" $flags -o "$scratch/print_curve"
    cc -std=c17 -Wall -Wextra -Wpedantic -Werror "$here/host_handler.c" $flags $gsl_flags -lm \
        -o "$scratch/host_handler"
    c++ -std=c++17 -Wall -Wextra -Wpedantic -Werror "$here/compare.cpp" $flags -o "$scratch/compare"
}

failed=0
# expect WORDS PROGRAM ARGUMENT...: the program ends well and prints the words.
expect() {
    words=$1
    shift
    if "$@" >"$scratch/out" 2>&1 && grep -q "$words" "$scratch/out"; then
        echo "ok: $(basename "$1")"
    else
        echo "FAILED: $*: no line with '$words' in:" >&2
        cat "$scratch/out" >&2
        failed=1
    fi
}

expect '^+0.50 m/s' "$scratch/print_curve" "$stacks/van-rear-digressive.yaml"
expect 'added above shim 4' "$scratch/compare" "$stacks/van-rear-linear.yaml" "$stacks/van-rear-linear-firmer.yaml"
expect 'handler kept, called 0 times' "$scratch/host_handler" "$stacks/van-rear-linear.yaml"
if "$scratch/print_curve" "$scratch/missing.yaml" >"$scratch/out" 2>&1; then
    echo "FAILED: a missing file is no error" >&2
    failed=1
fi
exit $failed
