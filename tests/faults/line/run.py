#!/usr/bin/env python3
"""run.py [--list | --short | ROW...]: every way in which a scale's line can fail, one row each, on the whole station.

In each row: no weight is recorded but the true one within a division, or none; the right notice is said; after a line that
was lost the platform is proved before anything is accepted; the item can be finished when the line is right again; the
program does not end, and its memory does not grow; and a run is the same when it is played again from its capture."""
import fcntl
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from decimal import Decimal

from cable import Cable, DeviceServer, at_other_speed, seven_even
from work import CUP, GROWTH_KB, HALF, PROGRAM, TARGET, Work

ROWS = {}
SHORT = []
VM = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "e2e", "vm", "vm.py")


def row(short=False, cable=Cable):
    def add(function):
        name = function.__name__.replace("_", "-")
        ROWS[name] = function
        function.cable = cable
        if short:
            SHORT.append(name)
        return function
    return add


# ---- pulled ----

@row(short=True)
def unplugged(w):
    """Pulled and plugged again under the same name and another number, the load untouched: it goes on where it was."""
    w.to_half()
    before = w.cable.number
    w.cable.unplug()
    w.notice("unplugged")
    w.cable.plug()
    assert w.cable.number != before
    w.notice("back")
    w.settles(HALF)
    assert w.open["ask"] == "fill" and "clear" not in w.asked, w.asked
    w.to_end()


@row(short=True)
def unplugged_poured_meanwhile(w):
    """The load that is in its band when it comes back is another than before: proved empty first."""
    w.to_half()
    w.cable.unplug()
    w.notice("unplugged")
    w.person.pour(TARGET)
    w.cable.plug()
    w.prompt("clear", last=False)
    assert not w.recorded and "weight" not in w.asked, w.asked
    w.to_end()


@row()
def unplugged_zeroed_meanwhile(w):
    """It comes back at zero with the cup on it."""
    w.to_half()
    w.cable.unplug()
    w.notice("unplugged")
    w.cable.zero_key()
    w.cable.plug()
    w.notice("lost")
    w.to_end(before=["empty"])


@row(short=True)
def unplugged_at_confirm(w):
    """A yes while it is pulled is refused, and one after a changed load too."""
    w.to_confirm()
    w.cable.unplug()
    w.notice("unplugged", answers=False)
    w.yes()
    w.until(lambda e: e["event"] == "refused", "refused", answers=False)
    w.cable.set(CUP + TARGET - 20)
    w.cable.plug()
    w.notice("back", answers=False)
    w.yes()
    w.until(lambda e: e["event"] == "refused", "refused", answers=False)
    w.prompt("clear", last=False)
    assert not w.recorded
    w.to_end()


@row()
def unplugged_again_and_again(w):
    """A loose plug: six times within seconds."""
    w.to_half()
    for _ in range(6):
        w.cable.unplug()
        w.notice("unplugged")
        w.cable.plug()
        w.notice("back")
    w.settles(HALF)
    assert not w.recorded
    w.to_end()


@row()
def unplugged_at_container(w):
    """Pulled before the cup is put on; plugged again with it: what stands there was not seen coming."""
    w.start()
    w.prompt("container", last=False)
    w.cable.unplug()
    w.notice("unplugged", answers=False)
    w.cable.set(CUP)
    w.cable.plug()
    w.prompt("clear", last=False)
    w.mark()
    w.to_end()


@row()
def unplugged_after_accepted(w):
    """The accepted cup is lifted off while it is pulled."""
    w.to_confirm()
    w.yes()
    w.until(lambda e: e["event"] == "recorded", "recorded", answers=False)
    w.cable.unplug()
    w.notice("unplugged", answers=False)
    w.cable.set(0)
    w.cable.plug()
    w.notice("back", answers=False)
    w.to_end()


@row()
def pulled_for_long(w):
    w.to_half()
    w.cable.unplug()
    w.notice("unplugged")
    w.for_seconds(6)
    assert w.said.count("unplugged") == 1, w.said
    w.cable.plug()
    w.notice("back")
    w.to_end()


# ---- a network that is cut, where nothing says so ----

SILENT_S, GONE_S = 4, 16  # most seconds from the cut until it is said; see the profile's silence and drivers/tcp.c


