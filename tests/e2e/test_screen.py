#!/usr/bin/env python3
"""A person at the full screen: reads what stands there (tmux's own picture of the terminal), presses keys at human pace,
scans lots, over-pours once, presses a scale's own tare key once, spoons something out of an accepted cup, pauses once, and
completes the smoked bratwurst. With a folder as argument, keeps pictures."""
import os
import re
import subprocess
import sys
import tempfile
import time
from decimal import Decimal

from client import bench_and_fine, scale_arguments
from terminal import Terminal, wait_for

PROGRAM = os.path.abspath(os.environ.get("TARELINE", "build/tareline"))
LUGS = {"Pork shoulder, trimmed": ["9000", "5000"], "Pork belly, skinless": ["6000"]}
SECONDS = 110


def sentence(rows):
    """The next thing to do: from its mark on, without the row of the keys and what is being typed."""
    for i, row in enumerate(rows):
        if row.startswith(" ►"):
            rest = [r.strip() for r in rows[i + 1:-1] if r.strip() and not re.match(r"   \w+:", r)]
            return " ".join([row[2:].strip()] + rest)
    return ""


def grams(text):
    number, unit = re.search(r"(-?[\d.]+) (kg|g)\b", text).groups()
    return Decimal(number) * (1000 if unit == "kg" else 1)


class Person:
    def __init__(self, terminal, scales):
        self.t, self.scales = terminal, scales
        self.lugs = {k: [Decimal(g) for g in v] for k, v in LUGS.items()}
        self.content = {}
        self.over_poured = self.paused = False
        self.tared = None  # what stood on the scale when its own tare key was pressed
        self.lifted = self.spooned = False
        self.seen = set()

    def act(self, say, rows):
        """One sentence, one action; True if the words were understood."""
        title = re.split(r"  +", rows[1].strip())[0]
        for pattern, do in RULES:
            found = re.search(pattern, say)
            if found:
                self.seen.add(do.__name__)
                do(self, found, title)
                return True
        return False

    def sign_in(self, found, title):
        self.t.press("/", "1", "0", "2", "\r")

    def lot(self, found, title):
        if "Salt" in self.content and not self.spooned:  # it was accepted a moment ago and still stands there
            self.spooned = True
            self.scales["fine"].set(self.scales["fine"].load - 1)
            time.sleep(1)
        self.t.press("P1234\r")  # all at once: a scanner

    def clear(self, found, title):
        self.scales[found[1]].set(0)

    def container(self, found, title):
        tare = grams(found[2]) if found[2] else Decimal(1200 if found[3] == "bench" else 85)
        self.scales[found[3]].set(tare)

    def back(self, found, title):
        self.scales[found[1]].set(self.tared)

    def tare_key(self, scale):
        time.sleep(0.8)  # the cup has stood there
        self.tared = scale.load
        scale.load = Decimal(0)  # at once, without a moving line

    def empty(self, found, title):
        """The first time it shows zero with the cup on it; lifted off it is below zero, and its zero key follows (clear)."""
        if self.lifted:
            assert not any("not at zero" in r for r in self.t.picture()), "it is at zero now"
            self.t.press("\r")
        else:
            self.lifted = True
            self.scales[found[1]].set(-self.tared)

    def changed(self, found, title):
        assert grams(found[1]) == self.content["Salt"][1] - 1, found[1]
        self.t.press("\r")

    def fill(self, found, title):
        name, target = found[1], grams(found[2])
        if name.startswith("Curing salt") and self.tared is None:
            self.tare_key(self.scales["fine"])
            return
        scale = self.scales["bench" if self.t_scale() == "bench" else "fine"]
        self.content[name] = (scale.load, target)
        more = Decimal(0)
        if name == "Salt" and not self.over_poured:
            self.over_poured = True
            more = Decimal(12)
        scale.set(scale.load + target + more)

    def t_scale(self):
        """The scale that the step is on is marked in the list of scales."""
        return next(re.search(r"►(\w+)", r)[1] for r in self.t.picture() if "►bench" in r or "►fine" in r)

    def lug(self, found, title):
        scale = self.scales[self.t_scale()]
        scale.set(scale.load + self.lugs[title].pop(0))

    def over(self, found, title):
        scale = self.scales[self.t_scale()]
        scale.set(scale.load - grams(found[1]))

    def accept(self, found, title):
        if not self.paused:
            self.pause()
        self.t.press("\r")

    def pause(self):
        self.paused = True
        self.t.press("+")
        wait_for(self.t, lambda rows: "paused" in rows[0] and "1 go on" in rows[-1])
        time.sleep(0.3)  # nobody reads faster
        self.t.press("2")  # stop? no: back
        wait_for(self.t, lambda rows: "9 yes, stop the batch for good" in rows[-1])
        self.t.press("1", "1")
        wait_for(self.t, lambda rows: "running" in rows[0])
        time.sleep(0.3)

    def second(self, found, title):
        self.t.press("\r")  # a habit: it is no second person
        self.t.press("I", "F", "\r")

    def more(self, found, title):
        self.t.press("\r" if self.lugs[title] else "0")

    def yes(self, found, title):
        self.t.press("\r")

    def check(self, found, title):
        self.t.press("2", ".", "5", "\r")


