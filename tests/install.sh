#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs the named Debian packages that are missing: sh tests/install.sh gcc meson ...
# Needs root or sudo only when something is missing. On other systems it prints what to install by hand.
set -eu

if ! command -v dpkg-query >/dev/null 2>&1 || ! command -v apt-get >/dev/null 2>&1; then
    echo "This is no Debian system. Should the build miss something, install what these packages hold: $*" >&2
    exit 0
fi

missing=
for package in "$@"; do
    case $(dpkg-query -W -f='${Status}' "$package" 2>/dev/null || true) in
    *" installed") ;;
    *) missing="$missing $package" ;;
    esac
done
[ -n "$missing" ] || exit 0

if [ "$(id -u)" -eq 0 ]; then
    as_root=
elif command -v sudo >/dev/null 2>&1; then
    as_root=sudo
else
    echo "These packages are missing and there is neither root nor sudo to install them:$missing" >&2
    exit 5
fi

echo "Installing:$missing" >&2
log=$(mktemp)
trap 'rm -f "$log"' EXIT
# shellcheck disable=SC2086 # a list of words on purpose
if ! { $as_root apt-get -q update && $as_root env DEBIAN_FRONTEND=noninteractive apt-get -q install -y --no-install-recommends $missing; } >"$log" 2>&1; then
    tail -n 30 "$log" >&2
    echo "The packages could not be installed:$missing" >&2
    exit 5
fi