def cut(w):
    """Silence is said first; then the kernel gives the connection up."""
    began = time.monotonic()
    w.cable.unplug()
    w.notice("silent", answers=False)
    silent = time.monotonic() - began
    w.notice("unplugged", answers=False)
    gone = time.monotonic() - began
    print("silent after %.1f s, unplugged after %.1f s" % (silent, gone))
    assert silent < SILENT_S and gone < GONE_S, (silent, gone)


@row(short=True, cable=DeviceServer)
def network_cut(w):
    """It comes back with the load untouched: a new connection, and it goes on where it was."""
    w.to_half()
    cut(w)
    w.cable.plug()
    w.notice("back")
    w.settles(HALF)
    assert w.open["ask"] == "fill" and "clear" not in w.asked and w.cable.connections == 2, (w.asked, w.cable.connections)
    w.to_end()


@row(cable=DeviceServer)
def network_cut_poured_meanwhile(w):
    """What stands there when it is back was not seen coming, though it is in its band."""
    w.to_half()
    cut(w)
    w.person.pour(TARGET)
    w.cable.plug()
    w.prompt("clear", last=False)
    assert not w.recorded and "weight" not in w.asked, w.asked
    w.to_end()


@row(short=True, cable=DeviceServer)
def network_hole(w):
    """The connection outlives it: what was sent meanwhile arrives late and all at once, first the old load, then the new. A
    yes on the last weight before it is refused, and the new one is proved."""
    w.to_confirm()
    w.cable.unplug()
    w.notice("silent", answers=False)
    w.yes()
    w.until(lambda e: e["event"] == "refused", "refused", answers=False)
    w.person.pour(TARGET + 4)  # another one that is in its band
    w.for_seconds(1, answers=False)
    w.cable.plug()
    w.prompt("clear", last=False)
    assert not w.recorded and w.cable.connections == 1, (w.recorded, w.cable.connections)
    w.to_end()


# ---- silent, slow, stuck ----

@row(short=True)
def silent(w):
    w.to_half()
    w.cable.mute = True
    w.notice("silent")
    w.cable.mute = False
    w.notice("back")
    w.settles(HALF)
    assert "clear" not in w.asked
    w.to_end()


@row()
def silent_from_the_start(w):
    """Nothing was ever heard of it, and nothing else wakes the station."""
    w.cable.mute = True
    w.start()
    w.notice("silent", answers=False)
    w.cable.mute = False
    w.notice("back", answers=False)
    w.to_end()


@row()
def silent_poured_meanwhile(w):
    w.to_half()
    w.cable.mute = True
    w.notice("silent")
    w.person.pour(TARGET)
    w.cable.mute = False
    w.prompt("clear", last=False)
    assert not w.recorded and "weight" not in w.asked, w.asked
    w.to_end()


@row(short=True)
def silent_at_confirm(w):
    """The last weight was good; the yes comes when it is old."""
    w.to_confirm()
    w.cable.mute = True
    w.notice("silent", answers=False)
    w.cable.set(CUP + TARGET + 50)
    w.yes()
    w.until(lambda e: e["event"] == "refused", "refused", answers=False)
    w.cable.set(CUP + TARGET)
    w.cable.mute = False
    w.to_end()


@row()
def hole_shorter_than_silence(w):
    """1.5 s without a line, in which the cup was changed for one that would be in its band."""
    w.to_half()
    w.cable.mute = True
    w.for_seconds(1.5)
    w.person.pour(TARGET)
    w.cable.mute = False
    w.until(lambda e: e["event"] == "reading" and e["state"] == "settled", "settled")
    w.to_end(before=["clear"])


@row()
def slow(w):
    """Every 0.35 s, not ten times a second: still good enough."""
    w.to_half()
    w.cable.period = 0.35
    w.person.wanted = TARGET
    w.to_end()


@row()
def too_slow(w):
    """A line each 1.2 s: between two of them a cup can come and go. Nothing is taken, and it is said."""
    w.to_half()
    w.cable.period = 1.2
    w.person.wanted = TARGET
    w.person.pour(TARGET)
    w.notice("seldom")
    w.for_seconds(5)
    assert not w.recorded and w.said.count("seldom") == 1, w.said
    w.cable.period = 0.1
    w.to_end()


