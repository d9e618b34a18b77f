#!/usr/bin/env python3
"""A yes while the weight rests in its band but is not settled yet, over a tty at whose other end the pretend scale stands: it waits
and is recorded without another question; it is taken back when the weight moves; on the full screen one Enter does."""
import contextlib
import json
import os
import subprocess
import time
from decimal import Decimal

from client import Station
from terminal import Terminal, wait_for
from test_cue_seen import CUP, HIGH, PROGRAM, TARGET, Pretend, in_folders, weigh


class Client:
    """Hears the readings as well."""

    def __init__(self, folder, scale):
        command = weigh(folder, scale, "--capture", folder + "/capture")
        self.capture = folder + "/capture"
        self.station, self.seen = Station(command[0], command[2:] + ["--readings"]), []

    def until(self, kind, **keys):
        end = time.monotonic() + 25
        while True:
            e = self.station.next(25)
            assert e is not None and time.monotonic() < end, (kind, keys, self.station.errors, self.seen[-5:])
            self.seen.append(e)
            if e["event"] == kind and all(e.get(k) == v for k, v in keys.items()):
                return e

    def same_again(self):
        """Ended, and run again from its capture: the same words at the same lines, the same journal."""
        self.station.process.terminate()
        self.until("end")
        self.station.wait()
        again = subprocess.run([PROGRAM, "weigh", "--replay", self.capture, "--json", "--readings"], capture_output=True)
        lines = [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in again.stdout.splitlines()]
        assert lines == self.station.events, (again.stderr, lines[-3:], self.station.events[-3:])

    def fill(self, scale):
        self.until("prompt", ask="container")
        scale.do("put %d g" % CUP)
        fill = self.until("prompt", ask="fill")
        scale.do("put %d g" % TARGET)
        moving = self.until("reading", rests=True)
        assert moving["state"] == "moving" and float(moving["net_g"]) == TARGET, moving
        del self.seen[:]
        self.station.answer(fill, "yes")
        return fill


@contextlib.contextmanager
def said_yes(folder):
    """At the filling, the yes just said."""
    scale = Pretend(folder, "status-basis-kg")
    client = Client(folder, scale)
    try:
        yield scale, client, client.fill(scale)
    finally:
        client.station.kill()
        scale.end()


def waits(folder):
    with said_yes(folder) as (_, client, _):
        recorded = client.until("recorded")
        assert recorded["verdict"] == "in" and float(recorded["actual_g"]) == TARGET, recorded
        kinds = [e["event"] for e in client.seen]
        assert "prompt" not in kinds and "refused" not in kinds, client.seen
        assert [e["state"] for e in client.seen if e["event"] == "reading"].count("moving") > 1, client.seen
        client.same_again()


def taken_back(folder):
    with said_yes(folder) as (scale, client, fill):
        scale.do("put 4 g")
        refused = client.until("refused")
        assert refused["code"] == "moving" and refused["to"] == fill["n"], refused
        client.station.answer(client.until("prompt", ask="confirm"), "yes")
        assert float(client.until("recorded")["actual_g"]) == TARGET + 4 <= HIGH
        client.same_again()


def unplugged(folder):
    """The screen shows the newest of what is said: that the scale is gone, not that the weight was still moving."""
    with said_yes(folder) as (scale, client, fill):
        client.until("reading")
        client.until("reading")  # the yes has been heard by now
        scale.do("unplug")
        client.until("notice", code="unplugged")
        refused = [e for e in client.seen if e["event"] == "refused"]
        assert [(e["code"], e["to"]) for e in refused] == [("moving", fill["n"])], client.seen
        assert not any(e["event"] == "recorded" for e in client.seen), client.seen


def screen(folder, cols, rows):
    scale = Pretend(folder, "status-basis-kg")
    terminal = Terminal(cols, rows, " ".join(weigh(folder, scale)))
    try:
        wait_for(terminal, lambda p: "Put the empty cup" in "\n".join(p))
        scale.do("put %d g" % CUP)
        page = "\n".join(wait_for(terminal, lambda p: "Put in Salt" in "\n".join(p)))
        assert "Enter" not in page, page
        scale.do("put %d g" % TARGET)
        wait_for(terminal, lambda p: "Enter accept" in "\n".join(p))
        time.sleep(0.25)  # nobody reads and presses faster
        terminal.press("\r")
        page = "\n".join(wait_for(terminal, lambda p: "Enter" not in "\n".join(p) or "Meat block" in "\n".join(p), 5))
        assert "too early" not in page, page
        wait_for(terminal, lambda p: "Take everything off" in "\n".join(p) or "Meat block" in "\n".join(p), 5)
    finally:
        terminal.close()
        scale.end()


def main():
    rows = [waits, taken_back, unplugged, lambda f: screen(f, 80, 24), lambda f: screen(f, 120, 40)]
    in_folders(rows, 3)
    print("early yes: ok")


if __name__ == "__main__":
    main()
