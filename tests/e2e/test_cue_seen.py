#!/usr/bin/env python3
"""The cue as a person meets it, over a tty at whose other end the pretend scale is poured on: its lines in --plain, its field
and the pointer on the full screen at two sizes, and a scale at its print key, where neither is shown and the record says so."""
import os
import queue
import re
import subprocess
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor

from client import Station
from terminal import Terminal, wait_for

PROGRAM = os.path.abspath(os.environ.get("TARELINE", "build/tareline"))
REACTION = 0.3  # seconds, a little quicker than the median that the cue reckons with (src/core/flow.h)
FORMULA = """[formula]
id = cue-seen
name = One spice
basis = planned
meat = 20 kg
band = 2 %

[meat block]
name = Meat block
share = 100 %
lot = no
bin = 1
weigh = 2

[ingredient salt]
name = Salt
amount = 2 % of meat
lot = no
bin = 2
weigh = 1

[add dry]
ingredients = salt
"""
TARGET, LOW, HIGH, CUP = 400, 392, 408, 120
FAST, SLOW = 120, 10  # g/s


class Pretend:
    def __init__(self, folder, profile):
        self.link = folder + "/tty"
        self.process = subprocess.Popen(
            [PROGRAM, "pretend", profile, "--link", self.link, "--capacity", "3 kg", "--division", "1 g"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout.readline()
        self.at = "bench=%s@%s,capacity=3kg,division=1g,class=III" % (profile, self.link)

    def do(self, verb):
        self.process.stdin.write(verb + "\n")
        self.process.stdin.flush()
        answer = self.process.stdout.readline()
        assert answer.startswith("ok"), (verb, answer)
        return answer

    def truly(self):
        return float(re.search(r"true (-?[\d.]+) g", self.do("show"))[1])

    def end(self):
        self.process.terminate()
        self.process.wait(10)


def weigh(folder, scale, *more):
    with open(folder + "/cue-seen.ini", "w", encoding="utf-8") as f:
        f.write(FORMULA)
    return [PROGRAM, "weigh", folder + "/cue-seen.ini", "--journal", folder + "/j.db", "--scale", scale.at, *more]


def exported(folder):
    command = [PROGRAM, "records", "export", "--json", "--journal", folder + "/j.db"]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


class Plain:
    """Its lines, one by one."""

    def __init__(self, command):
        self.process = subprocess.Popen(command + ["--plain"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.lines, self.seen = queue.Queue(), []
        threading.Thread(target=self.read, daemon=True).start()

    def read(self):
        for line in self.process.stdout:
            self.lines.put(line.rstrip("\n"))

    def until(self, pattern, seconds=25):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                line = self.lines.get(timeout=0.2)
            except queue.Empty:
                continue
            self.seen.append(line)
            if re.search(pattern, line):
                return line
        raise AssertionError("no %s in\n%s" % (pattern, "\n".join(self.seen)))

    def say(self, words):
        self.process.stdin.write(words + "\n")
        self.process.stdin.flush()


def plain(folder):
    scale = Pretend(folder, "status-basis-kg")
    station = Plain(weigh(folder, scale))
    try:
        station.until(r"^prompt @\d+ container \|")
        scale.do("put %d g" % CUP)
        station.until(r"^prompt @\d+ fill \|")
        scale.do("pour 1 kg at %d g/s" % FAST)
        line = station.until(r"^cue ")
        assert re.match(r"cue ease \| item \d+ \| .*\| Ease off: the target is near\.$", line), line
        poured = scale.truly() - CUP
        assert 0 < poured < LOW, poured
        scale.do("pour 1 kg at %d g/s" % SLOW)
        line = station.until(r"^cue stop")
        assert re.match(r"cue stop \| item \d+ \| lands at 0\.\d+ kg \| Stop now: what is on its way fills it up\.$", line), line
        time.sleep(REACTION)
        scale.do("stop")
        poured = scale.truly() - CUP
        assert poured <= HIGH, poured
        prompt = station.until(r"^prompt @\d+ confirm \|")
        station.say("@%s yes" % re.search(r"@(\d+)", prompt)[1])
        recorded = station.until(r"^recorded item \d+ \| Salt")
        assert "| in |" in recorded and "two agreeing" not in recorded, recorded
    finally:
        station.process.kill()
        station.process.wait(10)
        scale.end()
    assert '"agreed":true' not in exported(folder)


def has_pointer(rows):
    return any("▼" in row for row in rows)


def whole(rows, cols):
    """Nothing of the page is cut off or runs over its edge."""
    assert all(len(r) <= cols for r in rows), rows
    return "\n".join(rows)


def screen(folder, cols, rows, keep):
    scale = Pretend(folder, "status-basis-kg")
    terminal = Terminal(cols, rows, " ".join(weigh(folder, scale)))
    pages = {}
    try:
        wait_for(terminal, lambda p: "Put the empty cup" in "\n".join(p))
        scale.do("put %d g" % CUP)
        page = wait_for(terminal, lambda p: "Put in Salt" in "\n".join(p))
        assert "STOP" not in "\n".join(page) and "ease off" not in "\n".join(page)
        scale.do("pour 1 kg at %d g/s" % FAST)
        pages["ease"] = wait_for(terminal, lambda p: "▽  ease off  ▽" in "\n".join(p))
        scale.do("pour 1 kg at %d g/s" % SLOW)
        pages["stop"] = wait_for(terminal, lambda p: "■  STOP NOW  ■" in "\n".join(p), 30)
        time.sleep(REACTION)
        scale.do("stop")
        assert scale.truly() - CUP <= HIGH, scale.truly()
        pages["accept"] = wait_for(terminal, lambda p: "Accept it?" in "\n".join(p))
        for name, page in pages.items():
            text = whole(page, cols)
            assert has_pointer(page), "no pointer\n" + text
            assert "no cue" not in text and "2 lines agree" not in text, text
            assert (name == "accept") == ("STOP NOW" not in text and "ease off" not in text), text
            if keep:
                with open("%s/%s-%dx%d.txt" % (keep, name, cols, rows), "w", encoding="utf-8") as f:
                    f.write(text + "\n")
    finally:
        terminal.close()
        scale.end()


def pressed(scale):
    """The print key twice, as far apart as two looks at the figure are; the scale waits for rest before it prints."""
    time.sleep(1.2)
    scale.do("print")
    time.sleep(1.2)
    scale.do("print")


def key_json(folder):
    scale = Pretend(folder, "key-basis-kg")
    command = weigh(folder, scale)
    station = Station(command[0], command[2:] + ["--readings"])
    seen = []

    def until(kind, **keys):
        while True:
            if station.lines.empty():
                pressed(scale)
            e = station.next(25)
            assert e is not None, (kind, keys, station.errors, seen[-5:])
            seen.append(e)
            if e["event"] == kind and all(e.get(k) == v for k, v in keys.items()):
                return e

    try:
        until("prompt", ask="container")
        scale.do("put %d g" % CUP)
        fill = until("prompt", ask="fill")
        assert fill["cues"] is False, fill
        scale.do("pour %d g at %d g/s" % (TARGET, FAST))
        time.sleep(3.5)
        station.answer(until("prompt", ask="confirm"), "yes")
        recorded = until("recorded")
        assert recorded["verdict"] == "in" and float(recorded["actual_g"]) == TARGET, recorded
    finally:
        station.kill()
        scale.end()
    readings = [e for e in seen if e["event"] == "reading"]
    assert readings and all(e["cue"] is None and e["flow_g"] is None and e["lands_g"] is None for e in readings), readings
    assert not [e for e in seen if e["event"] == "cue"]
    for line in exported(folder).splitlines():
        if '"kind":"tared"' in line or '"kind":"weighed"' in line:
            assert '"agreed":true' in line, line
    show = subprocess.run([PROGRAM, "records", "show", "--journal", folder + "/j.db"], capture_output=True, text=True)
    assert "at rest by two agreeing lines" in " ".join(show.stdout.split()), show.stdout + show.stderr


def key_screen(folder, cols, rows):
    scale = Pretend(folder, "key-basis-kg")
    terminal = Terminal(cols, rows, " ".join(weigh(folder, scale)))
    try:
        page = wait_for(terminal, lambda p: re.search("Put the empty cup|Take everything off", "\n".join(p)))
        while "Take everything off" in "\n".join(page):
            pressed(scale)
            page = terminal.picture()
        scale.do("put %d g" % CUP)
        pressed(scale)
        page = wait_for(terminal, lambda p: "Put in Salt" in "\n".join(p))
        assert "at rest: 2 lines agree" in whole(page, cols), "\n".join(page)
        scale.do("pour %d g at %d g/s" % (TARGET, FAST))
        for _ in range(12):  # while it is poured, and for as long again
            page = terminal.picture()
            text = whole(page, cols)
            assert "STOP" not in text and "ease off" not in text and not has_pointer(page), text
            time.sleep(0.5)
        pressed(scale)
        wait_for(terminal, lambda p: "Accept it?" in "\n".join(p))
    finally:
        terminal.close()
        scale.end()


def in_folders(rows, at_once):
    """Each row in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(at_once) as pool:
        folders = [os.path.join(folder, str(k)) for k in range(len(rows))]
        for f in folders:
            os.mkdir(f)
        for done in [pool.submit(row, f) for row, f in zip(rows, folders)]:
            done.result()


def main():
    keep = sys.argv[1] if len(sys.argv) > 1 else None
    rows = [plain, lambda f: screen(f, 80, 24, keep), lambda f: screen(f, 120, 40, keep), key_json,
            lambda f: key_screen(f, 80, 24)]
    in_folders(rows, 2)
    print("cue seen: ok")


if __name__ == "__main__":
    main()
