#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds every commit of a range with gcc and runs its tests, oldest first:
#
#     sh tests/commits.sh [--build-only] BASE [HEAD]
#
# One line a commit: hash, subject, built or not, how many tests passed and failed, seconds. The commits are checked out
# one after the other in a temporary git worktree and share one build folder, so that each builds only what it changed;
# ccache is used when it is there. --build-only leaves the tests out. Exit status: 0 when every commit builds and no
# test fails, 1 when one does not, 2 for wrong use.
set -eu
top=$(cd "$(dirname "$0")/.." && pwd)
unset CFLAGS CPPFLAGS LDFLAGS DESTDIR ASAN_OPTIONS UBSAN_OPTIONS LSAN_OPTIONS KP_FULL || true

usage() {
    echo "usage: sh tests/commits.sh [--build-only] BASE [HEAD]" >&2
    exit 2
}

tests=yes
base=
head=
for argument in "$@"; do
    case $argument in
    --build-only) tests=no ;;
    -*) usage ;;
    *)
        if [ -z "$base" ]; then
            base=$argument
        elif [ -z "$head" ]; then
            head=$argument
        else
            usage
        fi
        ;;
    esac
done
[ -n "$base" ] || usage
commits=$(git -C "$top" rev-list --reverse --topo-order "$base..${head:-HEAD}" --) || exit 2
if [ -z "$commits" ]; then
    echo "no commits in $base..${head:-HEAD}" >&2
    exit 2
fi

folder=$(mktemp -d "${TMPDIR:-/tmp}/kneepoint-commits-XXXXXX")
tree=$folder/tree
build=$folder/build
clean() {
    git -C "$top" worktree remove --force "$tree" >/dev/null 2>&1 || true
    rm -rf "$folder"
    git -C "$top" worktree prune
}
trap clean EXIT
trap 'exit 130' INT
trap 'exit 143' HUP TERM

compiler=gcc
if command -v ccache >/dev/null 2>&1; then
    compiler="ccache gcc"
    CCACHE_BASEDIR=$folder
    CCACHE_NOHASHDIR=1
    export CCACHE_BASEDIR CCACHE_NOHASHDIR
fi

# The folder of the commit before serves again; when its state stands in the way, a new one does.
build_commit() {
    if [ -f "$build/build.ninja" ] && ninja -C "$build" >"$folder/build.log" 2>&1; then
        return 0
    fi
    rm -rf "$build"
    CC=$compiler meson setup "$build" "$tree" >"$folder/build.log" 2>&1 && ninja -C "$build" >"$folder/build.log" 2>&1
}

test_commit() {
    rm -f "$build/meson-logs/testlog.json"
    meson test -C "$build" --no-rebuild >"$folder/tests.log" 2>&1 || true
    python3 "$top/tests/count.py" "$build" testlog 2>"$folder/failures"
}

git -C "$top" worktree add --detach "$tree" "$base" >/dev/null 2>&1
bad=0
for commit in $commits; do
    began=$(date +%s)
    git -C "$tree" checkout --quiet --force --detach "$commit"
    git -C "$tree" clean -fdxq
    shown=$(git -C "$tree" log -1 --format='%h %s')
    if ! build_commit; then
        bad=$((bad + 1))
        echo "$shown: NOT BUILT, $(($(date +%s) - began)) s"
        tail -n 20 "$folder/build.log" >&2
    elif [ "$tests" = no ]; then
        echo "$shown: built, $(($(date +%s) - began)) s"
    else
        result=$(test_commit)
        [ "${result#* }" = 0 ] || bad=$((bad + 1))
        echo "$shown: built, ${result% *} passed, ${result#* } failed, $(($(date +%s) - began)) s"
        grep '^FAILED' "$folder/failures" >&2 || true
    fi
done
[ "$bad" -eq 0 ]
