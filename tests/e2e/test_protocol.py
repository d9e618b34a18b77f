#!/usr/bin/env python3
"""The protocol's rules, one by one, against a running station: early and late answers, rights, pause, hold, stop, abort, typed
weights, lost scales, a full cup back after a restart."""
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from decimal import Decimal

from client import Operator, Station, bench_and_fine, run, scale_arguments

PROGRAM = os.environ.get("TARELINE", "build/tareline")
LUGS = {"pork-shoulder": ["12000"], "pork-belly": ["8000"]}


class Case:
    """A station on the smoked bratwurst, and somebody who works until something happens."""

    def __init__(self, folder, scales, person="102", args=()):
        self.scales, self.journal = scales, folder + "/j.db"
        self.args = ["smoked-bratwurst", "--station", "smokehouse", "--journal", self.journal] + list(args)
        self.person = person
        self.operator = Operator(scales, {k: list(v) for k, v in LUGS.items()}, person=person)
        for s in scales.values():
            s.set(0)
            s.silent = False
        self.start()

    def start(self):
        self.station = Station(PROGRAM, self.args + scale_arguments(self.scales))

    def until(self, ask, ingredient=None):
        """Works as the operator would, up to (not answering) this prompt."""
        while True:
            event = self.station.next()
            assert event is not None, (ask, self.station.errors, self.station.events[-3:])
            if event["event"] == "recorded":
                self.operator.on_recorded(event)
            if event["event"] != "prompt":
                continue
            if event["ask"] == ask and ingredient in (None, event["ingredient"]):
                return event
            self.operator.on_prompt(self.station, event)

    def say(self, line):
        self.station.process.stdin.write(line if isinstance(line, bytes) else (line + "\n").encode())
        self.station.process.stdin.flush()

    def expect(self, kind, timeout=20, **keys):
        """The next event of this kind; its keys must be these."""
        while True:
            event = self.station.next(timeout)
            assert event is not None, (kind, keys, self.station.errors, self.station.events[-5:])
            if event["event"] == kind:
                for k, v in keys.items():
                    assert event.get(k) == v, (kind, keys, event)
                return event

    def end(self, code):
        self.expect("end", exit=code)
        assert self.station.wait() == code

    def export(self):
        out = subprocess.run([PROGRAM, "records", "export", "--json", "--journal", self.journal], check=True,
                             capture_output=True)
        return [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in out.stdout.splitlines()]


def words(case):
    p = case.until("confirm", "pork-shoulder")
    case.say("@%d yes" % (p["n"] - 1))
    case.expect("refused", to=p["n"] - 1, code="closed")
    case.say("perhaps")
    case.expect("refused", to=p["n"], code="word")
    case.say("@%d lot P1111" % p["n"])
    case.expect("refused", to=p["n"], code="word")
    case.say(b"\xff\xfe\n")
    case.expect("refused")
    case.say(b"x" * 5000 + b"\n")
    case.expect("refused")
    case.say("go")
    case.expect("refused", code="word")
    case.say("typed 5 kg")
    case.expect("refused", code="live")
    case.say("yes")  # without a number, well after the prompt
    case.expect("recorded", ingredient="pork-shoulder", actual_g=Decimal(12000))


def early(case):
    """Two answers in one write: the second one can't have seen its prompt."""
    p = case.until("more")
    case.say("@%d no\nlot P1111" % p["n"])
    refused = case.expect("refused", code="early")
    case.say("@%d lot P2222" % refused["to"])
    p = case.until("confirm", "pork-belly")
    case.say("@%d yes" % p["n"])
    case.expect("recorded", ingredient="pork-belly", lot="P2222")


def lot_pattern(case):
    p = case.until("lot")
    for bad in ("lot", "lot 1234", "lot P12345", "lot p\x07"):
        case.say("@%d %s" % (p["n"], bad))
        case.expect("refused", to=p["n"])
    case.say("@%d lot p1234" % p["n"])  # typed small, it is the lot that the scanner calls P1234
    case.expect("prompt", ask="clear")
    p = case.until("confirm")
    case.say("@%d yes" % p["n"])
    case.expect("recorded", lot="P1234")


