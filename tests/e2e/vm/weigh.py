#!/usr/bin/env python3
"""A whole batch through the serial port: the station runs in the virtual machine, reads /dev/ttyUSB0 through
libserialport by the adaptor's name under /dev/serial/by-id, and the pretend scale, a process of the host, stands at the far
end of the emulated USB adaptor.

The operator here speaks only the JSON protocol and the pretend scale's verbs. On the way it pours too much once and takes
it out, and the adaptor is pulled out and put back in the middle of a weighing: it comes back as /dev/ttyUSB1, since another
program still has the old one open, and is found by its serial number. At the end, every recorded net is compared
with what truly lay on the platform."""
import json
import os
import select
import subprocess
import sys
import time
from decimal import Decimal

from port import Lines, check
from vm import BUILD, HERE, Vm

PROGRAM = os.path.join(BUILD, "tareline")
SCALE = "status-basis-kg"
CUP, LUGS = Decimal(400), {"pork-shoulder": [Decimal(1500), Decimal(750)], "pork-belly": [Decimal(750)]}
SHARES = {"ice-water": Decimal("0.10"), "salt": Decimal("0.018"), "mountain-cheese": Decimal("0.05")}
DIVISION = Decimal(1)
LINK = "/dev/serial/by-id/usb-QEMU_QEMU_USB_SERIAL_A107-if00-port0"  # as udev makes it
HOLDER = "sleep 1000 9<>/dev/ttyUSB0 >/dev/null 2>&1 &"


class Pretend:
    """The pretend scale and its verbs; every load is known here to the gram."""

    def __init__(self):
        self.process = subprocess.Popen(
            [PROGRAM, "pretend", SCALE, "--capacity", "6 kg", "--division", "1 g"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0,
        )
        self.lines = Lines(self.process.stdout)
        self.path = self.lines.next()
        self.load = Decimal(0)

    def verb(self, text):
        self.process.stdin.write(text.encode() + b"\n")
        answer = self.lines.next()
        check(f"{text}: {answer}", answer.startswith("ok"))

    def clear(self):
        self.verb("take all")
        self.load = Decimal(0)

    def put(self, grams):
        self.verb(f"put {grams} g")
        self.load += grams

    def pour(self, grams):
        self.verb(f"pour {grams} g at {max(grams, 20)} g/s")
        self.load += grams

    def take(self, grams):
        self.verb(f"take {grams} g")
        self.load -= grams

    def end(self):
        self.process.terminate()
        check("the pretend scale ends", self.process.wait(5) == 0)


class Operator:
    """Answers prompts; one at a time, as they come."""

    def __init__(self, vm, scale):
        self.vm, self.scale = vm, scale
        self.lugs = {k: list(v) for k, v in LUGS.items()}
        self.recorded, self.notices, self.asked = [], [], []
        self.poured_over = self.pulled = False
        self.end = None

    def say(self, event, words):
        print("  >", words)
        self.vm.io.sendall(f"@{event['n']} {words}\n".encode())

    def fill(self, event):
        target = event["target_g"]
        if target is None:
            self.scale.pour(self.lugs[event["ingredient"]].pop(0))
            return
        if event["ingredient"] == "ice-water" and not self.poured_over:
            self.poured_over = True
            self.scale.pour(target + 40)
        elif event["ingredient"] == "salt" and not self.pulled:
            self.pulled = True
            self.scale.pour(target // 2)
            self.vm.unplug()
        elif self.scale.load < CUP + target:
            self.scale.pour(CUP + target - self.scale.load)

    def prompt(self, event):
        ask = event["ask"]
        self.asked.append(ask)
        if ask == "lot":
            self.say(event, "lot A1107")
        elif ask == "clear":
            self.scale.clear()
        elif ask == "container":
            self.scale.put(CUP)
        elif ask == "fill":
            self.fill(event)
        elif ask == "over":
            self.scale.take(self.scale.load - CUP - event["high_g"] + 2 * DIVISION)
        elif ask == "more":
            self.say(event, "yes" if self.lugs[event["ingredient"]] else "no")
        elif ask == "check":
            self.say(event, "value 8.5")
        elif ask in ("confirm", "add", "instruction"):
            self.say(event, "yes")
        else:
            raise AssertionError(f"unexpected prompt {event}")

    def notice(self, event):
        self.notices.append(event["code"])
        if event["code"] == "unplugged":
            time.sleep(1)
            self.vm.plug()
        elif event["code"] == "back":
            # the same load as before: nothing was lost, the pour goes on
            self.scale.pour(CUP + Decimal(54) - self.scale.load)

    def take(self, line):
        event = json.loads(line, parse_float=Decimal, parse_int=Decimal)
        print(line)
        kind = event["event"]
        if kind == "prompt":
            self.prompt(event)
        elif kind == "notice":
            self.notice(event)
        elif kind == "recorded":
            self.recorded.append((event, self.scale.load))
        elif kind == "refused":
            raise AssertionError(f"refused: {line}")
        elif kind == "end":
            self.end = event


def judge(operator):
    meat = sum(sum(v) for v in LUGS.values())
    check("six weighings and their lugs are recorded", len(operator.recorded) == 6)
    for event, load in operator.recorded:
        name, net = event["ingredient"], event["actual_g"]
        check(f"{name}: net is gross less tare", net == event["gross_g"] - event["tare_g"])
        check(f"{name}: recorded {net} g, on the platform {load - CUP} g", abs(net - (load - CUP)) <= DIVISION)
        check(f"{name}: live, in its band", (event["manner"], event["verdict"]) == ("live", "in"))
        if name in SHARES:
            check(f"{name}: the target is its share of {meat} g", abs(event["target_g"] - meat * SHARES[name]) <= DIVISION)
            check(f"{name}: inside its band", event["low_g"] <= net <= event["high_g"])
    check("too much was caught", "over" in operator.asked)
    check("unplugged and back", operator.notices.index("unplugged") < operator.notices.index("back"))


def main():
    scale = Pretend()
    with Vm(scale.path, 400, udev=True) as vm:
        operator = Operator(vm, scale)
        said = Lines(vm.io)
        vm.start(f"{HOLDER} {PROGRAM} ports --json")
        listed = json.loads(said.want('{"device":"/dev/serial'))
        check("the list has it by its name that stays", listed["device"] == LINK and vm.wait() == 0)
        vm.start(
            f"{PROGRAM} weigh {HERE}/small.ini --json --journal /run/journal.db"
            f" --scale bench={SCALE}@{LINK},capacity=6kg,division=1g,class=III"
        )
        while not operator.end:
            if select.select([vm.err], [], [], 0)[0]:
                print("err:", vm.err.recv(4096).decode())
            operator.take(said.next(60))
        check("the batch is complete", operator.end["exit"] == 0 and vm.wait() == 0)
        judge(operator)
        check("it came back under another number", vm.run(f"test $(readlink -f {LINK}) = /dev/ttyUSB1") == 0)
        verify = f"{PROGRAM} records verify --journal /run/journal.db"
        check("the journal's chain verifies", vm.run(verify) == 0)
        # without our own code, and where it was written
        rows = "select count(*) from journal where kind = 'weighed'"
        check("they are on disk", vm.run(f'test "$(sqlite3 /run/journal.db "{rows}")" = 6') == 0)
    scale.end()
    return 0


if __name__ == "__main__":
    sys.exit(main())
