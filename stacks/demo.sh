#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# From nothing to a compared, plotted damping curve: installs what is missing, builds kneepoint, compares the linear
# and the digressive piston of the rescue van, and leaves the plots where the last lines say.
#
#     sh stacks/demo.sh
#
# Everything goes into build-demo/ in the source folder or, if that is not writable, into kneepoint-demo/ in the current
# folder.
set -eu
top=$(cd "$(dirname "$0")/.." && pwd)
if [ -w "$top" ]; then
    out=$top/build-demo
else
    out=$(pwd)/kneepoint-demo
fi
mkdir -p "$out"

sh "$top/tests/install.sh" gcc libc6-dev meson ninja-build pkg-config python3 \
    libgsl-dev libyaml-dev libcjson-dev gnuplot-nox

echo "Building in $out/program ..." >&2
unset CFLAGS CPPFLAGS LDFLAGS DESTDIR || true
if ! {
    [ -f "$out/program/build.ninja" ] || CC=gcc meson setup "$out/program" "$top"
    ninja -C "$out/program" src/kneepoint
} >"$out/build.log" 2>&1; then
    tail -n 40 "$out/build.log" >&2
    echo "The build failed; all of its talk is in $out/build.log" >&2
    exit 1
fi
kneepoint=$out/program/src/kneepoint

# picture NAME COMMAND...: runs the command once for the table and the SVG, once for the PNG.
picture() {
    name=$1
    shift
    "$kneepoint" "$@" --plot "$out/$name.svg"
    "$kneepoint" "$@" --plot "$out/$name.png" >/dev/null 2>&1
}

cd "$top"
echo "== Linear against digressive piston"
picture linear-digressive compare stacks/van-rear-linear.yaml stacks/van-rear-digressive.yaml
echo
echo "== The linear piston against its firmer trial"
picture linear-firmer compare stacks/van-rear-linear.yaml stacks/van-rear-linear-firmer.yaml
echo
echo "== The digressive piston against its firmer trial"
picture digressive-firmer compare stacks/van-rear-digressive.yaml stacks/van-rear-digressive-firmer.yaml
echo
echo "== The digressive piston against the one opened up for comfort"
picture digressive-comfort compare stacks/van-rear-digressive.yaml stacks/van-rear-digressive-comfort.yaml
echo
echo "The pictures:"
for name in linear-digressive linear-firmer digressive-firmer digressive-comfort; do
    for kind in svg png; do
        [ -s "$out/$name.$kind" ] || {
            echo "$out/$name.$kind was not drawn" >&2
            exit 1
        }
        echo "  $out/$name.$kind"
    done
done
echo "The program: $kneepoint"
