#!/usr/bin/env python3
"""tests/replay/record.py [--states] [PROFILE...]: records the pretend scale by every serial profile anew, `make record`.

Each recording goes through no load, a container, filling, rest, overload, noise on the line and rest again. A second one, in
states/, through a weight below zero, warming up, under zero and a fault. Beside it a check file says what truly stood on the platform in each stretch of time: the masses are those that this script told the
platform to hold, rounded to the division. It never looks at what a decoder made of the bytes."""
import concurrent.futures
import glob
import json
import os
import subprocess
import sys
import tempfile
import time

STATES_ALONE = "--states" in sys.argv
BUILD = os.environ.get("BUILD", "build")
HERE = "tests/replay"
MARGIN = 0.25  # s that a change may be early or late in what is read

# capacity, division, container, poured, rate, overload: all shown exactly in the unit that the profile's scale begins with
SIZES = {
    "g": ("600 g", "0.1 g", "120 g", "85.5 g", "60 g/s", "900 g"),
    "kg": ("15 kg", "5 g", "1.235 kg", "2.5 kg", "1.7 kg/s", "20 kg"),
    "lb": ("15 kg", "5 g", "2.75 lb", "3.5 lb", "3 lb/s", "50 lb"),
    "lboz": ("15 kg", "0.1 oz", "35.5 oz", "12 oz", "9 oz/s", "700 oz"),
}
# a little, within the zero key's reach and not yet under zero when it is taken off; a load that is zeroed when it is switched on
STATES = {"g": ("1 g", "50 g"), "kg": ("0.05 kg", "1.235 kg"), "lb": ("0.1 lb", "2.75 lb"), "lboz": ("1 oz", "35.5 oz")}
UNIT_OF = {"pounds-ounces": "lboz", "asked-comma-g": "g", "minus-behind-g": "g", "settled-crc-g": "g", "asked-sum-g": "g"}


def amount(text):
    number, unit = text.split()
    return float(number), unit


