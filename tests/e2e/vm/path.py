#!/usr/bin/env python3
"""Two adaptors without serial numbers, told apart by their USB ports alone: a whole batch by a name under /dev/serial/by-path,
whose link Debian's udev makes by its own rules.

In the middle of a weighing both are pulled out and put back in the other order, so that the kernel's numbers change places:
the station must go on with the adaptor of the same USB port. On the other one stands another load, a scale by number would
read that. Before: a number, and a name that both adaptors have, are refused, and each scale's name is proved by putting something on it;
afterwards: the other USB port is another name."""
import json
import os
import select
import sys
import time
from decimal import Decimal

from port import Lines, check
from vm import HERE, Vm
from weigh import PROGRAM, SCALE, Operator, Pretend, judge

OTHER_LOAD = Decimal(5000)
BY_ID, BY_PATH = "/dev/serial/by-id", "/dev/serial/by-path"


class Plugs:
    """What the operator has of the machine: both plugs at once, and put back in the other order."""

    def __init__(self, vm):
        self.vm, self.io = vm, vm.io

    def unplug(self):
        self.vm.unplug(1)
        self.vm.unplug(2)

    def plug(self):
        self.vm.plug(2)
        time.sleep(1)
        self.vm.plug(1)


def weigh(device):
    return (f"{PROGRAM} weigh {HERE}/small.ini --json --journal /run/journal.db"
            f" --scale bench={SCALE}@{device},capacity=6kg,division=1g,class=III")


def drained(vm):
    """What came on standard error."""
    text = ""
    while select.select([vm.err], [], [], 0.3)[0]:
        text += vm.err.recv(4096).decode()
    return text


def refused(vm, command, why):
    vm.start(command + " </dev/null")
    code, said = vm.wait(), drained(vm)
    print("  ", said.strip())
    check(f"refused, and said why: {why}", code == 4 and why in said)


def listed(vm):
    """The adaptors' names, as the program lists them."""
    vm.start(f"{PROGRAM} ports --json")
    said, names = Lines(vm.io), []
    while len(names) < 2:
        device = json.loads(said.next())["device"]
        names += [device] * (device != "/dev/ttyS0")
    check("and nothing else", vm.wait() == 0)
    while select.select([vm.io], [], [], 0.3)[0]:
        vm.io.recv(4096)
    return sorted(names)


def by_path_alone(vm):
    names = listed(vm)
    print("  ", names)
    check("each has its USB port in its name", [":1:1.0" in names[0], ":2:1.0" in names[1]] == [True, True])
    check("and is by-path", all(name.startswith(BY_PATH) for name in names))
    shared = f"{BY_ID}/$(ls {BY_ID})"
    check("by-id has one link for both", vm.run(f"test $(ls {BY_ID} | wc -l) = 1 && test -e {shared}") == 0)
    refused(vm, weigh(shared), "the name of two adaptors")
    refused(vm, weigh("/dev/ttyUSB0"), "2 such ports are here")
    return names


def proved(vm, scale, device=""):
    """The name that is printed for the scale on which something is put."""
    vm.start(f"{PROGRAM} ports --prove bench={SCALE} {device}")
    said = Lines(vm.io)
    said.want("Put something on", 40)
    time.sleep(0.5)
    scale.put(500)
    found = said.want("device = ").removeprefix("device = ")
    check("it is found", vm.wait() == 0)
    return found


def numbers(vm, names, wanted):
    links = " ".join(f"$(basename $(readlink {name}))" for name in names)
    return vm.run(f'test "$(echo {links})" = "{wanted}"') == 0


def batch(vm, bench, names):
    operator = Operator(Plugs(vm), bench)
    check("the numbers as at first", numbers(vm, names, "ttyUSB0 ttyUSB1"))
    vm.start(weigh(names[0]))
    said = Lines(vm.io)
    while not operator.end:
        operator.take(said.next(60))
    check("the batch is complete", operator.end["exit"] == 0 and vm.wait() == 0)
    judge(operator)
    check("the numbers have changed places", numbers(vm, names, "ttyUSB1 ttyUSB0"))


def doubted_again(vm):
    """Begun by its number while it is the only one; pulled out and plugged in again beside another, it may be that one's. The
    reason is said, and when the other one goes it is taken up again."""
    def notice(said, code):
        while True:
            event = json.loads(said.next(60))
            if event["event"] == "notice":
                check(f"{code}: {event['text']}", event["code"] == code)
                return event["text"]
    vm.start(weigh("/dev/ttyUSB0").replace("journal.db", "number.db"))
    said = Lines(vm.io)
    said.want('{"v":1,"n":1,')
    vm.unplug(2)
    notice(said, "unplugged")
    vm.plug(2)
    vm.plug(1)
    why = notice(said, "unusable")
    check("the true reason", "/dev/ttyUSB0 only says in which order it was plugged in, and 2 such ports are here" in why)
    vm.unplug(1)
    notice(said, "back")
    vm.io.sendall(b"abort\n")
    while json.loads(said.next())["event"] != "end":
        pass
    check("it is aborted", vm.wait() == 1)


def main():
    bench, other = Pretend(), Pretend()
    other.put(OTHER_LOAD)
    with Vm(bench.path, 400, other=other.path, serial="", udev=True) as vm:
        names = by_path_alone(vm)
        check("proved by what is put on it", proved(vm, bench) == names[0] and proved(vm, other) == names[1])
        bench.clear()
        batch(vm, bench, names)
        vm.unplug(1)
        check("the link goes", vm.run(f"while test -e {names[0]}; do sleep 0.1; done") == 0)
        refused(vm, weigh(names[0]), f"there is no device {names[0]}")
        check("a number that was proved is given as it is", proved(vm, other, "/dev/ttyUSB0") == "/dev/ttyUSB0")
        check("and it is said what it is worth", "only says in which order" in drained(vm))
        check("the last one may be told by its number: paused", vm.run(weigh("/dev/ttyUSB0") + " </dev/null") == 1)
        doubted_again(vm)

        # the same, to which the maker gave one serial number for all
        vm.serial = "0001"
        vm.unplug(2)
        for number in (1, 2):
            vm.plug(number)
        check("both are there", vm.run(f"until test $(ls {BY_PATH} 2>/dev/null | wc -l) = 2; do sleep 0.1; done") == 0)
        by_path_alone(vm)
    bench.end()
    other.end()
    return 0


if __name__ == "__main__":
    sys.exit(main())
