#!/usr/bin/env python3
"""The serial driver on a true /dev/ttyUSB0: lines in, commands out, its settings, a second opener, unplugged and plugged again.

The far end of the emulated USB adaptor is a pseudo-terminal that this script plays the scale on; QEMU gives it the settings
that the driver gives to the adaptor."""
import os
import select
import sys
import termios
import time
import tty

from vm import BUILD, Vm

PROGRAM = os.path.join(BUILD, "vm-port")


class Lines:
    """Lines of a descriptor or socket, each wanted within a time."""

    def __init__(self, source):
        self.source, self.kept = source, b""

    def next(self, seconds=20):
        ends = time.monotonic() + seconds
        while b"\n" not in self.kept:
            if not select.select([self.source], [], [], max(0, ends - time.monotonic()))[0]:
                raise AssertionError(f"nothing came within {seconds} s; so far {self.kept!r}")
            self.kept += os.read(self.source.fileno() if hasattr(self.source, "fileno") else self.source, 4096)
        line, self.kept = self.kept.split(b"\n", 1)
        return line.decode().rstrip("\r")

    def want(self, wanted, seconds=20):
        """The next line that begins so; others before it are passed over and shown."""
        while True:
            line = self.next(seconds)
            print("  ", line)
            if line.startswith(wanted):
                return line


def check(what, good):
    print("ok" if good else "FAILED", what)
    if not good:
        raise AssertionError(what)


def is_set(far):
    """As port.c's profile says, once the adaptor has passed it on; a pseudo-terminal keeps no parity and no other size."""
    ends = time.monotonic() + 5
    while time.monotonic() < ends:
        settings = termios.tcgetattr(far)
        if settings[5] == termios.B4800 and settings[2] & termios.CSTOPB:
            return True
        time.sleep(0.05)
    return False


def main():
    scale, far = os.openpty()
    tty.setraw(scale)
    tty.setraw(far)
    with Vm(os.ttyname(far), 240) as vm:
        said, asked = Lines(vm.io), Lines(scale)
        vm.start(f"{PROGRAM} /dev/ttyUSB0")
        said.want("open serial")
        check("speed and stop bits are the profile's", is_set(far))
        for k in range(20):
            os.write(scale, f"ST,GS,{k:+8.2f} kg\r\n".encode())
        for k in range(20):
            check(f"line {k}", said.next() == f"line ST,GS,{k:+8.2f} kg")
        vm.io.sendall(b"READ\n")
        check("a command reaches the scale", asked.next() == "READ")

        vm.unplug()
        said.want("gone -1")
        said.want("refused -3")
        vm.plug()
        said.want("open serial")
        os.write(scale, b"ST,GS, +1.00 kg\r\n")
        check("a line after the plug is back", said.want("line") == "line ST,GS, +1.00 kg")
        vm.io.sendall(b"end\n")
        check("it ends", vm.wait() == 0)

        # a link as udev makes it, and a port that another program holds
        holder = "exec 9<>/dev/ttyUSB0 && flock 9 && sleep 2 && flock -u 9 && sleep 30"  # lets go, and keeps it open
        stranger = "/usr/sbin/chroot --userspec=65534:65534 / bash -c 'exec 9<>/dev/ttyUSB0' 2>/dev/null"
        vm.start(f"chmod 666 /dev/ttyUSB0; ln -s /dev/ttyUSB0 /run/by-id; ({holder}) >/dev/null 2>&1 & sleep 1;"
                 f" (sleep 3; {stranger}; echo stranger $?) & {PROGRAM} /run/by-id")
        said.want("refused -2")
        os.write(scale, b"ST,GS, +9.99 kg\r\n")  # queues while the other one has it
        said.want("open serial")
        newest = said.next()  # no line before it: what queued is none of now
        check(f"a program that knows nothing of our lock is kept out: {newest}", newest == "stranger 1")
        os.write(scale, b"ST,GS, +2.00 kg\r\n")
        check("a line of now", said.next() == "line ST,GS, +2.00 kg")
        vm.io.sendall(b"end\n")
        check("it ends again", vm.wait() == 0)
        check("and lets others in, though it was never closed by all", vm.run(stranger) == 0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
