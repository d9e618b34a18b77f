#!/usr/bin/env python3
"""What can't work is said before anything is weighed: one clear line, the documented exit code, no entry. What breaks in the
middle (a full disk) loses nothing."""
import contextlib
import fcntl
import json
import os
import pty
import shutil
import sqlite3
import struct
import subprocess
import sys
import tempfile
import termios
import time

from client import Operator, Station, bench_and_fine, run, scale_arguments

PROGRAM = os.path.abspath(os.environ.get("TARELINE", "build/tareline"))
LUGS = {"pork-shoulder": ["9000", "5000"], "pork-belly": ["6000"]}


def weigh(args, program=PROGRAM, **more):
    return subprocess.run([program, "weigh"] + args, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=20,
                          **more)


def refused(code, words, args, journal=None, unsaid=(), **more):
    out = weigh(args, **more)
    assert out.returncode == code, (args, out.returncode, out.stderr, out.stdout)
    for word in words:
        assert word in out.stderr, (args, word, out.stderr)
    for word in unsaid:
        assert word not in out.stderr, (args, word, out.stderr)
    assert out.stderr.count("\n") >= 1 and "\x1b" not in out.stderr
    if journal and os.path.exists(journal):
        with contextlib.closing(sqlite3.connect(journal)) as db:
            assert db.execute("select count(*) from journal where batch != ''").fetchone()[0] == 0, "an entry was left"


def arguments(folder, scales):
    journal = folder + "/j.db"
    good = ["smoked-bratwurst", "--station", "smokehouse", "--journal", journal, "--json"]
    refused(2, ["formula"], ["--json"])
    refused(2, ["--help", "--frobnicate"], ["smoked-bratwurst", "--frobnicate"])
    refused(2, ["missing after --station"], ["smoked-bratwurst", "--station"])
    refused(2, ["missing after --journal"], ["smoked-bratwurst", "--journal", "--plain"])
    assert not os.path.exists("--plain"), "a journal of that name was made"
    refused(2, ["--meat", "unit"], ["smoked-bratwurst", "--meat", "12"])
    refused(2, ["--meat", "9223 kg"], ["smoked-bratwurst", "--meat", "9500 kg"])
    bench = "bench=status-basis-kg@" + scales["bench"].path
    for argument, word in ("bench", '"="'), ("=status-basis-kg@/dev/x", "name"), (bench + ",class=V", "class"):
        refused(2, [word, "NAME=PROFILE@DEVICE"], good + ["--scale", argument], journal)
    refused(2, ["bench", "twice"], good + ["--scale", bench, "--scale", bench], journal)
    for number in "0", "100", "4294967297", "-1", "7x", "":
        refused(2, ["--batches"], ["smoked-bratwurst", "--batches", number])
    refused(3, ["no-such-formula"], ["no-such-formula", "--station", "smokehouse", "--journal", journal])
    refused(3, ["smoked-bratwurst", "jurisdiction"], ["smoked-bratwurst", "--journal", journal] + scale_arguments(scales) +
            ["--scale", "spare=status-basis-kg@/dev/null,capacity=1kg,division=1g"], journal)
    # what a file that can't be read names or leaves out is not known: not a word of it
    for station in "no-such-station", "smokehouse-people":
        refused(3, [station], good[:1] + ["--station", station, "--journal", journal], journal, unsaid=["regulated", "no scale"])
    # a people file lies beside the stations and is none
    refused(3, ["smokehouse"], good[:1] + ["--station", "smokehous"], unsaid=["smokehouse-people"])
    refused(3, ["no-such-profile"], good + ["--scale", "bench=no-such-profile@" + scales["bench"].path], journal)
    refused(3, ["division"], ["fresh-breakfast", "--journal", journal, "--scale", "x=status-basis-kg@/dev/null"], journal)
    refused(3, ["XX", "smokehouse-people"], good + ["--person", "XX"] + scale_arguments(scales), journal)
    refused(4, ["/dev/ttyNOPE"], good + ["--scale", "bench=status-basis-kg@/dev/ttyNOPE"], journal)
    refused(4, ["nonsense:1", "DEVICE"], good + ["--scale", "bench=status-basis-kg@nonsense:1"], journal)


