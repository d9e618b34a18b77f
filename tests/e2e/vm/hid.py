#!/usr/bin/env python3
"""A whole batch on a USB scale that is a HID weighing device: in the virtual machine the kernel's uhid makes the device, this
script plays what stands on it and the operator, and the station finds it by hidapi and reads it through hidraw.

Before: two such devices are never mixed up. On the way: too much is poured, the device is unplugged and comes back at another
socket (another hidraw number), found again by its serial number. At the end every recorded net is compared with what truly
lay on the platform.

On the host it starts itself in the machine; there it is `hid.py inside`."""
import os
import struct
import subprocess
import sys
import threading
import time

from port import Lines, check
from vm import BUILD, HERE, Vm
from weigh import Operator, judge

PROGRAM = os.path.join(BUILD, "tareline")
VENDOR, PRODUCT = 0x1234, 0xABCD
JOURNAL = "/run/journal.db"

# One application collection of the weighing page with a data report: id 3, status, unit, power of ten, weight of 16 bits.
DESCRIPTOR = bytes.fromhex(
    "058D0920A101 8503 0932A102 09701501250875089501 8102 0950250C8102 0941158125 7F8102 0940150027FFFF000075108102 C0 C0"
    .replace(" ", ""))
CREATE, DESTROY, INPUT = 11, 1, 12  # linux/uhid.h: UHID_CREATE2, UHID_DESTROY, UHID_INPUT2


class Device:
    """One HID device of the kernel's, as if plugged in."""

    def __init__(self, serial, page=0x8D):
        self.fd = os.open("/dev/uhid", os.O_RDWR)
        data = DESCRIPTOR[:1] + bytes([page]) + DESCRIPTOR[2:]
        self.write(struct.pack("<I128s64s64sHHIIII4096s", CREATE, b"bench scale", b"usb-1/input0", serial.encode(), len(data),
                               3, VENDOR, PRODUCT, 1, 0, data))

    def write(self, event):
        os.write(self.fd, event)

    def report(self, data):
        self.write(struct.pack("<IH4096s", INPUT, len(data), data))

    def unplug(self):
        self.write(struct.pack("<I", DESTROY))
        os.close(self.fd)


class Scale:
    """What stands on it, with the verbs of the pretend scale; it sends five reports a second while it is plugged in."""

    def __init__(self):
        self.load, self.shown, self.rate = 0, 0.0, 0.0
        self.device = Device("A107")
        self.lock = threading.Lock()
        threading.Thread(target=self.run, daemon=True).start()

    def run(self):
        while True:
            with self.lock:
                left = float(self.load) - self.shown
                step = left if self.rate == 0 else max(-self.rate / 5, min(self.rate / 5, left))
                self.shown += step
                status = 3 if abs(step) > 0.01 else 4 if round(self.shown) else 2
                if self.device:
                    self.device.report(struct.pack("<BBBbH", 3, status, 2, 0, round(self.shown)))
            time.sleep(0.2)

    def set(self, load, rate=0.0):
        with self.lock:
            self.load, self.rate = load, rate

    def clear(self):
        self.set(0)

    def put(self, grams):
        self.set(self.load + grams)

    def pour(self, grams):
        self.set(self.load + grams, max(float(grams), 20))

    def take(self, grams):
        self.set(self.load - grams)


class Station:
    """The station's standard input, and the plug: what the operator has of a virtual machine."""

    def __init__(self, scale):
        self.scale = scale
        self.io = self
        self.process = subprocess.Popen(
            [PROGRAM, "weigh", f"{HERE}/small.ini", "--json", "--journal", JOURNAL, "--scale",
             f"bench=usb-reports@hid:{VENDOR:04x}:{PRODUCT:04x}:A107,capacity=6kg,division=1g,class=III"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0)

    def sendall(self, data):
        self.process.stdin.write(data)

    def unplug(self):
        with self.scale.lock:
            self.scale.device.unplug()
            self.scale.device = None

    def plug(self):
        other = Device("B208")  # takes the number that has become free
        with self.scale.lock:
            self.scale.device = Device("A107")
        print("   hidraw:", sorted(n for n in os.listdir("/dev") if n.startswith("hidraw")), other.fd)


def refused(device, why):
    got = subprocess.run([PROGRAM, "listen", f"usb-reports@{device}", "--count", "1"], capture_output=True, text=True, check=False)
    print("  ", got.stderr.strip())
    check(f"{device} is refused: {why}", got.returncode == 4 and why in got.stderr)


def two_are_never_mixed_up():
    name = f"hid:{VENDOR:04x}:{PRODUCT:04x}"
    refused(name, "there is no weighing device")
    mouse = Device("M1", page=0x01)  # the same numbers, but no weighing device
    time.sleep(0.3)
    refused(name, "there is no weighing device")
    one, two = Device("A1"), Device("B2")
    time.sleep(0.3)
    refused(name, "more than one")
    refused(name + ":C3", "there is no weighing device")
    listen = subprocess.Popen([PROGRAM, "listen", f"usb-reports@{name}:B2", "--count", "1"], stdout=subprocess.PIPE, text=True)
    for _ in range(40):
        one.report(b"\x03\x04\x02\x00\x2C\x01")
        two.report(b"\x03\x04\x03\xFD\xD2\x04")
        time.sleep(0.1)
        if listen.poll() is not None:
            break
    said = listen.communicate(timeout=20)[0]
    print(said)
    check("the one that was named is heard", listen.returncode == 0 and "1.234 kg" in said)
    for device in (mouse, one, two):
        device.unplug()


def inside():
    two_are_never_mixed_up()
    scale = Scale()
    time.sleep(0.3)
    station = Station(scale)
    operator = Operator(station, scale)
    said = Lines(station.process.stdout)
    while not operator.end:
        operator.take(said.next(60))
    check("the batch is complete", operator.end["exit"] == 0 and station.process.wait(20) == 0)
    judge(operator)
    verify = subprocess.run([PROGRAM, "records", "verify", "--journal", JOURNAL], check=False)
    check("the journal's chain verifies", verify.returncode == 0)
    return 0


def main():
    if sys.argv[1:] == ["inside"]:
        return inside()
    with Vm(seconds=400) as vm:
        return vm.run(f"BUILD={BUILD} python3 -u {os.path.abspath(__file__)} inside 2>&1")


if __name__ == "__main__":
    sys.exit(main())
