#!/usr/bin/env python3
"""Ease off and stop while filling, on a running station: a hand that pours steadily and obeys, heard through the readings of
--json; none on a scale that is asked too seldom."""
import os
import tempfile
import threading
import time
from decimal import Decimal

from client import Operator, Station, bench_and_fine, run, scale_arguments

PROGRAM = os.environ.get("TARELINE", "build/tareline")


class Pourer(Operator):
    """Pours steadily, lower once it is told to ease off, and lets go a third of a second after it is told to stop."""

    flow = Decimal(60)

    def __init__(self, *args, **more):
        super().__init__(*args, **more)
        self.cue = "none"
        self.heard = {}  # ingredient -> cues in order
        self.now = None
        self.over = []

    def pour(self, p):
        scale, told = self.scales[p["scale"]], None
        tare, _ = self.cup.setdefault(p["item"], (scale.load, Decimal(0)))
        content, flow = Decimal(0), self.flow
        while content < p["target_g"] * 2:
            time.sleep(0.02)
            content += flow / 50
            scale.set(tare - content if p["way"] == "bag" else tare + content)
            cue = self.cue
            if cue == "ease":
                flow = self.flow / 6
            if cue == "stop" and told is None:
                told = time.monotonic()
            if told and time.monotonic() - told > 0.35:
                break
        self.cup[p["item"]] = (tare, content)
        if p["low_g"] <= content <= p["high_g"]:
            return
        if content > p["high_g"]:
            self.over.append(p["ingredient"])
        time.sleep(2)
        self.cup[p["item"]] = (tare, p["target_g"])
        scale.set(tare - p["target_g"] if p["way"] == "bag" else tare + p["target_g"])

    def do_fill(self, station, p):
        if p["target_g"] is None or p["ingredient"] not in ("salt", "seasoning"):
            super().do_fill(station, p)
            return
        assert p["cues"] is True, p
        self.now = p["ingredient"]
        self.heard[self.now] = []
        threading.Thread(target=self.pour, args=(p,), daemon=True).start()

    def do_over(self, station, p):
        pass  # pour() takes it out

    def hear(self, e):
        self.cue = e["cue"] or "none"
        if self.now and e["cue"] and (not self.heard[self.now] or self.heard[self.now][-1] != e["cue"]):
            self.heard[self.now].append(e["cue"])


def json_cues(folder):
    scales = bench_and_fine()
    station = Station(PROGRAM, ["smoked-bratwurst", "--station", "smokehouse", "--journal", folder + "/j.db", "--readings"]
                      + scale_arguments(scales))
    operator = Pourer(scales, {"pork-shoulder": ["9000"], "pork-belly": ["6000"]})

    def listen(e):
        if e["event"] == "reading":
            operator.hear(e)
            assert (e["flow_g"] is None) == (e["lands_g"] is None) == (e["cue"] is None), e
            assert e["net_g"] is not None or e["cue"] is None, e
        return False

    code = run(station, operator, listen)
    assert code == 0, (code, station.errors, station.events[-3:])
    for key in ("salt", "seasoning"):
        heard = operator.heard[key]
        assert "ease" in heard and "stop" in heard and heard.index("ease") < heard.index("stop"), (key, heard)
    assert not operator.over, operator.over
    fills = [e for e in station.events if e["event"] == "prompt" and e["ask"] == "fill"]
    assert all(e["cues"] == (e["target_g"] is not None) for e in fills)


def seldom(folder):
    """The same scale by a profile that asks only each half second: no cue is promised and none told."""
    with open("profiles/scales/asked-comma-g.ini", encoding="utf-8") as f:
        text = f.read()
    lines = ["period = 500 ms" if s.startswith("period") else "silent = 3 s" if s.startswith("silent") else s
             for s in text.splitlines()]
    with open(folder + "/slow.ini", "w", encoding="utf-8") as f:
        f.write("\n".join(lines) + "\n")
    scales = bench_and_fine()
    arguments = [a.replace("asked-comma-g", folder + "/slow.ini") for a in scale_arguments(scales)]
    station = Station(PROGRAM, ["smoked-bratwurst", "--station", "smokehouse", "--journal", folder + "/s.db", "--readings"]
                      + arguments)
    operator = Operator(scales, {"pork-shoulder": ["9000"], "pork-belly": ["6000"]})
    fills = []

    def until(e):
        if e["event"] == "reading":
            assert e["scale"] != "fine" or e["cue"] is None, e
        if e["event"] == "prompt" and e["ask"] == "fill" and e["scale"] == "fine":
            fills.append(e)
        return e["event"] == "recorded" and e["scale"] == "fine"

    run(station, operator, until)
    station.kill()
    assert fills and all(e["cues"] is False for e in fills), fills


def main():
    with tempfile.TemporaryDirectory() as folder:
        json_cues(folder)
        seldom(folder)
    print("cues: ok")


if __name__ == "__main__":
    main()