def amounts(folder, scales):
    """A declared or planned mass is judged before anything is asked: here by a bench scale of 5 g for some grams of cure."""
    journal = folder + "/amounts.db"
    common = ["--station", "smokehouse", "--journal", journal, "--json"] + scale_arguments({"bench": scales["bench"]})
    for formula in (["smoked-bratwurst", "--meat", "10 kg"], ["kit-summer-sausage"]):
        refused(1, ["no scale here is fit", "curing-salt", "plan"], formula + common, journal)
    refused(3, ["9223 kg"], ["smoked-bratwurst", "--meat", "9000 kg"] + common, journal)
    refused(2, ["above zero"], ["smoked-bratwurst", "--meat", "0 kg"] + common, journal)


def journals(folder, scales):
    args = ["smoked-bratwurst", "--station", "smokehouse"] + scale_arguments(scales)
    foreign = folder + "/foreign.db"
    with open(foreign, "wb") as f:
        f.write(b"this is somebody's shopping list, not a journal\n" * 40)
    refused(5, ["foreign.db"], args + ["--journal", foreign])
    with open(foreign, "rb") as f:
        assert f.read().startswith(b"this is somebody's"), "the foreign file was touched"
    if os.getuid() == 0:  # root writes anywhere, so somebody else tries
        locked = folder + "/locked"
        os.mkdir(locked, 0o755)
        os.chmod(folder, 0o755)
        # the tree may lie where only root can look
        shutil.copy(PROGRAM, folder + "/tareline")
        shutil.copytree("profiles", folder + "/profiles")
        subprocess.run(["chmod", "-R", "a+rX", folder], check=True)
        refused(5, ["locked"], args + ["--journal", locked + "/j.db"], program=folder + "/tareline", cwd=folder,
                env={**os.environ, "TARELINE_PROFILES": folder + "/profiles"}, user=65534, group=65534, extra_groups=[])
    refused(5, ["/proc"], args + ["--journal", "/proc/nowhere/j.db"])
    # a folder that somebody named is not made: its disk may not be mounted. Our own place is.
    fresh = ["fresh-breakfast", "--scale", "a=status-basis-kg@%s,capacity=15kg,division=5g" % scales["bench"].path]
    refused(5, ["stick", "mounted", "--journal"], fresh + ["--journal", folder + "/stick/j.db"])
    refused(5, ["stick", "mounted"], fresh, env={**os.environ, "TARELINE_JOURNAL": folder + "/stick/j.db"})
    assert not os.path.exists(folder + "/stick")
    env = {**os.environ, "XDG_DATA_HOME": folder + "/data", "TARELINE_JOURNAL": ""}
    assert weigh(fresh, env=env).returncode == 1 and os.path.exists(folder + "/data/tareline/journal.db")


def unknown_to_all(folder, scales):
    """Without a people file nobody can be looked up: the argument is refused, in one line."""
    refused(2, ["--person TH", "people file", "unnamed"],
            ["fresh-breakfast", "--person", "TH", "--journal", folder + "/p.db", "--scale",
             "a=status-basis-kg@%s,capacity=15kg,division=5g" % scales["bench"].path], folder + "/p.db")


def captures(folder, scales):
    """What is there already is not written over, but for an older capture."""
    args = ["fresh-breakfast", "--json", "--scale", "a=status-basis-kg@%s,capacity=15kg,division=5g" % scales["bench"].path]
    note, journal = folder + "/note.ini", folder + "/k.db"
    with open(note, "w") as f:
        f.write("# the only copy\n")
    refused(3, ["note.ini", "--capture"], args + ["--journal", journal, "--capture", note])
    refused(3, ["k.db", "--capture"], args + ["--journal", journal, "--capture", journal])
    refused(3, ["nowhere", "--capture"], args + ["--journal", journal, "--capture", folder + "/nowhere/c"])
    with open(note) as f:
        assert f.read() == "# the only copy\n"
    for _ in range(2):
        out = weigh(args + ["--journal", journal, "--capture", folder + "/c"])
        assert out.returncode == 1, out.stderr  # left at the first prompt: its input has ended
        assert weigh(["--replay", folder + "/c"]).returncode == 1
    refused(5, ["TMPDIR", folder + "/nowhere"], ["--replay", folder + "/c"], env={**os.environ, "TMPDIR": folder + "/nowhere"})


def busy(folder, scales):
    first = Station(PROGRAM, ["smoked-bratwurst", "--station", "smokehouse", "--journal", folder + "/a.db"] +
                    scale_arguments(scales))
    while first.next()["event"] != "prompt":
        pass
    refused(4, [scales["bench"].path], ["smoked-bratwurst", "--station", "smokehouse", "--journal", folder + "/b.db"] +
            scale_arguments(scales), folder + "/b.db")
    refused(5, ["a.db"], ["smoked-bratwurst", "--station", "smokehouse", "--journal", folder + "/a.db"] +
            scale_arguments(scales))
    first.kill()


