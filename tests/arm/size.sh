#!/bin/bash
# size.sh BOARD-ELF WHOLE-ELF CI...: what core costs on a Cortex-M3, and whether that holds its goals. Recursion, an
# indirect call or a frame of unknown size in core fails.
flash_goal=32768 ram_goal=8192 stack_goal=1024
board=$1
whole=$2
shift 2
section() { arm-none-eabi-size -A "$1" | awk -v s="$2" '$1 == s { n = $2 } END { print n + 0 }'; }
symbol() { arm-none-eabi-nm -S --radix=d "$1" | awk -v s="$2" '$4 == s { n = $2 } END { print n + 0 }'; }
# The entry points: every function of core that is not static, and main, which has the board's own frame.
roots=$(arm-none-eabi-nm "$board" | awk '$2 == "T" && $3 !~ /^(reset|fault|mem|__)/ { print $3 }' | paste -sd,)
stack=$("$(dirname "$0")/stack.py" "$whole" arm-none-eabi-objdump "$roots" "$@")
bad=$?
formula=$(symbol "$board" vector_formula)
flash=$(($(section "$board" .text) + $(section "$board" .data) - formula))
data=$(($(section "$board" .data) + $(section "$board" .bss)))
deep=${stack%% *}
ram=$((data + deep))
holds() { [ "$1" -le "$2" ] && echo holds || echo "DOES NOT HOLD"; }
echo "core-arm: Cortex-M3, $CAPS"
echo "  flash  $flash bytes of $flash_goal: $(holds "$flash" $flash_goal)   (beside the formula, $formula bytes; with all of core's functions: $(section "$whole" .text) bytes)"
echo "  RAM    $ram bytes of $ram_goal: $(holds $ram $ram_goal)   (structures $data, of them sequence $(symbol "$board" sequence), items $(symbol "$board" items))"
echo "  stack  $deep bytes of $stack_goal: $(holds "$deep" $stack_goal)"
echo "         ${stack#* }"
[ $bad = 0 ] && [ "$flash" -le $flash_goal ] && [ "$ram" -le $ram_goal ] && [ "$deep" -le $stack_goal ]
