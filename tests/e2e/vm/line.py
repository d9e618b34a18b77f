#!/usr/bin/env python3
"""Speed, bits, parity and stop bits of every shipped profile, and of a slow and a fast one, on a true UART: an emulated 16550 is /dev/ttyS1 of the virtual
machine. While `tareline listen` holds the line, another program (stty) reads its settings back, and the UART's own line
control register is read. A pseudo-terminal keeps none of that. Before each profile the line is set to something else.

Then, on that line, a whole reading of a profile of 7 bits with parity comes through."""
import glob
import os
import re
import sys
import tty

from port import Lines, check
from vm import BUILD, Vm

PROGRAM = os.path.join(BUILD, "tareline")
UART = "/dev/ttyS1"
LCR = 0x2F8 + 3  # PC16550D data sheet, table II: the register's address, and below its bits; the port's by custom
ASK = """for p in %s; do stty -F %s 110 cs5 -parenb cstopb -inpck ignpar; device=%s; [ $p = registers-kg ] && device=modbus:$device:1;
 coproc L { exec %s listen $p@$device; }; read -r -u ${L[0]} said; echo profile $p; echo "$said";
 stty -F %s -a | tr ';\\n' '  '; echo; echo lcr $(dd if=/dev/port bs=1 skip=%d count=1 2>/dev/null | od -An -tu1);
 pid=$L_PID; kill $pid; wait $pid 2>/dev/null; done; echo all""".replace("\n", "")


# A shipped profile at another speed, made in the machine.
OTHERS = {"slow": (300, "bare-kg"), "fast": (115200, "lettered-lb")}


def wanted(name):
    """(baud, bits, parity, stop) as the profile's text has them, and what it may leave out."""
    if name.startswith("/run"):
        baud, like = OTHERS[os.path.basename(name)[:-4]]
        return baud, *wanted(like)[1:]
    with open(f"profiles/scales/{name}.ini", encoding="ascii") as f:
        keys = dict(re.findall(r"^(baud|bits|parity|stop) *= *(\w+)$", f.read(), re.M))
    return int(keys["baud"]), int(keys.get("bits", 8)), keys.get("parity", "none"), int(keys.get("stop", 1))


def register(bits, parity, stop):
    """The bit for even parity says nothing without parity; the kernel sets it then."""
    return bits - 5 | (stop == 2) << 2 | (parity != "none") << 3 | (parity != "odd") << 4


def judge(name, said, words, lcr):
    baud, bits, parity, stop = wanted(name)
    settings = f"{baud} baud {bits}{parity[0].upper()}{stop}"
    print("  ", name, settings, "lcr", lcr)
    check("it says what it sets", settings in said)
    check("speed", f"speed {baud} baud" in words)
    flags = words.split()
    check("bits", f"cs{bits}" in flags)
    check("parity", ("parenb" in flags) == (parity != "none") and (parity == "none" or ("parodd" in flags) == (parity == "odd")))
    check("stop bits", ("cstopb" in flags) == (stop == 2))
    check("the UART itself", lcr == register(bits, parity, stop))
    check("a byte of wrong parity is none", parity == "none" or ("inpck" in flags and "-ignpar" in flags and "-istrip" in flags))


def main():
    names = [n for n in sorted(os.path.basename(f)[:-4] for f in glob.glob("profiles/scales/*.ini")) if n != "usb-reports"]
    scale, far = os.openpty()
    tty.setraw(scale)
    tty.setraw(far)
    with Vm(seconds=240, uart=os.ttyname(far)) as vm:
        said = Lines(vm.io)
        for name, (baud, like) in OTHERS.items():
            vm.run(f"sed 's/^baud.*/baud = {baud}/; s/^name.*/name = {name}/' profiles/scales/{like}.ini >/run/{name}.ini")
            names.append(f"/run/{name}.ini")
        vm.start(ASK % (" ".join(names), UART, UART, PROGRAM, UART, LCR))
        for name in names:
            assert said.next(60) == f"profile {name}"
            judge(name, said.next(), said.next(), int(said.next().split()[1]))
        check("the list is at its end", said.next() == "all" and vm.wait() == 0)
        seen = {wanted(n)[1:] for n in names}
        check("7 bits with each parity, 8 bits with and without", {(7, "even", 1), (7, "odd", 1), (8, "even", 1), (8, "none", 1)} <= seen)

        vm.start(f"{PROGRAM} listen lettered-lb@{UART} --count 1 --json")
        said.want('{"v":1,"n":1,')
        os.write(scale, b"\x02G   12.345 lb S\r")
        check("a line comes through", '"unit":"lb"' in said.want('{"v":1,"n":2,"event":"reading"') and vm.wait() == 0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