class Session:
    def __init__(self, name, folder, place=HERE):
        self.name, self.place = name, place
        text = open(f"profiles/scales/{name}.ini").read()
        self.by_key = "sends = key" in text
        self.settled = "sends = settled" in text
        unit = self.unit = UNIT_OF.get(name) or ("lb" if name.endswith("-lb") else "kg")
        capacity, self.division, *self.masses = SIZES[unit]
        link = os.path.join(folder, name)
        self.log = f"{place}/{name}.log"
        if os.path.exists(self.log):
            os.unlink(self.log)
        self.scale = subprocess.Popen(
            [f"{BUILD}/tareline", "pretend", name, "--link", link, "--capacity", capacity, "--division", self.division,
             "--seed", str(sum(name.encode()))], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.scale.stdout.readline()
        self.listen = subprocess.Popen(
            [f"{BUILD}/tareline", "listen", f"{name}@{link}", "--json", "--capture", self.log], stdout=subprocess.PIPE,
            text=True)
        assert json.loads(self.listen.stdout.readline())["event"] == "hello"
        self.start = time.monotonic()
        # what it says further is not looked at, but must not stop it
        self.rest = concurrent.futures.ThreadPoolExecutor(1)
        self.rest.submit(self.listen.stdout.read)
        self.spans = []

    def say(self, verb):
        self.scale.stdin.write(verb + "\n")
        self.scale.stdin.flush()
        answer = self.scale.stdout.readline().strip()
        assert answer.startswith("ok"), f"{self.name}: {verb}: {answer}"

    def now(self):
        return time.monotonic() - self.start

    def span(self, begin, end, what):
        self.spans.append(f"{int(max(begin, 0) * 1e6)} {int(end * 1e6)} {what}")

    def stay(self, seconds, what, wait=True):
        """At rest for so long, under `what`."""
        if wait:
            self.say("wait-settled 8")
            time.sleep(MARGIN)
        begin = self.now()
        for _ in range(3 if self.by_key else 0):
            self.say("print")
            time.sleep(0.9)
        time.sleep(seconds)
        self.span(begin - (0 if wait else MARGIN), self.now(), what)

    def run(self):
        container, poured, rate, heavy = self.masses
        (c, unit), (p, _), (r, _) = amount(container), amount(poured), amount(rate.replace("/s", ""))
        full = f"{c + p:.10g} {unit}"
        self.stay(2.0, f"still 0 {unit}", wait=False)
        self.say(f"put {container}")
        self.stay(1.3, f"still {container}")
        begin = self.now()
        self.say(f"pour {poured} at {rate}")
        time.sleep(p / r + 0.1)
        self.span(begin, self.now(), f"between {container} {full}")
        self.stay(1.5, f"still {full}")
        self.say(f"put {heavy}")
        time.sleep(1.0)
        self.stay(1.0, "over", wait=False) if not self.settled and not self.by_key else self.stay(1.0, "over")
        self.say("take all")
        self.stay(1.0, f"still 0 {unit}")
        self.say(f"put {container}")
        self.say("wait-settled 8")
        time.sleep(MARGIN)
        begin = self.now()
        for n in (60, 7, 33):
            self.say(f"garbage {n}")
            time.sleep(0.5)
        self.span(begin, self.now() + MARGIN, f"noise {container}")
        time.sleep(2 * MARGIN)
        self.stay(1.5, f"still {container}", wait=False)
        return self.end()

    def no_weight(self, seconds, what):
        """The state is there at once, or after what the platform needs."""
        time.sleep(2 * MARGIN)
        begin = self.now()
        for _ in range(2 if self.by_key else 0):
            self.say("print")
            time.sleep(0.5)
        time.sleep(seconds)
        self.span(begin, self.now(), what)

    def run_states(self):
        little, load = STATES[self.unit]
        number, unit = amount(little)
        self.stay(2.0, f"still 0 {unit}", wait=False)
        self.say(f"put {little}")
        self.say("wait-settled 8")
        self.say("zero")
        self.stay(1.0, f"still 0 {unit}")
        self.say("take all")
        self.stay(1.0, f"still -{number:.10g} {unit}")
        self.say(f"put {load}")
        self.say("wait-settled 8")
        self.say("restart")
        self.no_weight(1.0, "not-yet")
        self.stay(1.0, f"still 0 {unit}")
        self.say("take all")
        self.no_weight(1.0, "under")
        self.say(f"put {load}")
        self.stay(1.0, f"still 0 {unit}")
        self.say("fault")
        self.no_weight(1.0, "fault")
        self.say("fault 0")
        time.sleep(MARGIN)
        self.stay(1.0, f"still 0 {unit}")
        return self.end()

    def end(self):
        self.listen.terminate()
        self.listen.wait()
        self.say("quit")
        self.scale.wait()
        lines = open(self.log).readlines()
        with open(self.log, "w") as out:  # without its date and the path of the pseudo-terminal
            out.writelines(["# tareline recording 1\n", "# the pretend scale, see record.py\n"] + lines[2:])
        with open(f"{self.place}/{self.name}.check", "w") as out:
            out.write("# FROM TO (microseconds of the recording) and what truly was: see record.py, which wrote this\n")
            out.write(f"division {self.division}\n")
            out.write("".join(line + "\n" for line in self.spans))
        return self.name


def main():
    names = [n for n in sys.argv[1:] if n != "--states"] or sorted(os.path.basename(f)[:-4] for f in glob.glob("profiles/scales/*.ini"))
    names = [n for n in names if "[line]" in open(f"profiles/scales/{n}.ini").read()]
    with tempfile.TemporaryDirectory() as folder, concurrent.futures.ThreadPoolExecutor(6) as pool:
        for name in pool.map(lambda n: Session(n, folder).run(), names) if not STATES_ALONE else ():
            print(name)
        for name in pool.map(lambda n: Session(n, folder, HERE + "/states").run_states(), names):
            print("states of", name)


if __name__ == "__main__":
    main()
