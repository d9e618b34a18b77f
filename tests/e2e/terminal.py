"""A terminal of its own, by tmux: what stands on it, and keys at human pace."""
import itertools
import os
import subprocess
import time

COUNT = itertools.count()


class Terminal:
    def __init__(self, cols, rows, command):
        self.socket = "tareline-%d-%d" % (os.getpid(), next(COUNT))
        self.rows = rows
        self.tmux("-f", "/dev/null", "new-session", "-d", "-x", str(cols), "-y", str(rows), command)

    def tmux(self, *args):
        return subprocess.run(["tmux", "-L", self.socket, *args], check=True, capture_output=True).stdout.decode()

    def picture(self):
        return self.tmux("capture-pane", "-p").split("\n")[:self.rows]

    def press(self, *keys):
        for key in keys:
            time.sleep(0.15)
            self.tmux("send-keys", "-l", key)

    def close(self):
        subprocess.run(["tmux", "-L", self.socket, "kill-server"], capture_output=True)


def wait_for(terminal, seen, seconds=15):
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        rows = terminal.picture()
        if seen(rows):
            return rows
        time.sleep(0.05)
    raise AssertionError("not seen in %d s:\n%s" % (seconds, "\n".join(terminal.picture())))
