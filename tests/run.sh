#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds everything and runs every test, on a machine with nothing installed, from any folder:
#
#     sh tests/run.sh [--full]
#
# 1. gcc, as shipped: all tests.
# 2. clang with the address and undefined-behaviour sanitizers: all tests again; any finding is a failure.
# 3. The harness itself: programs that fail, leak, overrun or misbehave must be reported as failures.
# --full adds the long runs (KP_FULL=1 in the environment of the tests). The build folders are build-tests/gcc and
# build-tests/clang, or under KP_BUILD_DIR. Ends with "N passed, N failed"; exit status 0 only when nothing failed.
set -eu
top=$(cd "$(dirname "$0")/.." && pwd)
build=${KP_BUILD_DIR:-$top/build-tests}
unset CFLAGS CPPFLAGS LDFLAGS DESTDIR ASAN_OPTIONS UBSAN_OPTIONS LSAN_OPTIONS KP_FULL || true

multiplier=1
case ${1:-} in
'') ;;
--full)
    KP_FULL=1
    export KP_FULL
    multiplier=60
    ;;
*)
    echo "usage: sh tests/run.sh [--full]" >&2
    exit 2
    ;;
esac

# imagemagick and librsvg2-bin read the pictures that the tests draw; libclang-rt-14-dev contains the sanitizers.
sh "$top/tests/install.sh" gcc g++ libc6-dev binutils clang libclang-rt-14-dev meson ninja-build pkg-config python3 \
    libgsl-dev libyaml-dev libcjson-dev libcriterion-dev gnuplot-nox librsvg2-bin imagemagick \
    calculix-ccx python3-yaml python3-jsonschema locales # finite elements; the damper schema; a decimal-comma locale

passed=0
failed=0

# configure_and_build FOLDER COMPILER MESON_OPTIONS...: from scratch when the options have changed.
configure_and_build() {
    folder=$1
    compiler=$2
    shift 2
    mkdir -p "$folder"
    if [ ! -f "$folder/build.ninja" ] || [ "$(cat "$folder/options" 2>/dev/null)" != "$top $compiler $*" ]; then
        rm -rf "$folder"
        CC=$compiler meson setup "$folder" "$top" "$@" >"$build/setup.log" 2>&1 || {
            cat "$build/setup.log" >&2
            return 1
        }
        echo "$top $compiler $*" >"$folder/options"
    fi
    ninja -C "$folder" >"$folder/build.log" 2>&1 || {
        tail -n 60 "$folder/build.log" >&2
        return 1
    }
}

# run_tests FOLDER LOG_NAME MESON_ARGUMENTS...: prints "PASSED FAILED".
run_tests() {
    folder=$1
    log_name=$2
    shift 2
    rm -f "$folder"/sanitizer.log* "$folder/meson-logs/$log_name.json"
    meson test -C "$folder" --no-rebuild --logbase "$log_name" --timeout-multiplier "$multiplier" "$@" \
        >"$folder/$log_name.out" 2>&1 || true
    python3 "$top/tests/count.py" "$folder" "$log_name"
}

add() {
    passed=$((passed + $1))
    failed=$((failed + $2))
}

# run_build LABEL COMPILER "BAD_PROGRAM:PASSED:FAILED ..." MESON_OPTIONS...
run_build() {
    label=$1
    compiler=$2
    programs=$3
    shift 3
    began=$(date +%s)
    if ! configure_and_build "$build/$compiler" "$compiler" "$@"; then
        echo "$label: does not build" >&2
        add 0 1
        return
    fi
    result=$(run_tests "$build/$compiler" testlog)
    # shellcheck disable=SC2086 # two numbers
    add $result
    echo "$label: ${result% *} passed, ${result#* } failed, $(($(date +%s) - began)) s"

    # The harness must be able to fail: each bad program must give exactly these counts.
    for program in $programs; do
        name=${program%%:*}
        counts=${program#*:}
        result=$(run_tests "$build/$compiler" must-fail --suite must-fail "must fail $name" 2>/dev/null) || result=
        if [ -s "$build/$compiler/meson-logs/must-fail.json" ] && [ "$result" = "${counts%:*} ${counts#*:}" ]; then
            add 1 0
        else
            add 0 1
            echo "FAILED $label: the harness counted the bad program '$name' as '$result', not '$counts'" >&2
        fi
    done
    rm -f "$build/$compiler"/sanitizer.log*
}

mkdir -p "$build"
run_build "gcc" gcc "failing:1:2 empty:0:1"
# Criterion passes a program that leaks, and only its log shows the leak; the others fail and leave a log.
run_build "clang with sanitizers" clang "failing:1:2 empty:0:1 leak:1:1 undefined:0:2 overrun:0:2 child:1:1" \
    -Db_sanitize=address,undefined -Db_lundef=false -Dc_args=-fno-sanitize-recover=all -Doptimization=1

echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
