#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Writes the linker's version script of the shared library: what the public headers mark with KP_API is exported, and
# nothing else. Hidden visibility alone leaves the kernels that gcc compiles once for each processor visible.
#
#     sh exports.sh HEADER...
set -eu
echo '{ global:'
cat "$@" | tr '\n' ' ' | sed 's/KP_API /\n&/g' |
    sed -n 's/^KP_API extern [^;]*[ *]\(kp_[a-z0-9_]*\)\(\[[^;]*\)\{0,1\};.*/\1;/p; t
            s/^KP_API [^(]*[ *]\(kp_[a-z0-9_]*\)(.*/\1;/p'
echo 'local: *; };'