RULES = [
    (r"Who is weighing", Person.sign_in), (r"Which lot of", Person.lot),
    (r"Take everything off the (\w+) scale; .* Is it empty", Person.empty),
    (r"Take everything off the (\w+) scale", Person.clear),
    (r"Put the part-filled \w+ of .* back on the (\w+) scale", Person.back),
    (r"([\d.]+ k?g) stood there in the end", Person.changed),
    (r"Put the (?:empty|full) (\w+)(?: of .*?)?(?: \(([^)]*)\))? on the (\w+) scale", Person.container),
    (r"Put in (.*) up to ([\d.]+ k?g)", Person.fill), (r"Fill the lug", Person.lug),
    (r"Take out ([\d.]+ k?g)", Person.over), (r"Accept it\?", Person.accept),
    (r"second person looks", Person.second), (r"another lug", Person.more), (r"Is that all the meat|Go on\?", Person.yes),
    (r"mixer now\. Press Enter|Do this\.|Look at it once more", Person.yes), (r"\((?:from|at most|at least)", Person.check),
]


def keep(folder, name, rows):
    if folder:
        with open(os.path.join(folder, name + ".txt"), "w", encoding="utf-8") as f:
            f.write("\n".join(rows) + "\n")


def work(terminal, person, folder):
    until, before, count = time.monotonic() + SECONDS, None, 0
    while time.monotonic() < until:
        rows = terminal.picture()
        say = sentence(rows)
        now = [say, rows[1]] + re.findall(r"step \d+", rows[0])
        if any(r.startswith("EXIT") for r in rows):
            return next(r for r in rows if r.startswith("EXIT"))
        if not say or now == before:
            time.sleep(0.05)
            continue
        count += 1
        keep(folder, "%02d" % count, rows)
        time.sleep(0.25)  # a person reads
        assert person.act(say, rows), "not understood: %s\n%s" % (say, "\n".join(rows))
        before = now
    raise AssertionError("not complete after %d s:\n%s" % (SECONDS, "\n".join(terminal.picture())))


def session(cols, rows, folder):
    scales = bench_and_fine()
    with tempfile.TemporaryDirectory() as home:
        journal = os.path.join(home, "journal.db")
        command = [PROGRAM, "weigh", "smoked-bratwurst", "--station", "smokehouse", "--journal", journal]
        command += scale_arguments(scales)
        terminal = Terminal(cols, rows, "%s; echo EXIT $?; sleep 100" % " ".join(command))
        try:
            person = Person(terminal, scales)
            end = work(terminal, person, folder)
        finally:
            terminal.close()
        assert end == "EXIT 0", end
        assert person.over_poured and {"over", "accept", "check", "more", "lot", "yes", "empty", "back", "changed"} <= person.seen, person.seen
        out = subprocess.run([PROGRAM, "records", "export", "--json", "--journal", journal], check=True, capture_output=True)
        text = out.stdout.decode()
        assert text.count('"kind":"weighed"') >= 9 and '"verdict":"over"' not in text
        assert text.count('"lot":"P1234"') >= 8
        subprocess.run([PROGRAM, "records", "verify", "--journal", journal], check=True, capture_output=True)


def main():
    folder = sys.argv[1] if len(sys.argv) > 1 else None
    cols, rows = (int(n) for n in (sys.argv[2] if len(sys.argv) > 2 else "80x24").split("x"))
    session(cols, rows, folder)
    print("screen: ok")


main()
