#!/usr/bin/env python3
"""tareline listen against a pseudo-terminal of this test's own: bytes, counts, recordings, endings and exit codes."""

import concurrent.futures
import glob
import json
import os
import pty
import random
import re
import select
import signal
import subprocess
import sys
import tempfile
import time
import tty
from decimal import Decimal

PROGRAM = os.path.join(os.environ.get("BUILD", "build"), "tareline")
GOOD = b"ST,GS,+  2.350kg\r\n"


def check(what, condition, more=""):
    if not condition:
        sys.exit(f"FAILED: {what}\n{more}")
    print("ok:", what)


def run(*args, **kwargs):
    return subprocess.run([PROGRAM, "listen", *args], capture_output=True, timeout=30, **kwargs)


def scale():
    master, slave = pty.openpty()
    tty.setraw(slave)
    path = os.ttyname(slave)
    return master, slave, path


def listen(path, *args):
    p = subprocess.Popen(
        [PROGRAM, "listen", f"status-basis-kg@{path}", "--json", *args],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    hello = json.loads(p.stdout.readline())
    check("hello names the driver", hello["event"] == "hello" and hello["driver"] == "tty", hello)
    return p


def rest(p):
    out, err = p.communicate(timeout=30)
    return [json.loads(line) for line in out.splitlines()], err.decode()


def test_count_and_capture(folder):
    recording = os.path.join(folder, "seen.log")
    master, slave, path = scale()
    p = listen(path, "--count", "3", "--capture", recording)
    for line in (GOOD, b"US,NT,- 0.015kg\r\n", b"US,NT,-  0.015kg\r\n", b"OL,GS,+       kg\r\n"):
        os.write(master, line)
        time.sleep(0.05)
    lines, err = rest(p)
    check("ends at the count with exit 0", p.returncode == 0 and not err, err)
    check(
        "readings and a bad line in order",
        [x["event"] for x in lines] == ["reading", "bad-line", "reading", "reading", "end"],
        lines,
    )
    check("grams, state and basis", (lines[0]["mass_g"], lines[0]["state"], lines[0]["basis"]) == (2350, "stable", "gross"))
    check("a negative net", (lines[2]["mass_g"], lines[2]["state"], lines[2]["basis"]) == (-15, "moving", "net"))
    check("over capacity is no weight", lines[3]["state"] == "over-capacity" and lines[3]["mass_g"] is None)
    check("the very bytes", bytes.fromhex(lines[0]["hex"]) == GOOD)
    again = run(f"status-basis-kg@replay:{recording}", "--json")
    replayed = [json.loads(line) for line in again.stdout.splitlines()]
    check("the recording ends with exit 0", again.returncode == 0, again.stderr)
    check("it plays the same lines", [x.get("hex") for x in replayed[1:-1]] == [x.get("hex") for x in lines[:-1]])
    twice = run(f"status-basis-kg@replay:{recording}", "--capture", recording)
    check("an older recording is not written over", twice.returncode == 3 and b"new file" in twice.stderr)
    os.close(master)
    os.close(slave)


def test_interrupt_and_unplug():
    master, slave, path = scale()
    p = listen(path)
    os.write(master, GOOD)
    time.sleep(0.3)
    p.send_signal(signal.SIGINT)
    lines, err = rest(p)
    check("SIGINT ends with a summary and exit 0", p.returncode == 0 and lines[-1]["event"] == "end", err)
    check("which counts", lines[-1]["readings"] == 1 and lines[-1]["why"] == "stopped", lines[-1])
    p = listen(path)
    second = run(f"status-basis-kg@{path}")
    check("a second listener is told that it is in use", second.returncode == 4 and b"in use" in second.stderr)
    os.close(slave)
    os.close(master)
    lines, err = rest(p)
    check("an unplug is exit 4", p.returncode == 4 and "is gone" in err and lines[-1]["why"] == "device", err)


def test_hostile_bytes():
    master, slave, path = scale()
    p = subprocess.Popen([PROGRAM, "listen", f"status-basis-kg@{path}"], stdout=subprocess.PIPE)
    p.stdout.readline()
    os.write(master, b"\x1b[2J\x1b]0;owned\x07\x9b31m\x00\xff\r\n" + bytes(range(256)) * 20 + b"\r\n" + GOOD)
    time.sleep(0.5)
    p.send_signal(signal.SIGINT)
    out = p.communicate(timeout=30)[0]
    check("nothing but printable ASCII comes out", all(b == 10 or 32 <= b < 127 for b in out))
    check("and the good line after it is read", b"2.350 kg  stable" in out, out[-400:])
    os.close(slave)
    os.close(master)


def still(profile):
    """What its recording has of the last load at rest, as bytes."""
    with open(f"tests/replay/{profile}.check", encoding="ascii") as f:
        begin, end = [int(x) for x in [line for line in f if " still " in line][-1].split()[:2]]
    with open(f"tests/replay/{profile}.log", encoding="ascii") as f:
        pieces = [line.split() for line in f if not line.startswith("#")]
    return b"".join(bytes.fromhex(p[1]) for p in pieces if p[1] != "end" and begin < int(p[0]) < end)


def survives(profile):
    """Ten thousand bytes of each kind without any sense, whole lines cut in half and doubled; then its true lines are read again."""
    good = still(profile)
    dice = random.Random(profile)
    master, slave, path = scale()
    p = subprocess.Popen([PROGRAM, "listen", f"{profile}@{path}"], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    p.stdout.readline()
    said = concurrent.futures.ThreadPoolExecutor(1).submit(p.stdout.read)
    halves = b"".join(good[k:k + 7] + good[k:k + 11] for k in range(0, len(good), 18))
    for data in (b"5" * 10000, bytes(10000), b"\xff" * 10000, dice.randbytes(10000), b"\x1b[2J\x1b]0;x\x07\x9b31m" * 500, halves):
        for k in range(0, len(data), 512):
            os.write(master, data[k:k + 512])
            time.sleep(0.002)
    time.sleep(0.3)
    with open(f"/proc/{p.pid}/status", encoding="ascii") as f:
        memory = next(int(line.split()[1]) for line in f if line.startswith("VmRSS"))
    for k in range(0, 2 * len(good), 64):
        os.write(master, (good + good)[k:k + 64])
        time.sleep(0.005)
    time.sleep(0.5)
    p.send_signal(signal.SIGINT)
    out, err = said.result(30), p.communicate(timeout=30)[1]
    check(f"{profile}: ends well", p.returncode == 0 and not err, err)
    check(f"{profile}: nothing but printable ASCII comes out", all(b == 10 or 32 <= b < 127 for b in out))
    check(f"{profile}: no more memory than a small program has", memory < 16384, memory)
    tail = out[-3000:].split(b"\n\n")[0]
    check(f"{profile}: its lines are read again", tail.count(b"  stable, basis") + tail.count(b"  unknown, basis") >= 3, tail)
    os.close(slave)
    os.close(master)


def test_every_profile_survives():
    names = sorted(os.path.basename(f)[:-4] for f in glob.glob("profiles/scales/*.ini"))
    with concurrent.futures.ThreadPoolExecutor(4) as pool:
        list(pool.map(survives, [n for n in names if n not in ("usb-reports", "registers-kg")]))


def test_polled():
    master, slave, path = scale()
    p = subprocess.Popen(
        [PROGRAM, "listen", f"asked-comma-g@{path}", "--json", "--count", "3"], stdout=subprocess.PIPE
    )
    for answer in (b"+  123,45 g \r", b"-  123,45 gM\r", b"+-------- g \r"):
        request = os.read(master, 16)
        check("asks with its request", request == b"W\r", request)
        os.write(master, answer)
    lines = [json.loads(line) for line in p.communicate(timeout=30)[0].splitlines()]
    check("comma and centigrams", lines[1]["mass_g"] == 123.45 and lines[1]["step_g"] == 0.01, lines[1])
    check("moving, negative", lines[2]["mass_g"] == -123.45 and lines[2]["state"] == "moving", lines[2])
    check("dashes are over capacity", lines[3]["state"] == "over-capacity", lines[3])
    os.close(slave)
    os.close(master)


# what the pretend scale is, by the unit that a profile's scale begins with: capacity, division, a little, put on; both exact in it
SCALES = {
    "kg": ("15 kg", "5 g", "0.05 kg", "2.35 kg"),
    "g": ("600 g", "0.1 g", "1 g", "123.4 g"),
    "lb": ("15 kg", "5 g", "0.1 lb", "5.25 lb"),
    "lboz": ("15 kg", "0.1 oz", "1 oz", "35.5 oz"),
}
GRAMS = {"kg": Decimal(1000), "g": Decimal(1), "lb": Decimal("453.59237"), "oz": Decimal("28.349523125")}


def grams(mass):
    number, unit = mass.split()
    return Decimal(number) * GRAMS[unit]


class Pretend:
    """A pretend scale by a shipped profile."""

    def __init__(self, profile):
        self.profile = profile
        with open(f"profiles/scales/{profile}.ini", encoding="ascii") as f:
            self.text = f.read()
        unit = "lboz" if profile == "pounds-ounces" else profile.rsplit("-", 1)[1]
        self.capacity, self.division, self.little, self.load = SCALES.get(unit, SCALES["kg"])
        self.process = subprocess.Popen([PROGRAM, "pretend", profile, "--capacity", self.capacity, "--division", self.division],
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.path = self.process.stdout.readline().strip()

    def say(self, verb):
        self.process.stdin.write(verb + "\n")
        self.process.stdin.flush()
        answer = self.process.stdout.readline()
        assert answer.startswith("ok"), (self.profile, verb, answer)

    def listen(self, count, *more):
        """What listen says of so many readings."""
        p = subprocess.Popen([PROGRAM, "listen", f"{self.profile}@{self.path}", "--json", "--count", str(count), *more],
                             stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for _ in range(count + 1 if "sends = key" in self.text else 0):  # the first line of all may lack its front: it is left
            time.sleep(0.7)
            self.say("print")
        out, err = p.communicate(timeout=60)
        lines = [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in out.splitlines()]
        check(f"{self.profile}: listen ends well", p.returncode == 0 and not err, (err, lines))
        refused = [i for i, x in enumerate(lines) if x["event"] in ("bad-line", "too-long")]
        check(f"{self.profile}: none refused but a first one that lost its front", refused in ([], [1]), lines)
        return lines

    def end(self):
        self.say("quit")
        self.process.wait(timeout=10)


def stood_on_it(profile):
    s = Pretend(profile)
    s.say("put " + s.load)
    s.say("wait-settled 9")
    readings = [x for x in s.listen(5) if x["event"] == "reading"]
    good = all(abs(x["mass_g"] - grams(s.load)) < x["step_g"] for x in readings)
    check(f"{profile}: reads what was put on, each time", len(readings) == 5 and good, readings)
    s.end()


def test_pretend_scales():
    """Every shipped profile with lines against the pretend scale that speaks it, paced at its baud rate."""
    names = sorted(os.path.basename(f)[:-4] for f in glob.glob("profiles/scales/*.ini"))
    names = [n for n in names if n not in ("usb-reports", "registers-kg")]
    with concurrent.futures.ThreadPoolExecutor(6) as pool:
        list(pool.map(stood_on_it, names))


def obeys(profile, command):
    """--send, once, behind the first reading: the figures before it and after it."""
    s = Pretend(profile)
    s.say("put " + s.little)
    s.say("wait-settled 9")
    lines = s.listen(12, "--send", command)
    events = [x["event"] for x in lines if x["event"] != "bad-line"]
    check(f"{profile}: {command} is sent once, behind the first reading", events[1:3] == ["reading", "sent"] and
          events.count("sent") == 1, lines)
    sent = next(x for x in lines if x["event"] == "sent")
    bytes_of = dict(re.findall(r"^(tare|zero|units) = (.*)$", s.text, re.M))[command]
    check("its bytes are the profile's", bytes.fromhex(sent["hex"]) == bytes_of.encode().decode("unicode_escape").encode(), sent)
    readings = [x for x in lines if x["event"] == "reading"]
    first, last = readings[0], readings[-1]
    check(f"{profile}: it weighed before", first["mass_g"] == grams(s.little) and first["state"] == "stable", first)
    if command == "units":
        check("the other unit", last["unit"] != first["unit"] and abs(last["mass_g"] - first["mass_g"]) < last["step_g"], last)
    else:
        check(f"{profile}: the scale obeys {command}", last["mass_g"] == 0, last)
        check("net or gross", last["basis"] == ("net" if command == "tare" else "gross"), last)
    s.end()


def test_send(folder):
    with concurrent.futures.ThreadPoolExecutor(6) as pool:
        list(pool.map(lambda row: obeys(*row), [("status-basis-kg", "tare"), ("status-basis-kg", "zero"), ("asked-comma-g", "zero"),
                                                ("asked-sum-g", "tare"), ("asked-sum-g", "zero"), ("asked-sum-g", "units")]))
    none = run("bare-kg@/dev/null", "--send", "zero")
    check("a profile without the command", none.returncode == 3 and b"bare-kg has no zero command" in none.stderr, none.stderr)
    deaf = run("status-basis-kg@replay:tests/replay/status-basis-kg.log", "--send", "tare", "--json")
    check("a device that takes none", deaf.returncode == 4 and b"could not be sent: this device takes none" in deaf.stderr, deaf.stderr)

    # a scale that says nothing: it is sent all the same, and the recording holds when
    master, slave, path = scale()
    recording = os.path.join(folder, "sent.log")
    p = listen(path, "--send", "zero", "--capture", recording)
    check("it comes when the scale stays silent", select.select([master], [], [], 10)[0] and os.read(master, 9) == b"Z\r\n")
    os.write(master, GOOD)
    time.sleep(0.5)
    p.send_signal(signal.SIGINT)
    lines, _ = rest(p)
    check("silent, then sent", [x["event"] for x in lines] == ["silent", "sent", "reading", "end"], lines)
    with open(recording, encoding="ascii") as f:
        check("the recording says it", "the zero command was sent" in f.read())
    check("and is one", run(f"status-basis-kg@replay:{recording}").returncode == 0)
    os.close(slave)
    os.close(master)


def test_refusals(folder):
    cases = [
        ((), 2, b"PROFILE@DEVICE is missing"),
        (("status-basis-kg",), 2, b"expected PROFILE@DEVICE"),
        (("--count", "none", "a@b"), 2, b"--count wants a number"),
        (("--send", "reset", "a@b"), 2, b"--send wants tare, zero or units"),
        (("--colour",), 2, b"no option --colour"),
        (("nobody@/dev/ttyUSB0",), 3, b"status-basis-kg"),
        (("status-basis-kg@/dev/ttyUSB77",), 4, b"there is no device /dev/ttyUSB77"),
        (("status-basis-kg@carrier:pigeon",), 4, b"no driver for"),
        (("status-basis-kg@/dev/null",), 4, b"not a serial line"),
        (("status-basis-kg@replay:/dev/null",), 4, b"no recording"),
        (("status-basis-kg@/dev/null", "--capture", folder), 3, b"can't be written"),
    ]
    for args, code, says in cases:
        p = run(*args)
        one_line = p.stderr.count(b"\n") == 1
        check(f"{' '.join(args)!r} is refused", p.returncode == code and says in p.stderr and one_line, p.stderr)
    left = os.path.join(folder, "left.log")
    run("status-basis-kg@/dev/null", "--capture", left)
    check("a device that can't be opened leaves no recording", not os.path.exists(left))
    check("--help", b"usage: tareline listen" in run("--help").stdout)


with tempfile.TemporaryDirectory() as tmp:
    test_count_and_capture(tmp)
    test_refusals(tmp)
    test_send(tmp)
test_interrupt_and_unplug()
test_hostile_bytes()
test_every_profile_survives()
test_polled()
test_pretend_scales()