def clock(folder, scales):
    shim = folder + "/clock.so"
    source = folder + "/clock.c"
    with open(source, "w") as f:
        f.write("#define _GNU_SOURCE\n#include <time.h>\n#include <unistd.h>\n#include <sys/syscall.h>\n"
                "int clock_gettime(clockid_t c, struct timespec *t) { int r = (int)syscall(SYS_clock_gettime, c, t);"
                " if (c == CLOCK_REALTIME) t->tv_sec = 86400; return r; }\n")
    subprocess.run(["gcc", "-shared", "-fPIC", "-o", shim, source], check=True)
    refused(5, ["clock"], ["smoked-bratwurst", "--station", "smokehouse", "--journal", folder + "/c.db"] +
            scale_arguments(scales), folder + "/c.db", env=dict(os.environ, LD_PRELOAD=shim))


def full_output(folder, scales):
    """What is said goes to a disk that is full: paused, and said where it can still be said, once."""
    args = ["smoked-bratwurst", "--station", "smokehouse", "--journal", folder + "/f.db"] + scale_arguments(scales)
    for how in ("--json", "--plain"):
        with open("/dev/full", "wb") as full:
            out = subprocess.run([PROGRAM, "weigh", how] + args, stdin=subprocess.PIPE, stdout=full, text=True,
                                 stderr=subprocess.PIPE, timeout=20)
        assert out.returncode == 1, (how, out.returncode, out.stderr)
        assert out.stderr.count("No space left on device") == 1 and "paused" in out.stderr, out.stderr


def small_terminal(folder, scales):
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 20, 60, 0, 0))
    out = subprocess.run([PROGRAM, "weigh", "smoked-bratwurst", "--station", "smokehouse", "--journal", folder + "/t.db"] +
                         scale_arguments(scales), stdin=slave, stdout=slave, stderr=subprocess.PIPE, text=True, timeout=20,
                         env=dict(os.environ, TERM="xterm"))
    assert out.returncode == 2 and "80x24" in out.stderr, (out.returncode, out.stderr)
    os.close(master)
    os.close(slave)


def other_formula(folder, scales):
    args = ["--station", "smokehouse", "--journal", folder + "/o.db"] + scale_arguments(scales)
    station = Station(PROGRAM, ["smoked-bratwurst"] + args)
    run(station, Operator(scales, dict(LUGS)), lambda e: e["event"] == "recorded")
    station.kill()
    refused(1, ["smoked-bratwurst"], ["fresh-breakfast"] + args)


def full_disk(folder, scales):
    """The disk fills before the first entry, or in the middle of a batch: said, nothing moves, and when there is room again
    it goes on. The capture of such a run replays it."""
    fill_disk_after(folder, scales, "hello")
    fill_disk_after(folder, scales, "recorded")


def fill_disk_after(folder, scales, event):
    if os.getuid() != 0:
        print("not root: the full disk is left out")
        return
    small, capture = folder + "/small-" + event, folder + "/capture-" + event
    os.mkdir(small)
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "none", small]).returncode != 0:
        raise AssertionError("a small tmpfs can't be mounted")
    try:
        for s in scales.values():
            s.set(0)
        station = Station(PROGRAM, ["smoked-bratwurst", "--station", "smokehouse", "--journal", small + "/j.db",
                                    "--capture", capture] + scale_arguments(scales))
        operator = Operator(scales, {k: list(v) for k, v in LUGS.items()})
        run(station, operator, lambda e: e["event"] == event)
        fill(small + "/filler")
        seen = []
        wait = lambda e: seen.append(e) or (e["event"] == "notice" and e["code"] == "store")
        assert run(station, operator, wait) is None, "the full disk was not said"
        said = [e for e in seen if e["event"] in ("recorded", "noted")]
        before = len(said)
        time.sleep(0.5)
        os.unlink(small + "/filler")
        code = run(station, operator)
        assert code == 0, (code, station.errors, station.events[-3:])
        assert subprocess.run([PROGRAM, "records", "verify", "--journal", small + "/j.db"]).returncode == 0
        assert before <= len([e for e in station.events if e["event"] in ("recorded", "noted")])
        again = subprocess.run([PROGRAM, "weigh", "--replay", capture, "--json"], capture_output=True, text=True)
        assert again.returncode == 0, again.stderr
        assert [json.loads(line)["event"] for line in again.stdout.splitlines()] == [e["event"] for e in station.events]
    finally:
        subprocess.run(["umount", "-l", small])


