#!/usr/bin/env python3
"""The pretend scale as a program, seen from the tty: pace, verbs, keys, polling, unplugging, scripts, ways to end."""
import os
import re
import select
import signal
import subprocess
import tempfile
import time
import tty
import unittest

PROGRAM = os.path.abspath(os.environ.get("TARELINE", "build/tareline"))

TALKS = """[scale]
name = talks
baud = 9600
bits = 8
parity = none
stop = 1
sends = continuous
period = 100 ms
silent = 2 s
end = \\r\\n
tare = T\\r\\n
zero = Z\\r\\n

[line]
shape = status:2 "," basis:2 "," sign weight:8 unit:3

[status]
stable = ST
moving = US
over = OL
under = UL

[basis]
gross = GS
net = NT

[unit]
kg = kg
lb = lb
"""
ASKED = """[scale]
name = asked
baud = 4800
bits = 7
parity = even
stop = 1
sends = polled
request = W\\r
period = 200 ms
timeout = 400 ms
silent = 2 s
end = \\r
decimal = comma
unit = g
basis = gross

[line]
shape = sign weight:8 " g" status:1

[status]
stable = " "
moving = M
over = --------
"""
LINE = re.compile(rb"^(ST|US),(GS|NT),([+-]) *(\d+\.\d+)(kg|lb) $|^(OL|UL),(GS|NT), {9}(kg|lb) $")


class Scale:
    """A running pretend scale with its standard input and, once opened, its tty."""

    def __init__(self, folder, profile=TALKS, *options, stdin=subprocess.PIPE):
        self.folder = folder
        self.file = os.path.join(folder, "p.ini")
        with open(self.file, "w") as f:
            f.write(profile)
        self.run = subprocess.Popen([PROGRAM, "pretend", self.file, *options], stdin=stdin, stdout=subprocess.PIPE,
                                    stderr=subprocess.PIPE, text=True)
        self.path = self.run.stdout.readline().strip()
        self.fd = -1

    def say(self, verb):
        self.run.stdin.write(verb + "\n")
        self.run.stdin.flush()
        return self.run.stdout.readline().strip()

    def ok(self, verb):
        answer = self.say(verb)
        assert answer.startswith("ok"), f"{verb}: {answer}"
        return answer

    def open(self, path=None):
        self.fd = os.open(path or self.path, os.O_RDWR | os.O_NOCTTY)
        return self.fd

    def close(self):
        os.close(self.fd)
        self.fd = -1

    def read(self, seconds, most=None):
        """(time, bytes) of each read."""
        end, got, n = time.monotonic() + seconds, [], 0
        while (left := end - time.monotonic()) > 0 and (most is None or n < most):
            if select.select([self.fd], [], [], left)[0]:
                data = os.read(self.fd, 4096)
                if not data:
                    break
                got.append((time.monotonic(), data))
                n += len(data)
        return got

    def bytes(self, seconds):
        return b"".join(data for _, data in self.read(seconds))

    def lines(self, seconds, end=b"\r\n"):
        """Whole lines that came, a cut-off first one left out."""
        return self.bytes(seconds).split(end)[1:-1]

    def figure(self):
        """What the newest line shows: (status, basis, text with unit)."""
        m = LINE.match(self.lines(0.35)[-1])
        assert m, "no good line"
        if m[6]:
            return m[6].decode(), m[7].decode(), ""
        return m[1].decode(), m[2].decode(), (m[3] + m[4] + m[5]).decode()

    def end(self):
        if self.fd >= 0:
            self.close()
        if self.run.poll() is None:
            self.run.kill()
        for f in (self.run.stdin, self.run.stdout, self.run.stderr):
            if f:
                f.close()
        self.run.wait()


