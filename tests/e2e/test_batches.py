#!/usr/bin/env python3
"""Several batches of one command, of which one is interrupted: the count goes on where it was."""
import os
import subprocess
import tempfile

from client import Operator, Station, bench_and_fine, run

PROGRAM = os.environ.get("TARELINE", "build/tareline")


def go_on_counting(folder, scales):
    """The second of two is killed. The same command makes no third one, replayed or not; another figure is another wish."""
    def interrupted(name, number, asked):
        args = ["tests/bench/one-lug.ini", "--meat", "12kg", "--journal", "%s/%s.db" % (folder, name), "--scale",
                "bench=status-basis-kg@%s,capacity=15kg,division=5g,class=III" % scales["bench"].path]
        hand = Operator(scales)
        for s in scales.values():
            s.set(0)
        done = 0

        def second(e):
            nonlocal done
            done += e["event"] == "state" and e["state"] == "complete"
            return done == number - 1 and e["event"] == "noted" and e["ask"] == "confirm"
        first = Station(PROGRAM, args + ["--batches", "2"])
        assert run(first, hand, stop_after=second) is None
        first.kill()
        capture = "%s/%s.capture" % (folder, name)
        again = Station(PROGRAM, args + ["--batches", asked, "--capture", capture])
        assert run(again, hand) == 0, (again.errors, again.events[-3:])
        hellos = [e for e in again.events if e["event"] == "hello"]
        assert hellos[0]["resumed"] and not any(e["resumed"] for e in hellos[1:])
        replay = subprocess.run([PROGRAM, "weigh", "--replay", capture, "--json"], capture_output=True)
        assert replay.returncode == 0 and replay.stdout.count(b'"event":"hello"') == len(hellos), replay
        return len(hellos)

    assert interrupted("second", 2, "2") == 1
    assert interrupted("first", 1, "2") == 2
    assert interrupted("other", 2, "3") == 3


def main():
    with tempfile.TemporaryDirectory() as folder:
        go_on_counting(folder, bench_and_fine())
    print("a batch of several that was interrupted keeps its number: as many follow as were left")


if __name__ == "__main__":
    main()
