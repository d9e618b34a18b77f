#!/bin/bash
# check.sh PREFIX: the installed program finds the installed profiles, from a folder where nothing of the tree is near.
set -e
prefix=$(realpath "$1")
cd /
unset TARELINE_PROFILES
"$prefix/bin/tareline" --help >/dev/null
for formula in "$prefix"/share/tareline/formulas/*.ini; do
    name=$(basename "$formula" .ini)
    echo "$name"
    "$prefix/bin/tareline" plan "$name" --meat 10kg >/dev/null
    "$prefix/bin/tareline" check "$formula"
done
for kind in scales limits stations; do
    ls "$prefix/share/tareline/$kind"/*.ini
done
test -s "$prefix/share/doc/tareline/README.md"
test -s "$prefix/share/doc/tareline/LICENSE"
# what the installed pages point to is there
cd "$prefix/share/doc/tareline"
for page in *.md docs/*.md; do
    for to in $(grep -o '](\([a-zA-Z][^):]*\.[a-z]*\)' "$page" | sed 's/](//'); do
        [ -e "$(dirname "$page")/$to" ] || { echo "$page points to $to, which is not installed"; exit 1; }
    done
done
# nothing is installed that only the tests need, and nothing but the program may be run
[ "$(find "$prefix" -type f -perm /111)" = "$prefix/bin/tareline" ]