@row()
def far_too_slow(w):
    """A line each 2.6 s: silent and back again, and nothing taken."""
    w.to_half()
    w.cable.period = 2.6
    w.person.wanted = TARGET
    w.person.pour(TARGET)
    for _ in range(2):
        w.notice("silent")
        w.notice("back")
    assert not w.recorded
    w.cable.period = 0.1
    w.to_end()


@row(short=True)
def stuck_frame(w):
    """Something on the way repeats the last line for ever; what is poured is not seen, so it is not taken."""
    w.to_half()
    with w.cable.lock:
        stuck = w.cable.frame()
        w.cable.bend = lambda frame: stuck
    w.person.wanted = TARGET
    w.person.pour(TARGET)
    w.for_seconds(5)
    assert not w.recorded and w.asked == [], w.asked
    w.cable.bend = None
    w.to_end()


@row()
def stuck_in_its_band(w):
    """It sticks where the weight is good. The next item can't begin: the platform is never seen empty."""
    w.to_confirm()
    with w.cable.lock:
        stuck = w.cable.frame()
        w.cable.bend = lambda frame: stuck
    w.yes()
    w.until(lambda e: e["event"] == "recorded", "recorded", answers=False)
    w.for_seconds(6)
    assert w.open["ask"] == "clear" and w.asked[-1] == "clear", w.asked
    w.cable.bend = None
    w.to_end()


# ---- damaged ----

@row(short=True)
def half_frame(w):
    """It breaks off in the middle of a line, and goes on with a new one right behind it."""
    w.to_half()
    half = []
    w.cable.bend = lambda frame: b"" if half else half.append(1) or frame[:11]
    w.notice("silent")
    w.cable.bend = None
    w.notice("back")
    w.settles(HALF)
    w.to_end()


@row()
def half_frames(w):
    """Every line is cut off somewhere, with and without its end."""
    dice = random.Random(4)
    w.to_half()

    def cut(frame):
        n = dice.randrange(1, 15)
        return dice.choice([frame[:n], frame[:n] + b"\r\n", frame[n:]])
    w.cable.bend = cut
    w.person.wanted = TARGET
    w.person.pour(TARGET)
    w.notice("garbled")
    assert not w.recorded
    w.cable.bend = None
    w.to_end()


@row(short=True)
def doubled_frames(w):
    """Every line comes twice: nothing to say, and nothing is wrong."""
    w.cable.bend = lambda frame: frame + frame
    w.to_half()
    w.to_end()
    assert not w.said, w.said


@row()
def doubled_bytes(w):
    w.to_half()
    w.cable.bend = lambda frame: bytes(b for b in frame for _ in "12")
    w.notice("garbled")
    w.cable.bend = None
    w.notice("back")
    w.to_end()


