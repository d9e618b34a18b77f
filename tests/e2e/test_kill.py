#!/usr/bin/env python3
"""kill -9 at random moments: the station always comes back in the right step, asks only for what was not yet accepted,
and nothing is lost or doubled.   usage: test_kill.py [KILLS] [SEED]"""
import json
import os
import random
import subprocess
import sys
import tempfile
from decimal import Decimal

from client import Operator, Station, bench_and_fine, run, scale_arguments

PROGRAM = os.environ.get("TARELINE", "build/tareline")


class Killer:
    """Kills at a random event, sometimes a moment after it, so that commits are cut in the middle too."""

    def __init__(self, chance, rng, budget):
        self.chance, self.rng, self.budget = chance, rng, budget
        self.kills = 0
        self.ended = False  # a kill came between the batch's last entry and its being said

    def __call__(self, event):
        if event["event"] == "hello" and event["last"]["state"] == "complete":
            self.ended = True
            return True
        if event["event"] in ("hello", "end") or self.kills >= self.budget:
            return False
        if self.rng.random() >= self.chance:
            return False
        self.kills += 1
        return True


def export(journal):
    out = subprocess.run([PROGRAM, "records", "export", "--json", "--journal", journal], check=True, capture_output=True)
    return [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in out.stdout.splitlines()]


def one_batch(folder, number, scales, rng, budget):
    journal = os.path.join(folder, "journal-%d.db" % number)
    args = ["smoked-bratwurst", "--station", "smokehouse", "--journal", journal] + scale_arguments(scales)
    operator = Operator(scales, {"pork-shoulder": ["9000", "5000"], "pork-belly": ["6000"]})
    killer = Killer(0.25, rng, budget)
    said = []  # recorded and noted lines that a person has seen
    while True:
        station = Station(PROGRAM, args)
        code = run(station, operator, killer)
        kept = [e for e in station.events if e["event"] in ("recorded", "noted")]
        said += kept
        if code is not None:
            assert code == 0, (code, station.errors, station.events[-4:])
            break
        if rng.random() < 0.5:
            rng_sleep(rng)
        station.kill()
        if killer.ended:
            break
        take_late_lines(station, operator, said)
    check(journal, said)
    return killer.kills


def rng_sleep(rng):
    import time
    time.sleep(rng.random() * 0.02)


def take_late_lines(station, operator, said):
    """Lines that were written before the kill but read after it."""
    while True:
        event = station.lines.get(timeout=5)
        if event is None:
            return
        if event["event"] == "recorded":
            operator.on_recorded(event)
        if event["event"] in ("recorded", "noted"):
            said.append(event)


def check(journal, said):
    rows = export(journal)
    assert [int(r["seq"]) for r in rows] == list(range(1, len(rows) + 1)), "numbers"
    weighed = [r for r in rows if r["kind"] == "weighed"]
    items = [int(r["item"]) for r in weighed]
    assert len(items) == len(set(items)), "an item was weighed twice: %r" % items
    on_disk = {int(r["seq"]): r for r in weighed}
    for event in said:
        if event["event"] == "recorded":
            assert int(event["seq"]) in on_disk, "said to be recorded, but lost: %r" % event
            assert on_disk[int(event["seq"])]["actual_g"] == event["actual_g"]
    meat = sum(r["actual_g"] for r in weighed if r["ingredient"].startswith("pork"))
    assert meat == 20000, "meat: %s" % meat
    count = {}
    for r in weighed:
        count[r["ingredient"]] = count.get(r["ingredient"], 0) + 1
        if r["target_g"] is not None:
            assert r["low_g"] <= r["actual_g"] <= r["high_g"], r
    assert count == {"pork-shoulder": 2, "pork-belly": 1, "curing-salt": 1, "salt": 1, "seasoning": 1, "ice-water": 1,
                     "dried-cranberry": 1, "toasted-hazelnut": 1, "mountain-cheese": 1}, count
    for kind, wanted in (("added", 4), ("instructed", 2), ("checked", 1), ("basis", 1), ("started", 1)):
        got = sum(1 for r in rows if r["kind"] == kind)
        assert got == wanted, (kind, got)
    subprocess.run([PROGRAM, "records", "verify", "--journal", journal], check=True, capture_output=True)


def main():
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else random.randrange(1 << 30)
    print("seed %d" % seed, flush=True)
    rng = random.Random(seed)
    scales = bench_and_fine()
    kills = number = 0
    with tempfile.TemporaryDirectory() as folder:
        while kills < wanted:
            kills += one_batch(folder, number, scales, rng, wanted - kills)
            number += 1
    print("%d kills over %d batches: every one resumed at the right step, nothing lost or doubled" % (kills, number))


if __name__ == "__main__":
    sys.exit(main())
