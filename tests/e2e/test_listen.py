#!/usr/bin/env python3
"""tareline listen against a pseudo-terminal of this test's own: bytes, counts, recordings, endings and exit codes."""

import json
import os
import pty
import signal
import subprocess
import sys
import tempfile
import time
import tty

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


def test_pretend_scales():
    """Every shipped profile against the pretend scale that speaks it, paced at its baud rate."""
    weights = {
        "status-basis-kg": 2350,
        "asked-comma-g": 123.45,
        "lettered-lb": 12.345 * 453.59237,
        "bare-kg": 1235,
    }
    for profile, grams in weights.items():
        division = "0.01g" if grams < 200 else "5g" if profile == "status-basis-kg" else "0.005lb" if "lb" in profile else "1g"
        pretend = subprocess.Popen(
            [PROGRAM, "pretend", profile, "--capacity", "15kg", "--division", division],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        path = pretend.stdout.readline().strip()
        pretend.stdin.write(f"put {grams:.5f} g\n")
        pretend.stdin.flush()
        pretend.stdout.readline()
        time.sleep(3)
        seen = run(f"{profile}@{path}", "--json", "--count", "5")
        lines = [json.loads(line) for line in seen.stdout.splitlines()]
        readings = [x for x in lines if x["event"] == "reading"]
        near = readings and abs(readings[-1]["mass_g"] - grams) <= 3 * max(readings[-1]["step_g"], 1)
        check(f"{profile}: reads what was put on", seen.returncode == 0 and near, (seen.stderr, lines))
        refused = [i for i, x in enumerate(lines) if x["event"] in ("bad-line", "too-long")]
        check(f"{profile}: none refused but a first one that lost its front", refused in ([], [1]), lines)
        pretend.stdin.write("quit\n")
        pretend.stdin.flush()
        pretend.wait(timeout=10)


def test_refusals(folder):
    cases = [
        ((), 2, b"PROFILE@DEVICE is missing"),
        (("status-basis-kg",), 2, b"expected PROFILE@DEVICE"),
        (("--count", "none", "a@b"), 2, b"--count wants a number"),
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
test_interrupt_and_unplug()
test_hostile_bytes()
test_polled()
test_pretend_scales()
