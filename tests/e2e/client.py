"""A client that speaks only `weigh --json` and pseudo-terminals of its own. It shares no code with the project:
scale lines, prompts and the arithmetic of what is poured are written here from docs/protocol.md alone."""
import json
import os
import pty
import queue
import select
import subprocess
import termios
import threading
import time
import tty
from decimal import Decimal


class Scale(threading.Thread):
    """A perfect platform behind a pseudo-terminal. Masses in grams as Decimal."""

    def __init__(self, division, capacity):
        super().__init__(daemon=True)
        self.division, self.capacity = Decimal(division), Decimal(capacity)
        self.load = Decimal(0)
        self.moved = 0.0
        self.silent = False
        self.lock = threading.Lock()
        self.master, self.slave = pty.openpty()
        tty.setraw(self.slave)
        self.path = os.ttyname(self.slave)
        self.alive = True

    def set(self, grams):
        with self.lock:
            self.load = Decimal(grams)
            self.moved = time.monotonic()

    def shown(self):
        return (self.load / self.division).to_integral_value() * self.division

    def send(self, text):
        try:
            os.write(self.master, text.encode())
        except OSError:
            pass


class ContinuousKg(Scale):
    """ST,GS,+  2.350kg CR LF, ten times a second (profiles/scales/status-basis-kg.ini)."""

    def run(self):
        while self.alive:
            with self.lock:
                moving = time.monotonic() - self.moved < 0.25
                kg = self.shown() / 1000
                word = "OL" if self.load > self.capacity else "US" if moving else "ST"
            if not self.silent:
                self.send("%s,GS,%s%7.3fkg\r\n" % (word, "-" if kg < 0 else "+", abs(kg)))
            time.sleep(0.1)


class AskedComma(Scale):
    """Answers W CR with "+   123,45 g " CR (profiles/scales/asked-comma-g.ini)."""

    def run(self):
        while self.alive:
            ready, _, _ = select.select([self.master], [], [], 0.2)
            if not ready:
                continue
            try:
                asked = os.read(self.master, 100).count(b"W\r")
            except OSError:
                return
            with self.lock:
                moving = time.monotonic() - self.moved < 0.25
                text = ("%8.2f" % abs(self.shown())).replace(".", ",")
                if self.load > self.capacity:
                    text = "--------"
                line = "%s%s g%s\r" % ("-" if self.load < 0 else "+", text, "M" if moving else " ")
            for _ in range(asked):
                if not self.silent:
                    self.send(line)


class Station:
    """The program under test and its lines."""

    def __init__(self, program, args, env=None):
        self.process = subprocess.Popen([program, "weigh"] + args + ["--json"], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env)
        self.lines = queue.Queue()
        self.events = []
        self.errors = b""
        threading.Thread(target=self._read, daemon=True).start()
        threading.Thread(target=self._read_errors, daemon=True).start()

    def _read(self):
        for raw in self.process.stdout:
            try:
                self.lines.put(json.loads(raw, parse_float=Decimal, parse_int=Decimal))
            except ValueError:
                self.lines.put({"event": "torn", "raw": raw})
        self.lines.put(None)

    def _read_errors(self):
        for raw in self.process.stderr:
            self.errors += raw

    def next(self, timeout=15):
        try:
            event = self.lines.get(timeout=timeout)
        except queue.Empty:
            raise AssertionError("nothing said for %d s; last: %r; errors: %r" %
                                 (timeout, self.events[-3:], self.errors)) from None
        if event is not None:
            self.events.append(event)
        return event

    def answer(self, prompt, words):
        try:
            self.process.stdin.write(("@%d %s\n" % (prompt["n"], words)).encode())
            self.process.stdin.flush()
        except (BrokenPipeError, OSError):
            pass

    def kill(self):
        self.process.kill()
        self.process.wait()

    def wait(self, timeout=10):
        return self.process.wait(timeout)


