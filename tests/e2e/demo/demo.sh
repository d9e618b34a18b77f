#!/bin/bash
# make demo: the smokehouse's bratwurst at two pretend scales. On a terminal a person weighs it: the station above, the
# scales' verbs below, in tmux. Without a terminal a simulated operator does, and the batch record is printed.
# The journal is left at $BUILD/demo/journal.db.
set -e -u
build=${BUILD:-build}
folder=$build/demo
journal=$folder/journal.db
tareline=$build/tareline

scale() { # NAME PROFILE CAPACITY DIVISION CONTAINER POUR TAKE
    printf 'The %s scale, %s x %s. Type:\n' "$1" "$3" "$4"
    printf '  put %-10s pour %s\n  take %-9s take all       show\n' "$5" "$6" "$7"
    printf '%s goes back to the station.\n' "${DEMO_BACK:-Ctrl-b 0}"
    exec "$tareline" pretend "$2" --capacity "$3" --division "$4" --link "$folder/$1"
}

station() {
    until [ -e "$folder/bench" ] && [ -e "$folder/fine" ]; do sleep 0.1; done
    code=0
    "$tareline" weigh smoked-bratwurst --station profiles/stations/smokehouse.ini --journal "$journal" \
        --scale "bench=status-basis-kg@$folder/bench,capacity=15kg,division=5g,class=III" \
        --scale "fine=asked-comma-g@$folder/fine,capacity=600g,division=0.01g,class=II" || code=$?
    echo "$code" >"$folder/exit"
    printf '\nEnter ends the demonstration. '
    read -r _ || true
    tmux kill-session
}

person() {
    .ci/deps demo
    local lines columns socket=tareline-demo-$$ me=$0
    read -r lines columns < <(stty size)
    [ "$lines" -ge 24 ] && [ "$columns" -ge 80 ] ||
        { echo "demo: the terminal is ${columns}x$lines; the station needs 80x24" >&2; exit 1; }
    tmx() { env -u TMUX tmux -L "$socket" -f /dev/null "$@"; }
    tmx new-session -d -s demo -x "$columns" -y "$lines" -e "BUILD=$build" "$me station" \; set -g status off \; set -g mouse on
    if [ "$lines" -ge 34 ]; then
        tmx split-window -v -l 9 -t demo:0.0 -e "DEMO_BACK=Ctrl-b and arrow up" "$me bench"
        tmx split-window -h -t demo:0.1 -e "DEMO_BACK=Ctrl-b and arrow up" "$me fine"
        tmx select-pane -t demo:0.1 # so that "down" from the station goes there first
        tmx select-pane -t demo:0.0
        echo "Go from pane to pane with a click, or with Ctrl-b and an arrow key."
    else
        tmx new-window -d -t demo:1 "$me bench"
        tmx new-window -d -t demo:2 "$me fine"
        echo "The terminal is too low to show all three at once (34 rows would do):"
        echo "  Ctrl-b 0   the station"
        echo "  Ctrl-b 1   the bench scale: lay down, pour and take away here"
        echo "  Ctrl-b 2   the fine scale"
    fi
    echo "Sign in with TH. Lots are a letter and four digits, like P1107. Enter begins."
    read -r _
    # the station is interrupted when the terminal is closed, not left behind with the journal
    tmx attach -t demo \; set -t demo destroy-unattached on || true
    "$tareline" records show --journal "$journal" || true
    [ "$(cat "$folder/exit" 2>/dev/null || echo 1)" -le 1 ] # a batch left for later is no fault of the demonstration
    exit
}

case ${1:-} in
bench) scale bench status-basis-kg '15 kg' '5 g' '1.2 kg' '6 kg at 2 kg/s' '50 g' ;;
fine) scale fine asked-comma-g '600 g' '0.01 g' '85 g' '50 g at 8 g/s' '3 g' ;;
station) station ;;
*)
    if [ -t 0 ] && [ -t 1 ]; then # an interrupted batch goes on
        mkdir -p "$folder"
        rm -f "$folder/exit" "$folder/bench" "$folder/fine" # links that outlived their scales name other terminals by now
        person
    fi
    rm -rf "$folder"
    mkdir -p "$folder"
    "$build/demo-operator" "$tareline" "$journal"
    echo
    "$tareline" records show --journal "$journal"
    ;;
esac