def moving(case):
    p = case.until("confirm", "salt")
    scale = case.scales[p["scale"]]
    scale.set(scale.load + Decimal("0.02"))
    time.sleep(0.4)  # the scale is asked five times a second
    case.say("@%d yes" % p["n"])
    case.expect("refused", to=p["n"], code="moving")
    time.sleep(2)
    case.say("@%d yes" % p["n"])
    recorded = case.expect("recorded", ingredient="salt")
    tare, content = case.operator.cup[p["item"]]
    assert recorded["actual_g"] == content + Decimal("0.02"), recorded  # the value at the answer, not at the opening


def over(case):
    case.operator.overpour = {"salt": "20"}
    p = case.until("over", "salt")
    assert p["take_g"] == p["net_g"] - p["target_g"] > 0, p  # safely inside, not onto the edge
    assert "keep REASON" in p["answers"]
    case.say("@%d yes" % p["n"])
    case.expect("refused", code="word")
    case.say("@%d keep" % p["n"])
    case.expect("refused", code="value")
    case.say("@%d keep lumps in the bag" % p["n"])
    case.expect("recorded", ingredient="salt", verdict="over", reason="lumps in the bag")


def over_without_right(case):
    case.operator.overpour = {"salt": "20"}
    p = case.until("over", "salt")
    assert p["answers"] == ["discard"], p
    case.say("@%d keep I like it" % p["n"])
    case.expect("refused", code="right")
    case.say("@%d discard" % p["n"])
    case.expect("noted", item=p["item"])
    again = case.until("confirm", "salt")
    assert again["parent"] == p["item"] and again["item"] != p["item"]
    case.say("@%d yes" % again["n"])
    case.expect("recorded", item=again["item"], verdict="in")


def cure_never_above_limit(case):
    case.operator.overpour = {"curing-salt": "0.50"}
    p = case.until("over", "curing-salt")
    assert p["high_g"] == 50 and p["answers"] == ["discard"], p
    case.say("@%d keep the supervisor says so" % p["n"])
    case.expect("refused", code="limit")


def second_lot(case):
    p = case.until("fill", "salt")
    scale = case.scales[p["scale"]]
    tare = scale.load
    scale.set(tare + 100)
    time.sleep(1.5)
    case.say("@%d done" % p["n"])
    u = case.expect("prompt", ask="under")
    assert set(u["answers"]) >= {"lot CODE", "short REASON", "hold"}, u
    case.say("@%d lot P9999" % u["n"])
    first = case.expect("recorded", item=p["item"], actual_g=Decimal(100))
    rest = case.expect("prompt", ask="fill", parent=p["item"])
    assert rest["target_g"] == p["target_g"] - 100
    scale.set(tare + 100 + rest["target_g"])
    c = case.expect("prompt", ask="confirm")
    case.say("@%d yes" % c["n"])
    second = case.expect("recorded", parent=p["item"], actual_g=rest["target_g"])
    assert (first["lot"], second["lot"]) == ("P1234", "P9999")


def pause_and_go(case):
    p = case.until("fill", "salt")
    case.say("pause")
    case.expect("state", state="paused")
    case.say("@%d done" % p["n"])
    case.expect("refused", code="paused")
    case.scales[p["scale"]].set(case.scales[p["scale"]].load + p["target_g"])
    time.sleep(2)
    assert case.station.lines.empty(), "something was said in a pause"
    case.say("go")
    case.expect("state", state="running")
    case.expect("prompt", ask="fill")
    case.expect("prompt", ask="confirm")


def held(case):
    p = case.until("fill", "salt")
    case.scales[p["scale"]].set(case.scales[p["scale"]].load + 50)
    time.sleep(1.5)
    case.say("done")
    case.expect("prompt", ask="under")
    case.say("hold")
    case.expect("state", state="held")
    case.end(1)
    case.start()  # the same person may not release it
    hello = case.expect("hello")
    assert hello["resumed"] is True
    p = case.until("resume")
    assert p["answers"] == [], p
    case.say("yes")
    case.expect("refused", code="right")
    case.say("person IF")
    p = case.until("resume")
    assert p["answers"] == ["yes"]
    case.say("@%d yes" % p["n"])
    case.expect("state", state="running")
    back = case.until("container", "salt")
    assert back["back"] is True


def stop_before_anything(case):
    case.until("lot")
    case.say("stop")
    case.expect("state", state="stopped")
    case.end(1)
    assert case.export() == [], "a batch that never began left entries"