def flipped(dice, frame, count):
    data = bytearray(frame)
    for bit in dice.sample(range(8 * len(frame)), count):
        data[bit // 8] ^= 1 << bit % 8
    return bytes(data)


def through_errors(w, bend, seconds=20):
    """The pour to the target and what is asked then, all of it over a bad line; then over a good one."""
    w.to_half()
    w.cable.bend = bend
    w.person.wanted = TARGET
    w.person.pour(TARGET - 30)
    w.for_seconds(seconds / 2)
    assert not w.recorded, "70 g is not in the band"
    w.person.pour(TARGET)
    w.for_seconds(seconds / 2)
    w.cable.bend = None
    w.to_end()


@row(short=True)
def bit_errors(w):
    """One bit of every fourth line."""
    dice = random.Random(1)
    through_errors(w, lambda frame: flipped(dice, frame, 1) if dice.random() < 0.25 else frame, 8)


@row()
def many_bit_errors(w):
    """One or two bits of nearly every line; no check sum."""
    dice = random.Random(2)
    through_errors(w, lambda frame: flipped(dice, frame, dice.choice([1, 2])) if dice.random() < 0.9 else frame)


@row()
def same_bit_error(w):
    """The same digit is wrong in each third line: it never agrees with its neighbours."""
    count = []

    def bend(frame):
        count.append(1)
        return frame[:12] + bytes([frame[12] ^ 2]) + frame[13:] if len(count) % 3 == 0 else frame
    through_errors(w, bend, 10)


@row()
def lost_and_doubled_bytes(w):
    dice = random.Random(3)

    def bend(frame):
        n = dice.randrange(len(frame))
        return dice.choice([frame, frame[:n] + frame[n + 1:], frame[:n + 1] + frame[n:]])
    through_errors(w, bend)


@row(short=True)
def wrong_speed(w):
    """The scale was set to half the speed: its bits as ours see them."""
    w.to_half()
    w.cable.bend = lambda frame: at_other_speed(frame, 0.5)
    w.notice("garbled")
    w.cable.bend = None
    w.notice("back")
    w.to_end()


@row()
def wrong_speed_other_way(w):
    w.to_half()
    w.cable.bend = lambda frame: at_other_speed(frame, 2.0)
    w.notice("garbled")
    w.cable.bend = None
    w.notice("back")
    w.to_end()


@row()
def wrong_speed_slightly(w):
    """14400 for 9600, and noise that looks like digits."""
    w.to_half()
    w.cable.bend = lambda frame: at_other_speed(frame, 2 / 3)
    w.notice("garbled")
    w.cable.bend = None
    w.to_end()


@row()
def wrong_parity(w):
    """7 bits and even parity on a line that is read as 8 bits."""
    w.to_half()
    w.cable.bend = seven_even
    w.notice("garbled")
    w.cable.bend = None
    w.to_end()


# ---- noise ----

@row(short=True)
def noise_before_start(w):
    """What queued in the port, old lines among it, and what crackles while the station starts. None of it is a weight of now."""
    dice = random.Random(5)
    w.cable.set(2222)
    time.sleep(0.5)
    w.cable.set(0)
    w.cable.bend = lambda frame: dice.randbytes(dice.randrange(40))
    time.sleep(0.5)
    w.start()
    w.until(lambda e: e["event"] == "prompt", "the first prompt", answers=False)
    w.for_seconds(1, answers=False)
    w.cable.bend = None
    old = [e for e in w.station.events if e["event"] == "reading" and e["gross_g"] == 2222]
    assert not old, "%d old lines were read" % len(old)
    w.person.on_prompt(w.station, w.open)
    w.prompt("fill")
    w.to_end()


@row()
def noise_between_frames(w):
    """Bytes between the lines: the line behind them is lost, never taken wrong."""
    dice = random.Random(6)

    def bend(frame):
        return frame + dice.randbytes(dice.randrange(1, 20)) if dice.random() < 0.3 else frame
    through_errors(w, bend)


def not_grown(w, before):
    grown = w.memory_kb() - before
    assert grown <= GROWTH_KB, "%d KiB more" % grown


def flooded(w, data):
    w.captured = False  # a capture would hold all of it
    w.to_half()
    before = w.memory_kb()
    w.cable.bend = lambda frame: data[:500]
    w.cable.flood(data)
    w.notice("garbled")
    not_grown(w, before)
    assert not w.recorded and not w.asked, w.asked
    w.cable.bend = None
    w.notice("back")
    w.settles(HALF)
    w.to_end()
    assert "\x1b" not in repr(w.station.errors)


@row(short=True)
def flood(w):
    """3 MB of anything, as fast as it is read."""
    flooded(w, random.Random(7).randbytes(3_000_000))


@row()
def flood_of_lines(w):
    """Lines that nearly are some, and terminal sequences."""
    dice = random.Random(8)
    flooded(w, b"".join(dice.choice([b"ST,GS,+  0.50\r\n", b"\x1b[2J\x1b]0;x\x07\r\n", b"\r\n", b"ST,GS,+99999999999999kg\r\n",
                                     b"ST,GS,+  0.4,0kg\r\n"]) for _ in range(150_000)))


@row(short=True)
def endless_line(w):
    """3 MB without an end."""
    flooded(w, b"5" * 3_000_000)


@row()
def nothing_but_nul(w):
    """A line that is held down: a break is a NUL."""
    flooded(w, bytes(1_000_000))


@row()
def flood_of_frames(w):
    """As many true lines as the station can take."""
    w.to_half()
    before = w.memory_kb()
    with w.cable.lock:
        frame = w.cable.frame()
    w.cable.flood(frame * 20_000)
    not_grown(w, before)
    w.settles(HALF)
    w.to_end()


# ---- who else ----

@row(short=True)
def held_by_another_program(w):
    """Refused with exit code 4 and a sentence; when the other one ends, it works."""
    fd = os.open(w.cable.link, os.O_RDWR | os.O_NOCTTY)
    fcntl.flock(fd, fcntl.LOCK_EX)
    out = subprocess.run([PROGRAM, "weigh"] + w.arguments() + ["--json"], stdin=subprocess.DEVNULL, capture_output=True,
                         timeout=60, check=False)
    assert out.returncode == 4 and b"in use by another program" in out.stderr, out
    assert not out.stdout, out.stdout
    os.close(fd)
    w.to_half()
    w.to_end()


@row()
def taken_while_unplugged(w):
    """Another program is quicker when it is plugged again; then that one ends."""
    w.to_half()
    w.cable.unplug()
    w.notice("unplugged")
    w.cable.plug(taken=True)
    w.notice("busy")
    w.cable.other_ends()
    w.notice("back")
    w.settles(HALF)
    w.to_end()


@row(short=True)
def plugged_again_but_unusable(w):
    """What answers to its name can't be used: the reason is said, once, and not that it is unplugged. Then it is plugged in rightly,
    with another load."""
    w.to_half()
    w.cable.unplug()
    w.notice("unplugged")
    w.cable.name("/dev/null")
    said = w.notice("unusable")["text"]
    assert "can't be used yet" in said and "is not a serial line" in said, said
    w.for_seconds(3)
    assert w.said == ["unplugged", "unusable"] and not w.recorded, w.said
    os.unlink(w.cable.link)
    w.notice("unplugged")
    w.person.pour(TARGET)
    w.cable.plug()
    w.prompt("clear", last=False)
    assert not w.recorded and "weight" not in w.asked, w.asked
    w.to_end()


# ---- stopped ----

def stopped(w, meanwhile):
    w.station.process.send_signal(signal.SIGSTOP)
    meanwhile()
    w.station.process.send_signal(signal.SIGCONT)


@row(short=True)
def old_bytes_in_its_band(w):
    """While the program was stopped, lines in the band queued; then the cup was changed, and the line died. The yes that also
    queued finds only old bytes."""
    w.to_confirm()

    def meanwhile():
        time.sleep(3)
        w.cable.mute = True
        w.cable.set(CUP + TARGET - 40)
        w.person.content = TARGET - 40
        w.yes()
    stopped(w, meanwhile)
    w.until(lambda e: e["event"] == "refused", "refused", answers=False)
    assert not w.recorded
    w.cable.mute = False
    w.to_end()


@row()
def poured_while_stopped(w):
    """The pour to the target was not seen: it is proved first."""
    w.to_half()

    def meanwhile():
        time.sleep(2)
        w.person.pour(TARGET)
        time.sleep(1)
    stopped(w, meanwhile)
    w.to_end(before=["clear"])


@row()
def stopped_until_the_queue_is_full(w):
    """The queue holds the oldest lines and has lost the newest."""
    w.to_half()

    def meanwhile():
        with w.cable.lock:
            frame = w.cable.frame()
        for _ in range(400):
            with w.cable.lock:
                w.cable.send(frame * 20)
        w.person.pour(TARGET - 10)
        time.sleep(2)
    stopped(w, meanwhile)
    w.for_seconds(3)
    w.to_end(before=["clear"])


def on_own_network(name):
    """The row again in a namespace of its own, or, where none may be made, in the small virtual machine."""
    may = subprocess.run(["unshare", "-rn", "true"], stderr=subprocess.DEVNULL, check=False).returncode == 0
    first = ["unshare", "-rn"] if may else [VM, "--seconds", "280", "--"]
    command = first + ["env", "TARELINE=" + PROGRAM, "python3", os.path.abspath(__file__), "--inside", name]
    return subprocess.run(command, check=False).returncode


def main(args):
    if args in (["--list"], ["--short"]):
        print(*(SHORT if args == ["--short"] else ROWS))
        return 0
    inside = args[:1] == ["--inside"]
    for name in args[inside:] or ROWS:
        if ROWS[name].cable is DeviceServer and not inside:
            if on_own_network(name):
                return 1
            continue
        began = time.monotonic()
        with tempfile.TemporaryDirectory() as folder:
            w = Work(folder, ROWS[name].cable(folder + "/bench"))
            try:
                ROWS[name](w)
            except AssertionError:
                print(*(w.station.events[-40:] if w.station else ()), w.cable.load, sep="\n")
                raise
            finally:
                w.clean_up()
        print("%s ok, %.0f s" % (name, time.monotonic() - began), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
