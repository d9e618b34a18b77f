#!/bin/bash
# The demonstration without a terminal: complete within 90 s, poured over once on purpose and caught, record and journal right.
build=${BUILD:-build}
out=$build/demo.out
bad=0
is() { # WHAT COUNT PATTERN
    local n
    n=$(grep -cE "$3" "$out")
    [ "$n" = "$2" ] || { echo "$1: $n lines instead of $2 match $3"; bad=1; }
}

from=$SECONDS
tests/e2e/demo/demo.sh >"$out" </dev/null || { echo "exit code $?"; tail -20 "$out"; exit 1; }
took=$((SECONDS - from))
[ "$took" -le 90 ] || { echo "took $took s, more than 90"; bad=1; }
is "poured over on purpose" 1 'pours too much, on purpose'
is "nothing went wrong at a scale" 0 'scale: error|refused (word|value|closed)'
is "ten weighings" 10 '^ *[0-9.]+ s  recorded item .* \| in \|.* live '
is "seven steps" 7 '^ *[0-9.]+ s  noted (add|instruction|check) '
is "the record" 1 '^State +complete$'
is "the record's over-weigh" 1 'Toasted hazelnuts.* above its band, caught'
grep -qE 's  prompt @[0-9]+ over \|.*Toasted hazelnuts.*Take out' "$out" || { echo "the over-weigh was not caught"; bad=1; }
"$build/tareline" records verify --journal "$build/demo/journal.db" || bad=1
exit $bad