class Pretend(unittest.TestCase):
    def setUp(self):
        self.temporary = tempfile.TemporaryDirectory()
        self.folder = self.temporary.name
        self.addCleanup(self.temporary.cleanup)

    def scale(self, *args, **named):
        s = Scale(self.folder, *args, **named)
        self.addCleanup(s.end)
        return s

    def test_lines_come_at_their_period(self):
        s = self.scale()
        s.open()
        lines = s.lines(3)
        self.assertIn(len(lines), range(27, 32))
        for line in lines:
            self.assertRegex(line, LINE)
            self.assertEqual(line, b"ST,GS,+   0.000kg ")

    def test_bytes_come_at_the_baud_rate(self):
        s = self.scale(TALKS.replace("9600", "1200").replace("100 ms", "400 ms"))
        s.open()
        got = s.read(2.5)
        gaps = sorted(b[0] - a[0] for a, b in zip(got, got[1:]) if a[1] != b"\n" and len(b[1]) == 1)
        self.assertGreater(len(gaps), 60)
        self.assertAlmostEqual(gaps[len(gaps) // 2], 10 / 1200, delta=0.0015)
        lines = [i for i, (_, data) in enumerate(got) if data == b"\n"]
        whole = sorted(got[b][0] - got[a + 1][0] for a, b in zip(lines, lines[1:]))
        self.assertAlmostEqual(whole[len(whole) // 2], 19 * 10 / 1200, delta=0.02)

    def test_put_pour_take_and_show(self):
        s = self.scale()
        s.open()
        s.ok("put 0.4 kg")
        s.ok("wait-settled")
        self.assertEqual(s.figure(), ("ST", "GS", "+0.400kg"))
        begun = time.monotonic()
        s.ok("pour 100 g at 100 g/s")
        self.assertIn(b"US", s.bytes(0.6))
        s.ok("wait-settled")
        self.assertGreater(time.monotonic() - begun, 1.0)
        self.assertEqual(s.say("show"), "ok true 500 g, shown 0.500 kg gross, stable")
        s.ok("take 20 g at 40 g/s")
        s.ok("wait-settled")
        self.assertEqual(s.say("show"), "ok true 480 g, shown 0.480 kg gross, stable")
        s.ok("pour 1 kg at 10 g/s")
        s.ok("stop")
        s.ok("take all")
        s.ok("wait-settled")
        self.assertEqual(s.say("show"), "ok true 0 g, shown 0.000 kg gross, stable")
        self.assertIn("holds 0 g", s.say("take 1 g"))
        self.assertRegex(s.say("put 12"), r"^error: .*put MASS.*12\.5 kg")
        self.assertRegex(s.say("lift"), r'^error: no verb "lift"')
        self.assertRegex(s.say("x" * 300), r"^error: .*longer than")

    def test_waits_hold_back_what_follows(self):
        s = self.scale()
        begun = time.monotonic()
        s.run.stdin.write("wait 0.5\nshow\n")
        s.run.stdin.flush()
        self.assertEqual(s.run.stdout.readline(), "ok\n")
        self.assertGreater(time.monotonic() - begun, 0.49)
        self.assertRegex(s.run.stdout.readline(), "^ok true 0 g")
        s.ok("vibrate 200 g 3 Hz 5 s")
        self.assertRegex(s.say("wait-settled 0.2"), "^error: not at rest")

    def test_over_under_and_disturbances(self):
        s = self.scale()
        s.open()
        s.ok("put 15.1 kg")
        s.ok("wait 2")
        self.assertEqual(s.figure()[0], "OL")
        s.ok("take all")
        s.ok("wait-settled")
        s.ok("bump 2 kg")
        self.assertTrue(any(line.startswith(b"US") for line in s.lines(1)))
        s.ok("vibrate 100 g 4 Hz 1.5 s")
        self.assertTrue(any(line.startswith(b"US") for line in s.lines(1.5)))
        s.ok("put 1 kg")
        s.ok("wait-settled")
        s.ok("restart")
        s.ok("wait 4")
        self.assertEqual(s.figure(), ("ST", "GS", "+0.000kg"))
        self.assertIn("true 1000 g", s.say("show"))
        s.ok("take all")
        s.ok("wait 2")
        self.assertEqual(s.figure()[0], "UL")

    def test_tare_and_zero_by_command_and_by_key(self):
        s = self.scale()
        s.open()
        s.ok("put 300 g")
        s.ok("wait-settled")
        os.write(s.fd, b"garbage T\r\n")
        self.assertEqual(s.lines(0.5)[-1], b"ST,NT,+   0.000kg ")
        s.ok("put 250 g")
        s.ok("wait-settled")
        self.assertEqual(s.figure(), ("ST", "NT", "+0.250kg"))
        s.ok("take all")
        s.ok("wait-settled")
        self.assertEqual(s.figure(), ("ST", "NT", "-0.300kg"))
        s.ok("tare")
        self.assertEqual(s.lines(0.5)[-1], b"ST,GS,+   0.000kg ")
        s.ok("put 100 g")
        s.ok("wait-settled")
        os.write(s.fd, b"Z\r\n")
        self.assertEqual(s.lines(0.5)[-1], b"ST,GS,+   0.000kg ")
        s.ok("unit lb")
        s.ok("put 1 lb")
        s.ok("wait-settled")
        self.assertEqual(s.figure()[2], "+1.00lb")
        self.assertRegex(s.say("unit oz"), "^error: .*can't say oz")

    def test_silence_and_garbage(self):
        s = self.scale()
        s.open()
        s.ok("silent 1")
        time.sleep(0.05)
        s.bytes(0.05)
        self.assertEqual(s.bytes(0.7), b"")
        self.assertGreater(len(s.lines(1)), 4)
        s.ok("silent")
        s.bytes(0.1)
        self.assertEqual(s.bytes(0.5), b"")
        s.ok("garbage 100")
        junk = s.bytes(0.4)
        self.assertEqual(len(junk), 100)
        self.assertGreater(len(set(junk)), 50)
        s.ok("silent 0")
        for line in s.lines(0.6):
            self.assertRegex(line, LINE)

    def test_answers_only_when_asked(self):
        s = self.scale(ASKED, "--capacity", "600g", "--division", "0.01 g")
        s.open()
        self.assertEqual(s.bytes(0.5), b"")
        s.ok("put 123.45 g")
        s.ok("wait-settled")
        os.write(s.fd, b"W\r")
        self.assertRegex(s.bytes(0.3), rb"^\+  123,4[456] g \r$")
        os.write(s.fd, b"what?\r")
        self.assertEqual(s.bytes(0.3), b"")
        os.write(s.fd, b"W")
        self.assertEqual(s.bytes(0.2), b"")
        os.write(s.fd, b"\r")
        self.assertEqual(len(s.bytes(0.3)), 13)
        s.ok("silent 0.5")
        os.write(s.fd, b"W\r")
        self.assertEqual(s.bytes(0.3), b"")
        s.ok("put 600 g")
        s.ok("wait 1")
        os.write(s.fd, b"W\r")
        self.assertEqual(s.bytes(0.3), b" -------- g \r")

    def test_nothing_old_waits_for_a_reader(self):
        s = self.scale()
        time.sleep(1)
        s.open()
        self.assertLess(len(s.bytes(0.08)), 30)
        time.sleep(1)
        s.close()
        time.sleep(0.5)
        s.open()
        self.assertLess(len(s.bytes(0.08)), 30)
        self.assertGreater(len(s.lines(0.5)), 2)

    def test_a_reader_that_sleeps_blocks_nothing(self):
        s = self.scale(TALKS.replace("9600", "115200").replace("100 ms", "20 ms"))
        s.open()
        for _ in range(100):  # more than any tty buffer holds
            s.say("garbage 1000")
            s.ok("wait 0.09")
        s.ok("put 1 kg")
        s.ok("wait-settled")
        self.assertIn("true 1000 g", s.say("show"))
        got = b""
        while data := s.bytes(0.01):
            got += data
        self.assertLess(len(got), 100000)
        self.assertEqual(s.lines(0.3)[-1], b"ST,GS,+   1.000kg ")

    def test_unplug_and_plug_with_a_link(self):
        link = os.path.join(self.folder, "scale")
        s = self.scale(TALKS, "--link", link)
        self.assertEqual(os.readlink(link), s.path)
        s.open(link)
        self.assertGreater(len(s.lines(0.4)), 1)
        s.ok("unplug")
        self.assertFalse(os.path.lexists(link))
        poll = select.poll()
        poll.register(s.fd, select.POLLIN)
        self.assertTrue(poll.poll(500)[0][1] & select.POLLHUP)
        s.close()
        s.ok("put 200 g")
        self.assertRegex(s.say("garbage 5"), "^error: .*unplugged")
        answer = s.ok("plug")
        self.assertEqual(answer, "ok " + os.readlink(link))
        self.assertRegex(s.say("plug"), "^error: .*already")
        s.ok("wait-settled")
        s.open(link)
        self.assertEqual(s.figure(), ("ST", "GS", "+0.200kg"))
        s.ok("quit")
        self.assertEqual(s.run.wait(2), 0)
        self.assertFalse(os.path.lexists(link))

    def test_link_replaces_only_links(self):
        link = os.path.join(self.folder, "scale")
        os.symlink("/nowhere", link)
        s = self.scale(TALKS, "--link", link)
        self.assertEqual(os.readlink(link), s.path)
        os.unlink(link)
        os.symlink("/elsewhere", link)  # taken over by another: not ours to remove
        s.run.send_signal(signal.SIGTERM)
        self.assertEqual(s.run.wait(2), 0)
        self.assertEqual(os.readlink(link), "/elsewhere")
        os.unlink(link)
        with open(link, "w") as f:
            f.write("kept")
        got = self.refused(s.file, "--link", link)
        self.assertEqual(got.returncode, 4)
        with open(link) as f:
            self.assertEqual(f.read(), "kept")

    def refused(self, *arguments):
        return subprocess.run([PROGRAM, "pretend", *arguments], stdin=subprocess.DEVNULL, capture_output=True, text=True,
                              timeout=5)

    def test_scripts(self):
        script = os.path.join(self.folder, "s.txt")
        with open(script, "w") as f:
            f.write("# a cup\nput 250 g\nwait-settled\nshow\ntake 1 kg\nquit\n")
        s = self.scale(TALKS, "--script", script, stdin=subprocess.DEVNULL)
        out, err = s.run.communicate(timeout=5)
        self.assertEqual(s.run.returncode, 0)
        self.assertEqual(out, "ok true 250 g, shown 0.250 kg gross, stable\n")
        self.assertRegex(err, f"^{script}:5: error: the platform holds 250 g")
        with open(script, "w") as f:
            f.write("put 250 g\nput 3\nput 1 kg\nlift\n")
        got = self.refused(s.file, "--script", script)
        self.assertEqual((got.returncode, got.stdout), (3, ""))
        self.assertRegex(got.stderr, rf"{script}:2: .*put MASS[^\n]*\n{script}:4: .*no verb")
        got = self.refused(s.file, "--script", script + ".missing")
        self.assertEqual(got.returncode, 3)

    def test_script_on_standard_input_ends_with_it(self):
        s = self.scale(TALKS, "--script", "-")
        out, _ = s.run.communicate("put 1 kg\nwait 0.3\nshow", timeout=5)
        self.assertRegex(out, "^ok\nok\nok true 1000 g, shown [^\n]*\n$")
        self.assertEqual(s.run.returncode, 0)

    def test_goes_on_without_input_until_a_signal(self):
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            s = self.scale(TALKS, stdin=subprocess.DEVNULL)
            s.open()
            self.assertGreater(len(s.lines(0.5)), 2)
            s.run.send_signal(number)
            self.assertEqual(s.run.wait(2), 0)

    def test_on_a_given_tty(self):
        master, slave = os.openpty()
        tty.setraw(slave)
        path = os.ttyname(slave)
        s = self.scale(TALKS, "--on", path)
        self.assertEqual(s.path, path)
        s.fd = master
        self.assertEqual(s.figure(), ("ST", "GS", "+0.000kg"))
        os.write(master, b"T\r\n")
        s.ok("put 1 kg")
        s.ok("wait-settled")
        s.ok("unplug")
        s.bytes(0.1)
        self.assertEqual(s.bytes(0.3), b"")
        s.ok("plug")
        self.assertGreater(len(s.lines(0.4)), 1)
        os.close(slave)
        os.close(master)  # hangs up for good: it goes on and stays quiet about it
        s.fd = -1
        time.sleep(1.3)
        self.assertIn("true 1000 g", s.say("show"))
        s.ok("quit")

    def test_wrong_arguments(self):
        good = os.path.join(self.folder, "p.ini")
        with open(good, "w") as f:
            f.write(TALKS)
        for code, arguments in (
            (2, []), (2, [good, "more"]), (2, [good, "--what"]), (2, [good, "--seed", "x"]), (2, [good, "--seed", "-1"]),
            (2, [good, "--capacity", "15"]), (2, [good, "--division", "0 g"]), (2, [good, "--capacity", "20 g"]),
            (2, [good, "--capacity", "5000 kg", "--division", "0.01 g"]),
            (2, [good, "--on", "/dev/null", "--link", "x"]),
            (3, ["no-such-profile"]), (3, ["./none.ini"]),
            (4, [good, "--on", "/dev/null"]), (4, [good, "--on", "/dev/none"]),
            (4, [good, "--link", os.path.join(self.folder, "none", "x")]),
        ):
            got = self.refused(*arguments)
            self.assertEqual((got.returncode, got.stdout), (code, ""), f"{arguments}: {got.stderr}")
            self.assertRegex(got.stderr, r"\S", arguments)
        got = self.refused("--help")
        self.assertEqual((got.returncode, got.stderr), (0, ""))
        self.assertIn("pour MASS at MASS/s", got.stdout)

    def test_no_busy_wait(self):
        s = self.scale()
        s.open()
        for reader in (True, False):
            if not reader:
                s.close()
            before = self.cpu(s.run.pid)
            if reader:
                s.bytes(2)
            else:
                time.sleep(2)
            self.assertLess(self.cpu(s.run.pid) - before, 0.2)  # of 2 s

    @staticmethod
    def cpu(pid):
        with open(f"/proc/{pid}/stat") as f:
            fields = f.read().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


if __name__ == "__main__":
    unittest.main(verbosity=2)
