#!/usr/bin/env python3
"""A client of its own kind completes the smoked bratwurst over --json; what it poured is what the journal says."""
import json
import os
import subprocess
import sys
import tempfile
from decimal import Decimal

from client import Operator, Station, bench_and_fine, run, scale_arguments

PROGRAM = os.environ.get("TARELINE", "build/tareline")


def main():
    scales = bench_and_fine()
    lugs = {"pork-shoulder": ["9000", "5000"], "pork-belly": ["6000"]}
    with tempfile.TemporaryDirectory() as folder:
        journal = os.path.join(folder, "journal.db")
        capture = os.path.join(folder, "run.capture")
        args = ["smoked-bratwurst", "--station", "smokehouse", "--journal", journal, "--capture", capture]
        station = Station(PROGRAM, args + scale_arguments(scales))
        operator = Operator(scales, lugs)
        operator.overpour = {"salt": "12"}
        code = run(station, operator)
        assert code == 0, (code, station.errors, station.events[-3:])
        events = station.events
        check_words(events)
        check_weights(events)
        check_journal(journal, events)
        check_replay(capture, events)
    print("json batch: ok")


def check_words(events):
    assert [int(e["n"]) for e in events] == list(range(1, len(events) + 1)), "line numbers"
    assert all(e["v"] == 1 for e in events)
    assert events[0]["event"] == "hello" and events[0]["resumed"] is False
    assert events[-1]["event"] == "end" and events[-1]["exit"] == 0
    assert events[-2]["event"] == "state" and events[-2]["state"] == "complete"
    assert any(e["event"] == "prompt" and e["ask"] == "over" for e in events), "the over-pour was not caught"


def check_weights(events):
    recorded = [e for e in events if e["event"] == "recorded"]
    meat = sum(e["actual_g"] for e in recorded if e["ingredient"].startswith("pork"))
    assert meat == 20000, meat
    by = {e["ingredient"]: e for e in recorded}
    shares = {"curing-salt": Decimal("0.0025"), "salt": Decimal("0.015"), "seasoning": Decimal(340) / Decimal(11340),
              "dried-cranberry": Decimal("0.1"), "toasted-hazelnut": Decimal("0.1"), "mountain-cheese": Decimal("0.05")}
    for key, share in shares.items():
        r, exact = by[key], meat * share
        division = scales_division(r["scale"])
        assert abs(r["target_g"] - exact) <= division / 2, (key, r["target_g"], exact)
        assert r["low_g"] <= r["actual_g"] <= r["high_g"], r
        assert r["gross_g"] - r["tare_g"] == r["actual_g"], r
        assert r["verdict"] == "in" and r["manner"] == "live"
    # 2.5 g per kg of a 6.25 % cure is 156.25 ppm, exactly the limit (9 CFR 424.21(c): 1/4 oz per 100 lb)
    assert by["curing-salt"]["actual_g"] <= meat / 400, "cure above the limit"
    # 2.5 % of the total: water = 0.025 (block + other additions + water)
    others = meat * (1 + sum(shares.values()))
    water = others * Decimal("0.025") / Decimal("0.975")
    assert abs(by["ice-water"]["target_g"] - water) <= 5, (by["ice-water"]["target_g"], water)


def scales_division(name):
    return Decimal(5) if name == "bench" else Decimal("0.01")


def check_journal(journal, events):
    out = subprocess.run([PROGRAM, "records", "export", "--json", "--journal", journal], check=True, capture_output=True)
    rows = [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in out.stdout.splitlines()]
    assert [int(r["seq"]) for r in rows] == list(range(1, len(rows) + 1))
    weighed = [r for r in rows if r["kind"] == "weighed"]
    said = [e for e in events if e["event"] == "recorded"]
    assert len(weighed) == len(said)
    for row, event in zip(weighed, said):
        for key in ("seq", "item", "ingredient", "lot", "actual_g", "gross_g", "tare_g", "target_g", "verdict"):
            assert row[key] == event[key], (key, row[key], event[key])
    subprocess.run([PROGRAM, "records", "verify", "--journal", journal], check=True, capture_output=True)
    checker = os.path.join(os.path.dirname(os.path.abspath(__file__)), "check_journal.py")
    subprocess.run([sys.executable, checker, journal], check=True, capture_output=True)
    check_shown(journal, said)


def check_shown(journal, said):
    """The batch record counts what was said, and tells of the over-weigh."""
    out = subprocess.run([PROGRAM, "records", "show", "--json", "--journal", journal], check=True, capture_output=True)
    shown = json.loads(out.stdout, parse_float=Decimal, parse_int=Decimal)
    assert shown["state"] == "complete" and [line["seq"] for line in shown["lines"]] == [e["seq"] for e in said]
    assert all(line["added"] for line in shown["lines"]), "what was added has its time"
    assert shown["total_g"] == sum(e["actual_g"] for e in said) and shown["meat_g"] == 20000
    cure = next(e["actual_g"] for e in said if e["ingredient"] == "curing-salt")
    nitrite = shown["substances"][0]
    exact = cure * Decimal("0.0625") / 20000 * 1000000
    assert abs(nitrite["level_ppm"] - exact) <= Decimal("0.005") and nitrite["verdict"] == "in", nitrite
    assert any(h["code"] == "over" and h["kind"] == "notice" for h in shown["happened"]), shown["happened"]


def check_replay(capture, events):
    out = subprocess.run([PROGRAM, "weigh", "--replay", capture, "--json"], capture_output=True)
    assert out.returncode == 0, (out.returncode, out.stderr)
    again = [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in out.stdout.splitlines()]
    assert again == events, "the replay differs"


if __name__ == "__main__":
    sys.exit(main())
