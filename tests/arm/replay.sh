#!/bin/bash
# replay.sh TARGET-ELF HOST-PROGRAM...: core's replay vectors give the same hashes on an emulated Cortex-M3 as on the
# host, built with the same small capacities and with the usual ones.
elf=$1
shift
target=$(timeout 60 qemu-system-arm -machine lm3s6965evb -cpu cortex-m3 -nographic -monitor none -serial none \
    -semihosting-config enable=on,target=native -kernel "$elf" </dev/null 2>&1 | grep -v "^Timer with period zero")
echo "Cortex-M3:"
echo "$target"
[ "$(tail -n 1 <<<"$target")" = end ] || { echo "replay: it didn't come to its end"; exit 1; }
grep -q ' 0 ' <<<"$target" && { echo "replay: a part did nothing"; exit 1; }
[ "$(awk '$1 == "items" { print $2, $3 }' <<<"$target")" = "$(awk '$1 == "resumed" { print $2, $3 }' <<<"$target")" ] ||
    { echo "replay: the records don't lead to the same items"; exit 1; }
for program in "$@"; do
    host=$("$program")
    [ "$host" = "$target" ] && continue
    echo "replay: $program says otherwise:"
    echo "$host"
    exit 1
done
