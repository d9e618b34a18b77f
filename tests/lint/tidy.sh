#!/bin/bash
# tidy.sh FILE FLAG...: clang-tidy on one source. What was found clean is remembered by a hash of all that was read
# (comments and macros too, for they count), in a folder that all worktrees of a clone share.
file=$1
shift
cache=$(git rev-parse --git-common-dir 2>/dev/null || echo "${BUILD:-build}")/tidy-cache
key=$({ clang-tidy --version; cat .clang-tidy "$0"; "${CC:-cc}" -E -C -dD "$@" "$file"; } | sha256sum | cut -c1-64)
[ -e "$cache/$key" ] && exit 0
log=$(mktemp)
trap 'rm -f "$log"' EXIT
# The analyzer gives a function up after so many steps; by default it takes twice as many, and twice as long.
nodes=(-Xclang -analyzer-config -Xclang max-nodes=120000)
# its "N warnings generated" are of the systems' headers, and only noise where it finds nothing
clang-tidy --quiet "${nodes[@]/#/--extra-arg=}" "$file" -- "$@" >"$log" 2>&1 || { grep -E -A2 ": (error|warning):" "$log" || cat "$log"; exit 1; }
mkdir -p "$cache" && touch "$cache/$key"
