#!/usr/bin/env python3
"""tareline ports: the list, its refusals, and which scale is which, proved on two pretend scales and a socket."""
import json
import os
import socket
import subprocess
import sys
import tempfile
import threading
import time

PROGRAM = os.environ.get("TARELINE", "build/tareline")


def check(what, good):
    print("ok" if good else "FAILED", what)
    if not good:
        raise AssertionError(what)


def run(*args, **more):
    return subprocess.run([PROGRAM, "ports", *args], capture_output=True, text=True, check=False, timeout=100, **more)


class Pretend:
    def __init__(self, profile, link):
        self.process = subprocess.Popen([PROGRAM, "pretend", profile, "--link", link, "--capacity", "6 kg", "--division", "1 g"],
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1)
        self.process.stdout.readline()

    def verb(self, text):
        self.process.stdin.write(text + "\n")
        check(text, self.process.stdout.readline().startswith("ok"))

    def end(self):
        self.process.terminate()
        self.process.wait(5)


def prove(devices, wanted, act):
    """Runs it; act(k) when it asks for the k-th scale. Its exit code and all that it said."""
    args = [x for w in wanted for x in ("--prove", w)]
    process = subprocess.Popen([PROGRAM, "ports", *args, *devices], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    asked, said = 0, ""
    for line in process.stdout:
        said += line
        if line.startswith("Put something on"):
            time.sleep(0.5)
            act(asked)
            asked += 1
    return process.wait(10), said, process.stderr.read()


def usage_and_list():
    check("help", run("--help").returncode == 0)
    for args in (["--prove"], ["--prove", "bench"], ["--prove", "=x"], ["--nonsense"], ["/dev/ttyUSB0"],
                 ["--json", "--prove", "a=bare-kg"]):
        got = run(*args)
        check(f"{args} is usage", got.returncode == 2 and "--help" in got.stderr and not got.stdout)
    got = run("--prove", "bench=no-such-profile")
    check("a profile that is none", got.returncode == 3)
    got = run("--json")
    check("the list", got.returncode in (0, 1) and all("device" in json.loads(line) for line in got.stdout.splitlines()))


def serve(listening):
    """A device server that keeps sending the same weight."""
    while True:
        line = listening.accept()[0]
        try:
            while True:
                line.sendall(b"ST,GS,+  2.350kg\r\n")
                time.sleep(0.1)
        except OSError:
            pass


def main():
    usage_and_list()
    with tempfile.TemporaryDirectory() as folder:
        one, two = (os.path.join(folder, name) for name in ("one", "two"))
        scales = [Pretend("status-basis-kg", one), Pretend("status-basis-kg", two)]
        listening = socket.create_server(("127.0.0.1", 0))
        threading.Thread(target=serve, args=(listening,), daemon=True).start()
        devices = [f"tcp:127.0.0.1:{listening.getsockname()[1]}", one, two, os.path.join(folder, "missing")]
        scales[0].verb("put 700 g")  # what stands there already proves nothing

        code, said, err = prove(devices, ["bench=status-basis-kg", "floor=status-basis-kg"],
                                lambda k: scales[1 - k].verb("put 250 g"))
        print(said, err)
        check("both are found", code == 0 and said.index(f"[scale bench]\nprofile = status-basis-kg\ndevice = {two}\n")
              < said.index(f"[scale floor]\nprofile = status-basis-kg\ndevice = {one}\n"))
        check("what can't be opened is said", "missing is left out" in err)

        def both(_):
            for scale in scales:
                scale.verb("put 100 g")

        def first_then_both(k):
            if k:
                both(k)
            else:
                scales[1].verb("put 250 g")

        code, said, err = prove([one, two], ["bench=status-basis-kg", "floor=status-basis-kg"], first_then_both)
        check("one that was found is not asked again", code == 0 and f"[scale floor]\nprofile = status-basis-kg\ndevice = {one}\n" in said)
        code, said, err = prove([one, two], ["bench=status-basis-kg"], both)
        check("two that move are refused", code == 1 and "more than one weight moved" in err and "device" not in said)
        code, said, err = prove([one], ["bench=asked-comma-g"], lambda k: None)
        check("a profile that does not fit is said", code == 1 and "no port gives a weight" in err)
        for scale in scales:
            scale.end()
    return 0


if __name__ == "__main__":
    sys.exit(main())
