#!/bin/bash
# core-objects.sh NM OBJECT...: what the objects of src/core lean on. They may call one another, four functions of
# string.h and the compiler's integer helpers; no allocator, stdio, clock or floating-point helper; and they hold no
# writable data.
nm=$1
objdump=${nm%nm}objdump
shift
[ $# -gt 0 ] || { echo "core-objects: no objects"; exit 1; }

# strlen: gcc makes it from a counting loop by itself.
allowed='memcpy|memset|memmove|memcmp|strlen'
# 64-bit multiplication, division, shifts and comparison on a 32-bit machine (ARM run-time ABI, chapter 4), the forms of
# memcpy and memset for aligned data, and the zero-division hook of the division helpers.
allowed+='|__aeabi_(lmul|u?ldivmod|u?idiv|u?idivmod|llsl|llsr|lasr|u?lcmp|mem(cpy|move|set|clr)[48]?|[il]div0)'
# What position-independent code and the stack protector of some gcc builds bring.
allowed+='|_GLOBAL_OFFSET_TABLE_|__stack_chk_fail|__stack_chk_guard'

own=$("$nm" --defined-only -g "$@" | awk 'NF == 3 { print $3 }' | sort -u)
bad=0
while read -r file symbol; do
    [[ $symbol =~ ^($allowed)$ ]] && continue
    grep -qxF "$symbol" <<<"$own" && continue
    echo "${file%:}: core must not use $symbol"
    bad=1
done < <("$nm" -A -u "$@" | awk '{ print $1, $NF }')

# Constant tables of pointers stand in .data.rel.ro when code is position-independent: read-only after loading.
while read -r line; do
    echo "core must hold no writable data: $line"
    bad=1
done < <("$objdump" -t "$@" | awk '
    / file format / { file = $1 }
    $1 ~ /^[0-9a-f]+$/ {
        for (i = 2; i < NF; i++)
            if ($i ~ /^(\.data|\.bss|\.tdata|\.tbss|\*COM\*)/ && $i !~ /^\.data\.rel\.ro/ && $(NF) !~ /^\./ && $(i + 1) !~ /^0+$/)
                print file, $NF, $i
    }')
echo "core-objects: $# objects, $([ $bad = 0 ] && echo clean || echo faults)"
exit $bad
