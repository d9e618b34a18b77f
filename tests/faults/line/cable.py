"""A scale of 6 kg x 1 g at the far end of a cable that can fail in every way that the rows of run.py ask for. Lines as in
profiles/scales/status-basis-kg.ini: ST,GS,+  2.350kg CR LF, ten times a second."""
import errno
import fcntl
import os
import pty
import socket
import struct
import threading
import time
import tty
from decimal import Decimal

MOVING_S = 0.25  # the mark says so after each change
UNREAD_S = 20  # far longer than a living reader ever leaves it


class Cable(threading.Thread):
    """`bend(frame)` gives the bytes that arrive in the place of a frame; None leaves the line as it is."""

    capacity = Decimal(6000)

    def __init__(self, link):
        super().__init__(daemon=True)
        self.link, self.load, self.zero = link, Decimal(0), Decimal(0)
        self.bend, self.mute, self.period, self.moved = None, False, 0.1, 0.0
        self.lock = threading.Lock()
        self.master = self.slave = self.other = -1
        self.number = None
        self.alive, self.plugged, self.kept = True, False, []
        self.plug()
        self.start()

    def set(self, grams):
        with self.lock:
            self.load, self.moved = Decimal(grams), time.monotonic()

    def zero_key(self):
        with self.lock:
            self.zero = self.load

    def frame(self):
        """As it is now. Called with the lock held."""
        kg = (self.load - self.zero).quantize(Decimal(1)) / 1000
        word = "US" if time.monotonic() - self.moved < MOVING_S else "ST"
        return b"%s,GS,%s%7.3fkg\r\n" % (word.encode(), b"-" if kg < 0 else b"+", abs(kg))

    def plug(self, taken=False):
        """Another pseudo-terminal under the same name. taken: another program holds it at once."""
        with self.lock:
            self.master, self.slave = pty.openpty()
            while os.ttyname(self.slave) == self.number:
                self.kept.append((self.master, self.slave))
                self.master, self.slave = pty.openpty()
            tty.setraw(self.slave)
            os.set_blocking(self.master, False)
            self.number = os.ttyname(self.slave)
            if taken:
                self.other = os.open(self.number, os.O_RDWR | os.O_NOCTTY)
                fcntl.flock(self.other, fcntl.LOCK_EX)
            self.name(self.number)
            self.plugged = True

    def name(self, device):
        """What its name leads to."""
        os.symlink(device, self.link + ".new")
        os.rename(self.link + ".new", self.link)

    def other_ends(self):
        os.close(self.other)

    def unplug(self):
        with self.lock:
            self.plugged = False
            os.unlink(self.link)
            os.close(self.master)
            os.close(self.slave)

    def send(self, data):
        """What the line can't take is lost, as on a real one. Called with the lock held."""
        try:
            return os.write(self.master, data) if self.plugged else len(data)
        except OSError as e:
            if e.errno not in (errno.EAGAIN, errno.EIO):
                raise
            return 0

    def flood(self, data):
        """All of it, as fast as the reader takes it."""
        took = time.monotonic()
        while data:
            with self.lock:
                n = self.send(data[:4096])
            data = data[n:]
            if n:
                took = time.monotonic()
            else:
                assert time.monotonic() - took < UNREAD_S, "nobody reads the line any more"
                time.sleep(0.002)

    def run(self):
        while self.alive:
            with self.lock:
                if self.plugged and not self.mute:
                    frame = self.frame()
                    self.send(self.bend(frame) if self.bend else frame)
            time.sleep(self.period)

    def end(self):
        self.alive = False
        self.join()
        for fd in [self.master, self.slave] * self.plugged + [fd for pair in self.kept for fd in pair]:
            os.close(fd)


class DeviceServer(Cable):
    """A serial device server on a network of this process's own, whose only interface goes down with the plug: neither end
    is told. What the server sends meanwhile is kept by its kernel, and arrives late if the connection outlives the hole."""

    def __init__(self, _link):
        network(True)
        self.listening = socket.create_server(("127.0.0.1", 0))
        self.listening.setblocking(False)
        self.line, self.connections = None, 0
        super().__init__("tcp:127.0.0.1:%d" % self.listening.getsockname()[1])

    def plug(self, taken=False):
        with self.lock:
            network(True)
            self.plugged = True

    def unplug(self):
        with self.lock:
            network(False)
            self.plugged = False

    def send(self, data):
        """To the newest connection, whether or not anything arrives."""
        try:
            fresh = self.listening.accept()[0]
            fresh.setblocking(False)
            self.drop()
            self.line = fresh
            self.connections += 1
        except BlockingIOError:
            pass
        try:
            return self.line.send(data) if self.line else 0
        except BlockingIOError:
            return 0
        except OSError:
            self.drop()
            return 0

    def drop(self):
        if self.line:
            self.line.close()
        self.line = None

    def run(self):
        while self.alive:
            with self.lock:
                self.send(self.frame())
            time.sleep(self.period)

    def end(self):
        self.alive = False
        self.join()
        self.drop()
        self.listening.close()


def network(up):
    """The loopback interface; netdevice(7)."""
    get_flags, set_flags, flag_up = 0x8913, 0x8914, 1
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as s:
        name, flags = struct.unpack("16sH14x", fcntl.ioctl(s, get_flags, struct.pack("16sH14x", b"lo", 0)))
        flags = flags | flag_up if up else flags & ~flag_up
        fcntl.ioctl(s, set_flags, struct.pack("16sH14x", name, flags))


def bits_of(data, idle):
    """8 bits, no parity, one stop bit; then the line rests."""
    out = []
    for byte in data:
        out += [0] + [byte >> k & 1 for k in range(8)] + [1]
    return out + [1] * idle


def at_other_speed(data, ratio):
    """What a receiver makes of it whose bits are `ratio` times as long as the sender's. A stop bit that is none makes the
    byte a framing error: the kernel hands over a NUL."""
    bits, at, out = bits_of(data, 40), 0.0, bytearray()

    def level(t):
        return bits[int(t)] if int(t) < len(bits) else 1

    while at < len(bits) - 10 * ratio:
        if level(at):
            at += ratio / 16  # as a receiver looks for a start bit: sixteen times a bit
            continue
        byte = sum(level(at + ratio * (k + 1.5)) << k for k in range(8))
        out.append(byte if level(at + ratio * 9.5) else 0)
        at += ratio * 9.6
    return bytes(out)


def seven_even(data):
    """Sent with 7 bits and even parity, read as 8 bits without."""
    return bytes(b | (bin(b).count("1") & 1) << 7 for b in data)
