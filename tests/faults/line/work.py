"""One batch at a failing cable: the whole station, and a careful person who knows what truly stands on the platform."""
import os
import subprocess
import sys
import time
from decimal import Decimal

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "e2e"))
from client import Operator, Station  # noqa: E402

from cable import Cable  # noqa: E402

PROGRAM = os.environ.get("TARELINE", "build/tareline")
HERE = os.path.dirname(os.path.abspath(__file__))
CUP, TARGET, HALF, DIVISION = Decimal(400), Decimal(100), Decimal(50), Decimal(1)
LONG = 60  # seconds: far longer than anything takes that comes at all
GROWTH_KB = 1024


class Person(Operator):
    """As the client's, and: puts in only half at first, goes to the scale's zero key when the station says that it must."""

    def __init__(self, cable):
        super().__init__({"bench": cable})
        self.cable, self.content, self.wanted = cable, Decimal(0), HALF

    def do_clear(self, station, p):
        self.cable.set(0)

    def do_container(self, station, p):
        if not p["back"]:
            self.content = Decimal(0)
        self.cable.set(CUP + self.content)

    def pour(self, content):
        self.content = Decimal(content)
        self.cable.set(CUP + self.content)

    def do_fill(self, station, p):
        self.pour(max(self.content, self.wanted))

    def do_over(self, station, p):
        self.pour(self.content - p["take_g"])

    def do_confirm(self, station, p):
        if p["what"] == "empty":  # looks first, and makes it so
            self.cable.set(0)
            self.cable.zero_key()
            time.sleep(1)
        super().do_confirm(station, p)

    def do_under(self, station, p):
        raise AssertionError("nobody said that no more comes: %r" % p)

    def on_notice(self, notice):
        if notice["code"] == "zero":
            self.cable.zero_key()


class Work:
    """A row's run. `asked`, `said`, `recorded`, `refused` hold what came, in its order; `mark()` empties them."""

    def __init__(self, folder, cable=None):
        self.folder, self.journal = folder, folder + "/j.db"
        self.cable = cable or Cable(folder + "/bench")
        self.person = Person(self.cable)
        self.open, self.station, self.end, self.answered = None, None, None, False
        self.all_recorded = []
        self.capture, self.captured = folder + "/capture", True
        self.mark()

    def mark(self):
        self.asked, self.said, self.recorded, self.refused = [], [], [], []

    def arguments(self):
        return [HERE + "/one-cup.ini", "--meat", "5 kg", "--journal", self.journal, "--scale",
                "bench=status-basis-kg@%s,capacity=6kg,division=1g,class=III" % self.cable.link]

    def start(self):
        self.station = Station(PROGRAM, self.arguments() + ["--readings"] + ["--capture", self.capture] * self.captured)

    def take(self, event, answers):
        assert event is not None, self.station.errors
        kind = event["event"]
        assert kind != "torn", event
        if kind == "prompt":
            self.open = event
            self.asked.append(event["what"] if event["ask"] == "confirm" else event["ask"])
            self.answered = answers
            if answers:
                self.person.on_prompt(self.station, event)
        elif kind == "notice":
            self.said.append(event["code"])
            self.person.on_notice(event)
        elif kind == "recorded" and event["manner"] == "live":
            self.judge(event)
        elif kind == "refused":
            self.refused.append(event["code"])
            if self.open.get("what") == "empty":
                self.person.on_prompt(self.station, self.open)
        elif kind == "end":
            self.end = event

    def judge(self, event):
        """The load is moved only here, between events, and never after a yes: what is recorded must be what stands there."""
        true = self.cable.load - CUP
        assert abs(event["actual_g"] - true) <= DIVISION, "recorded %s g, true %s g" % (event["actual_g"], true)
        self.recorded.append(event)
        self.all_recorded.append(event)

    def until(self, wanted, what, answers=True, last=True, longest=LONG):
        """Works on until wanted(event). Without answers prompts are only looked at; without last that one is."""
        ends = time.monotonic() + longest
        while True:
            assert time.monotonic() < ends, "waited in vain for %s: asked %r, said %r" % (what, self.asked, self.said)
            event = self.station.next(longest)
            assert event is not None, (what, self.station.errors)
            self.take(event, answers and (last or not wanted(event)))
            if wanted(event):
                return event

    def for_seconds(self, seconds, answers=True):
        """Works on for so long; nothing that comes is waited for."""
        ends = time.monotonic() + seconds
        while (left := ends - time.monotonic()) > 0 and not self.end:
            if self.station.lines.qsize():
                self.take(self.station.next(), answers)
            else:
                time.sleep(min(left, 0.02))

    def notice(self, code, answers=True):
        return self.until(lambda e: e["event"] == "notice" and e["code"] == code, "notice " + code, answers)

    def prompt(self, ask, what=None, answers=True, last=True):
        return self.until(lambda e: e["event"] == "prompt" and e["ask"] == ask and e.get("what") == what, ask, answers, last)

    def settles(self, net, answers=False):
        self.until(lambda e: e["event"] == "reading" and e["state"] == "settled" and e["net_g"] == net, "%s g" % net, answers)

    def to_half(self):
        """The cup stands there, half full and at rest."""
        self.start()
        self.prompt("fill")
        self.settles(HALF)
        self.mark()

    def to_confirm(self):
        """It is full, and the station asks whether to accept it."""
        self.to_half()
        self.person.wanted = TARGET
        self.person.pour(TARGET)
        self.prompt("confirm", "weight", last=False)
        self.mark()

    def yes(self):
        self.station.answer(self.open, "yes")

    def to_end(self, before=()):
        """The line is right again: the item is finished, and the batch. before: what must have been asked before the weight
        is recorded."""
        self.person.wanted = TARGET
        if not self.end and (self.open["ask"] in ("fill", "clear", "container") or not self.answered):
            self.person.on_prompt(self.station, self.open)
        if not self.all_recorded:
            self.until(lambda e: e["event"] == "recorded", "recorded")
            for ask in before:
                assert ask in self.asked, (ask, self.asked)
        end = self.end or self.until(lambda e: e["event"] == "end", "the end")
        assert end["exit"] == 0 and self.station.wait() == 0, (end, self.station.errors)
        assert len(self.all_recorded) == 1 and self.all_recorded[0]["verdict"] == "in", self.all_recorded
        assert b"\x1b" not in self.station.errors, self.station.errors
        subprocess.run([PROGRAM, "records", "verify", "--journal", self.journal], check=True, stdout=subprocess.DEVNULL)

        if self.captured:  # the same once more from what came in, to the last entry
            out = subprocess.run([PROGRAM, "weigh", "--replay", self.capture, "--json"], capture_output=True, check=False)
            assert out.returncode == 0, out.stderr

    def memory_kb(self):
        with open("/proc/%d/status" % self.station.process.pid, encoding="ascii") as f:
            return next(int(line.split()[1]) for line in f if line.startswith("VmRSS"))

    def clean_up(self):
        self.cable.end()
        if self.station and self.station.process.poll() is None:
            self.station.kill()