def fill(path):
    with contextlib.suppress(OSError), open(path, "wb", buffering=0) as f:
        while True:
            f.write(b"\0" * 4096)


HOSTILE = b"x\x1b[31m\x07\x7f\xc2\x9b1m\x9b2m\xe2\x80\xae.ini"  # escapes of one byte and of two, and an override of direction


def harmless(output):
    text = output.decode()  # UTF-8 as a whole, or the byte 0x9b would begin an escape on some terminals
    return not any(ord(c) < 32 and c != "\n" or 127 <= ord(c) < 160 or c == "\u202e" for c in text)


def hostile_names(folder, _scales):
    """Names of files, devices, scales and people with control characters: no command says them as they are."""
    os.chdir(folder)
    with open(HOSTILE, "wb") as f:
        f.write(b"[scale]\nname = \x1b[1m\xc2\x9b1m\n")
    at, script = b"bare-kg@", b"bench=bare-kg@/dev/null,capacity=6kg,division=1g,class=III"
    forms = [[HOSTILE], [b"check", HOSTILE], [b"check", b"--" + HOSTILE], [b"listen", HOSTILE + b"@/dev/null"], [b"listen", HOSTILE],
             [b"listen", at + b"/dev/" + HOSTILE], [b"listen", at + b"tcp:" + HOSTILE + b":1"], [b"listen", at + b"replay:" + HOSTILE],
             [b"listen", b"usb-reports@hid:" + HOSTILE], [b"listen", b"registers-kg@modbus:/" + HOSTILE + b":1"],
             [b"listen", at + b"/dev/null", b"--capture", b"/" + HOSTILE + b"/x"], [b"listen", at + b"/dev/null", b"--count", HOSTILE],
             [b"pretend", HOSTILE], [b"pretend", b"bare-kg", b"--script", HOSTILE], [b"pretend", b"bare-kg", b"--on", HOSTILE],
             [b"ports", b"--prove", HOSTILE + b"=bare-kg"], [b"ports", b"--prove", b"a=bare-kg", b"/" + HOSTILE],
             [b"weigh", HOSTILE], [b"weigh", b"--replay", HOSTILE], [b"weigh", b"smoked-bratwurst", b"--station", HOSTILE],
             [b"weigh", b"smoked-bratwurst", b"--scale", HOSTILE + script], [b"plan", HOSTILE], [b"records", b"show", HOSTILE],
             [b"weigh", b"smoked-bratwurst", b"--journal", b"/" + HOSTILE + b"/j"], [b"records", b"list", b"--journal", HOSTILE]]
    for form in forms:
        out = subprocess.run([PROGRAM.encode(), *form], stdin=subprocess.DEVNULL, capture_output=True, timeout=20)
        assert out.returncode == 2 and b"holds bytes that are no text" in out.stderr, (form, out)
        assert harmless(out.stdout + out.stderr), (form, out.stderr)
    out = weigh(["smoked-bratwurst"], env=dict(os.environ, TARELINE_JOURNAL="/\x1b[1m"))
    assert out.returncode == 2 and "TARELINE_JOURNAL" in out.stderr and harmless(out.stderr.encode()), out


def hostile_contents(folder, _scales):
    """Files with control characters in what is quoted from them."""
    capture = b"tareline-capture 1\nbatches 1\nstart 1 1\nhead 0 " + b"0" * 64 + b"\nlast - -\ntext formula 7 " + HOSTILE + b"\nabc=\x1b\xc2\x9b\n"
    for name, data, command in (("f.ini", b"[scale]\nna\x1b[1m = 1\n", ["check"]), ("c1.ini", b"[scale]\nna\xc2\x9b1m = 1\n", ["check"]),
                                ("capture", capture, ["weigh", "--replay"])):
        path = os.path.join(folder, name)
        with open(path, "wb") as f:
            f.write(data)
        out = subprocess.run([PROGRAM, *command, path], stdin=subprocess.DEVNULL, capture_output=True, timeout=20)
        assert out.returncode in (1, 3) and out.stderr + out.stdout and harmless(out.stdout + out.stderr), out


def main():
    scales = bench_and_fine()
    cases = [arguments, amounts, journals, unknown_to_all, captures, busy, clock, full_output, small_terminal,
             other_formula, hostile_contents, hostile_names, full_disk]
    for case in cases:
        if len(sys.argv) > 1 and case.__name__ not in sys.argv[1:]:
            continue
        with tempfile.TemporaryDirectory() as folder:
            case(folder, scales)
        print(case.__name__, "ok", flush=True)


if __name__ == "__main__":
    sys.exit(main())