class Operator:
    """Answers every prompt as a careful person would. Remembers what stands in each cup over restarts of the station."""

    def __init__(self, scales, lugs=None, lot="P1234", person="102", second="IF"):
        self.scales = scales
        self.lugs = {k: [Decimal(g) for g in v] for k, v in (lugs or {}).items()}
        self.lot, self.person, self.second = lot, person, second
        self.cup = {}        # item -> (tare, content) of what is in its own container
        self.spoilt = set()  # items already over-poured on purpose
        self.overpour = {}   # ingredient -> grams too much, once
        self.pace = 0.0
        self.recorded = []
        self.lugs_in = {}    # meat -> items of its lugs that are weighed

    def cup_mass(self, scale):
        return Decimal(1200) if self.scales[scale].capacity > 5000 else Decimal("85.00")

    def target(self, prompt):
        if prompt["target_g"] is not None:
            return prompt["target_g"]
        return self.lugs[prompt["ingredient"]][len(self.lugs_in.get(prompt["ingredient"], ()))]

    def on_prompt(self, station, p):
        if self.pace:
            time.sleep(self.pace)
        getattr(self, "do_" + p["ask"])(station, p)

    def do_person(self, station, p):
        station.answer(p, "person " + self.person)

    def do_lot(self, station, p):
        station.answer(p, "lot " + self.lot)

    def do_resume(self, station, p):
        station.answer(p, "yes")

    def do_clear(self, station, p):
        self.scales[p["scale"]].set(0)

    def do_container(self, station, p):
        scale = p["scale"]
        tare, content = self.cup.get(p["item"], (None, Decimal(0))) if p["back"] else (None, Decimal(0))
        if tare is None:
            tare = p["empty_g"] or self.cup_mass(scale)
            if p["way"] == "bag":  # the full bag stands on the scale; what is taken out of it counts
                tare = self.scales[scale].capacity / 2 // 1
        self.cup[p["item"]] = (tare, content)
        self.scales[scale].set(tare - content if p["way"] == "bag" else tare + content)

    def do_fill(self, station, p):
        item, scale = p["item"], self.scales[p["scale"]]
        tare, _ = self.cup.setdefault(item, (scale.load, Decimal(0)))  # in a tub: on top of what is there
        more = Decimal(0)
        if p["ingredient"] in self.overpour and item not in self.spoilt:
            self.spoilt.add(item)
            more = Decimal(self.overpour[p["ingredient"]])
        content = self.target(p) + more
        self.cup[item] = (tare, content)
        scale.set(tare - content if p["way"] == "bag" else tare + content)

    def do_over(self, station, p):
        tare, content = self.cup[p["item"]]
        content -= p["take_g"]
        self.cup[p["item"]] = (tare, content)
        self.scales[p["scale"]].set(tare - content if p["way"] == "bag" else tare + content)

    def do_under(self, station, p):
        self.do_fill(station, p)

    def do_confirm(self, station, p):
        station.answer(p, "yes " + self.second if p["what"] == "second" else "yes")

    def do_more(self, station, p):
        # by item: the same question may come twice, when a kill took the answer
        weighed = self.lugs_in.setdefault(p["ingredient"], set())
        weighed.add(p["item"])
        station.answer(p, "yes" if len(weighed) < len(self.lugs.get(p["ingredient"], [])) else "no")

    def do_add(self, station, p):
        station.answer(p, "yes")

    do_instruction = do_add

    def do_check(self, station, p):
        station.answer(p, "value 2.5")

    def on_recorded(self, r):
        self.recorded.append(r)


def run(station, operator, stop_after=None):
    """Works until the end of the batch. Returns the exit code, or None if stop_after(event) said so."""
    while True:
        event = station.next()
        if event is None:
            return station.wait()
        if event["event"] == "recorded":
            operator.on_recorded(event)
        elif event["event"] == "prompt":
            operator.on_prompt(station, event)
        if stop_after and stop_after(event):
            return None


def bench_and_fine():
    scales = {"bench": ContinuousKg("5", "15045"), "fine": AskedComma("0.01", "600.09")}
    for s in scales.values():
        s.start()
    return scales


def scale_arguments(scales):
    profiles = {"bench": "status-basis-kg", "fine": "asked-comma-g"}
    out = []
    for name, s in scales.items():
        out += ["--scale", "%s=%s@%s" % (name, profiles[name], s.path)]
    return out
