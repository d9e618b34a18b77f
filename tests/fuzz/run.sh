#!/bin/bash
# tests/fuzz/run.sh NAME SECONDS: one fuzz target from its seeds, from the root of the tree. First every seed once, so that
# a broken one is said at once, then by chance.
build=${BUILD:-build}
seeds=tests/fuzz/seeds/${1#fuzz_}
corpus=$build/fuzz/corpus/$1
mkdir -p "$corpus"
options=(-timeout=10 -rss_limit_mb=1024 -max_len=8192 -print_final_stats=1 -artifact_prefix="$build/fuzz/$1-")
[ -f "$seeds.dict" ] && options+=(-dict="$seeds.dict")
folders=("$seeds")
# what it says would fill the log
[ "$1" = fuzz_replay ] && options+=(-close_fd_mask=3)
# our own files are the seeds of their readers
[ "$1" = fuzz_files ] && folders+=(profiles/formulas profiles/scales profiles/stations profiles/limits)
# and the recordings of scales those of their decoder and of a recording's reader
if [ "$1" = fuzz_decode ] || [ "$1" = fuzz_recording ]; then
    tests/fuzz/seeds.py "${1#fuzz_}" "$build/fuzz/seeds/$1" || exit 1
    folders+=("$build/fuzz/seeds/$1")
fi
for folder in "${folders[@]}"; do
    [ -n "$(ls -A "$folder")" ] || { echo "no seeds in $folder"; exit 1; }
done
"$build/fuzz/$1" "${options[@]}" -runs=0 "${folders[@]}" || exit 1
exec "$build/fuzz/$1" "${options[@]}" -max_total_time="$2" "$corpus" "${folders[@]}"
