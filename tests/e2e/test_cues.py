#!/usr/bin/env python3
"""Ease off and stop while filling, on a running station: a hand that pours steadily and obeys, heard through the readings of
--json; none on a scale that is asked too seldom."""
import os
import tempfile
import threading
from decimal import Decimal

from client import Operator, Station, bench_and_fine, run, scale_arguments

PROGRAM = os.environ.get("TARELINE", "build/tareline")


class Pourer(Operator):
    """Pours steadily, lower once it is told to ease off, and lets go two readings after it is told to stop. Each reading
    that is heard pours on: on a busy machine hand and station are slow alike."""

    flow = Decimal(12)  # g from one reading to the next, five a second

    def __init__(self, *args, **more):
        super().__init__(*args, **more)
        self.heard = {}  # ingredient -> cues in order
        self.filling = None  # the prompt
        self.over = []

    def pour_on(self, cue):
        p, scale = self.filling, self.scales[self.filling["scale"]]
        self.left -= cue == "stop" or self.left < 2
        self.eased = self.eased or cue == "ease"
        self.content += self.flow / 6 if self.eased else self.flow
        if self.left == 0 or self.content > p["target_g"] * 2:
            self.filling = None
            if self.content > p["high_g"]:
                self.over.append(p["ingredient"])
            if self.content < p["low_g"]:
                threading.Timer(2, self.put, (p, scale, p["target_g"])).start()
        self.put(p, scale, self.content)

    def put(self, p, scale, content):
        self.cup[p["item"]] = (self.tare, content)
        scale.set(self.tare - content if p["way"] == "bag" else self.tare + content)

    def do_fill(self, station, p):
        if p["target_g"] is None or p["ingredient"] not in ("salt", "seasoning"):
            super().do_fill(station, p)
            return
        assert p["cues"] is True, p
        if p["ingredient"] in self.heard:
            return  # asked again, after too little of it
        self.tare, _ = self.cup.setdefault(p["item"], (self.scales[p["scale"]].load, Decimal(0)))
        self.content, self.left, self.eased = Decimal(0), 2, False
        self.heard[p["ingredient"]] = []
        self.filling = p

    def hear(self, e):
        if not self.filling or e["scale"] != self.filling["scale"]:
            return
        heard = self.heard[self.filling["ingredient"]]
        if e["cue"] and heard[-1:] != [e["cue"]]:
            heard.append(e["cue"])
        self.pour_on(e["cue"])


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