def abort(case):
    case.until("confirm", "salt")
    case.say("abort")
    case.expect("state", state="aborted")
    case.end(1)
    case.start()
    hello = case.expect("hello", resumed=False)
    assert hello["last"]["state"] == "aborted"


def end_of_input(case):
    case.until("confirm", "salt")
    case.station.process.stdin.close()
    case.expect("state", state="paused")
    case.end(1)


def leaving_a_pause(case):
    """The state is said at the end also where it was paused before."""
    case.until("fill")
    case.say("pause")
    case.expect("state", state="paused")
    case.station.process.send_signal(signal.SIGTERM)
    case.expect("state", state="paused")
    case.end(1)


def signals(case):
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGQUIT):
        case.until("fill")
        case.station.process.send_signal(number)
        case.expect("state", state="paused")
        case.end(1)
        case.start()
        case.expect("hello", resumed=True)


def typed(case):
    p = case.until("fill", "salt")
    case.scales[p["scale"]].silent = True
    case.expect("notice", code="silent", scale=p["scale"])
    case.say("typed 300 g")
    c = case.expect("prompt", ask="confirm")
    case.say("@%d yes" % c["n"])
    r = case.expect("recorded", ingredient="salt", manner="typed", actual_g=Decimal(300))
    assert r["gross_g"] is None and r["tare_g"] is None


def typed_without_right(case):
    p = case.until("fill", "salt")
    case.scales[p["scale"]].silent = True
    case.expect("notice", code="silent")
    case.say("typed 300 g")
    case.expect("refused", code="right")


def silent_and_back(case):
    p = case.until("fill", "salt")
    scale = case.scales[p["scale"]]
    tare = scale.load
    scale.silent = True
    case.expect("notice", code="silent", scale=p["scale"])
    case.say("@%d done" % p["n"])
    case.expect("refused", code="stale")
    scale.set(tare + 40)  # poured while nobody could see it: the earlier load is gone
    scale.silent = False
    case.expect("notice", code="back", scale=p["scale"])
    case.expect("prompt", ask="clear", scale=p["scale"])
    scale.set(0)
    c = case.expect("prompt", ask="container")
    assert c["back"] is True
    scale.set(tare + 40)
    f = case.expect("prompt", ask="fill")
    scale.set(tare + f["target_g"])
    case.expect("prompt", ask="confirm")


def silent_at_the_same_load(case):
    p = case.until("fill", "salt")
    scale = case.scales[p["scale"]]
    time.sleep(1)
    scale.silent = True
    case.expect("notice", code="silent")
    scale.silent = False
    case.expect("notice", code="back")
    time.sleep(1.5)  # seen at its earlier load: nothing was lost
    scale.set(scale.load + p["target_g"])
    case.expect("prompt", ask="confirm")


CASES = [
    (words, "102"), (early, "102"), (lot_pattern, "102"), (moving, "102"), (over, "102"), (over_without_right, "103"),
    (cure_never_above_limit, "101"), (second_lot, "101"), (pause_and_go, "102"), (held, "102"), (stop_before_anything, "102"),
    (abort, "102"), (end_of_input, "102"), (leaving_a_pause, "102"), (signals, "102"), (typed, "101"), (typed_without_right, "103"),
    (silent_and_back, "102"), (silent_at_the_same_load, "102"),
]


def one(case, person):
    scales = bench_and_fine()
    with tempfile.TemporaryDirectory() as folder:
        c = Case(folder, scales, person)
        try:
            case(c)
        finally:
            if c.station.process.poll() is None:
                c.station.kill()
    print(case.__name__, "ok", flush=True)


def main():
    """With a name: that case. Without: all, side by side, since they mostly wait for scales to settle."""
    if len(sys.argv) > 1:
        for case, person in CASES:
            if case.__name__ in sys.argv[1:]:
                one(case, person)
        return 0
    waiting, running, failed = [c.__name__ for c, _ in CASES], {}, []
    while waiting or running:
        while waiting and len(running) < 6:
            name = waiting.pop(0)
            running[name] = subprocess.Popen([sys.executable, __file__, name])
        for name in [n for n, p in running.items() if p.poll() is not None]:
            if running.pop(name).returncode != 0:
                failed.append(name)
        time.sleep(0.1)
    print("failed: " + " ".join(failed) if failed else "all %d cases ok" % len(CASES))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
