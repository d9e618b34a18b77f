#!/usr/bin/env python3
"""tests/replay/record_blocks.py: the recordings of the profiles without lines, and what truly was, `make record`.

registers-kg: tareline listen asks a slave that this script plays on a pseudo-terminal; its frames and their CRC are made
here from the Modbus documents. usb-reports: the reports are written straight into the recording, each behind its length, as
the driver hands them over; the virtual machine's test has a live device.

Both go through no load, a container, filling, rest, overload, disturbance and rest again; and a second time, in states/, through what
is no weight, and the indicator through one below zero."""
import os
import select
import struct
import subprocess
import sys
import threading
import time
import tty

BUILD = os.environ.get("BUILD", "build")
HERE = "tests/replay"
# from second FROM on: what it is, and grams
PLAN = [(0, "still", 0), (2, "still", 1235), (4, "filling", 3735), (6, "still", 3735), (8, "over", 0), (9.5, "still", 0),
        (11, "noise", 1235), (12.5, "still", 1235), (14, "end", 0)]
STATES = [(0, "still", 0), (1.5, "under", 0), (3, "still", 1235), (4.5, "fault", 0), (6, "still", 1235), (7.5, "not-yet", 0), (9, "still", 0),
          (10.5, "still", -50), (12, "end", 0)]
WEIGHTLESS = ("over", "under", "fault", "not-yet")
MARGIN = 0.3  # s that a change may be early or late in what is read
SETTLES = 0.4  # s in motion after each change


def now_is(plan, t):
    """What a scale shows at second t: (kind, grams, moving)."""
    k = max(i for i, p in enumerate(plan) if p[0] <= t)
    begun, kind, grams = plan[k]
    before = plan[k - 1][2] if k else 0
    if kind == "filling":
        return kind, round(before + (grams - before) * (t - begun) / (plan[k + 1][0] - begun)), True
    if kind == "noise" and t < begun + 0.2:  # the load is there first
        kind = "still"
    return kind, grams, k > 0 and before != grams and t < begun + SETTLES


def check_file(name, plan):
    lines = ["# FROM TO (microseconds of the recording) and what truly was: see record_blocks.py, which wrote this", "division 1 g"]
    for k, (begun, kind, grams) in enumerate(plan[:-1]):
        if kind == "filling":
            what = f"between {plan[k - 1][2] / 1000} kg {grams / 1000} kg"
        else:
            what = kind if kind in WEIGHTLESS else f"{kind} {grams / 1000} kg"
        first = begun + (SETTLES + MARGIN if k and kind == "still" else 0.1 if kind == "noise" else
                         MARGIN if kind in WEIGHTLESS and kind != "over" else 0)
        last = plan[k + 1][0] + {"filling": 0, "noise": MARGIN}.get(kind, -MARGIN)
        lines.append(f"{int(first * 1e6)} {int(last * 1e6)} {what}")
    with open(f"{HERE}/{name}.check", "w") as f:
        f.write("\n".join(lines) + "\n")


def crc(data):
    """MODBUS over Serial Line 1.02, 6.2.2."""
    value = 0xFFFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return struct.pack("<H", value)


def answer(plan, request, t, turn):
    kind, grams, moving = now_is(plan, t)
    assert request[:6] == b"\x01\x03\x00\x00\x00\x03" and crc(request[:6]) == request[6:]
    # it has no bit for warming up, and calls it a fault
    status = (0 if moving else 1) | {"over": 4, "under": 2, "fault": 0x80, "not-yet": 0x80}.get(kind, 0)
    body = b"\x01\x03\x06" + struct.pack(">iH", grams, status)
    frame = body + crc(body)
    if kind == "noise" and turn % 2:  # wrong CRC, cut off, an exception, and nothing at all
        bad = b"\x01\x83\x04"
        return [frame[:-1] + bytes([frame[-1] ^ 1]), frame[:7], bad + crc(bad), b""][turn // 2 % 4]
    return frame


def record_registers(name, plan):
    scale, far = os.openpty()
    tty.setraw(scale)
    tty.setraw(far)
    log = f"{HERE}/{name}.log"
    if os.path.exists(log):
        os.unlink(log)
    listen = subprocess.Popen([f"{BUILD}/tareline", "listen", f"registers-kg@modbus:{os.ttyname(far)}:1", "--json", "--capture", log],
                              stdout=subprocess.PIPE)
    listen.stdout.readline()
    threading.Thread(target=listen.stdout.read, daemon=True).start()
    start, turn, request = time.monotonic(), 0, b""
    while (t := time.monotonic() - start) < plan[-1][0]:
        if not select.select([scale], [], [], 0.1)[0]:
            continue
        request += os.read(scale, 64)
        if len(request) >= 8:
            os.write(scale, answer(plan, request[:8], t, turn))
            request, turn = b"", turn + 1
    listen.terminate()
    listen.wait(5)
    with open(log) as f:  # a machine's path says nothing
        lines = [line for line in f if not line.startswith("# begun")]
    lines[1:1] = ["# a slave that record_blocks.py plays; each block is an answer behind its length, or one byte for none\n"]
    with open(log, "w") as f:
        f.writelines(lines)
    check_file(name, plan)


def report(plan, t, turn):
    kind, grams, moving = now_is(plan, t)
    if kind == "noise" and turn % 2:  # another report, a short one, a state and a unit that are none
        return [b"\x04\x04", b"\x03\x04\x02", b"\x03\x09\x02\x00\x0a\x00", b"\x03\x04\x0d\x00\x0a\x00"][turn // 2 % 4]
    if kind in WEIGHTLESS:  # "not-yet" is "requires re-zeroing"
        return bytes([3, {"over": 6, "under": 5, "fault": 1, "not-yet": 8}[kind]]) + b"\x02\x00\xff\xff"
    status = 3 if moving else 4 if grams else 2
    return b"\x03" + struct.pack("<BBbH", status, 3, -3, grams)


def record_reports(name, plan):
    lines = ["# tareline recording 1", "# made by record_blocks.py, a report every 200 ms, each behind its length",
             "# profile usb-reports: reports"]
    for turn in range(int(plan[-1][0] * 5)):
        data = report(plan, turn * 0.2, turn)
        lines.append(f"{turn * 200000} {(bytes([len(data)]) + data).hex().upper()}")
    lines.append(f"{int(plan[-1][0] * 1e6)} end")
    with open(f"{HERE}/{name}.log", "w") as f:
        f.write("\n".join(lines) + "\n")
    check_file(name, plan)


if __name__ == "__main__":
    if "--states" not in sys.argv:
        record_reports("usb-reports", PLAN)
        record_registers("registers-kg", PLAN)
    record_reports("states/usb-reports", [p for p in STATES if p[2] >= 0])  # a report has no sign
    record_registers("states/registers-kg", STATES)
