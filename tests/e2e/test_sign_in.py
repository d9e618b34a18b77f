#!/usr/bin/env python3
"""Signing in at the full screen, at the second try."""
import os
import tempfile
import time

from client import bench_and_fine, scale_arguments
from terminal import Terminal, wait_for

PROGRAM = os.path.abspath(os.environ.get("TARELINE", "build/tareline"))


def stands(rows, words):
    return any(words in row for row in rows)


def refusal_goes():
    """Who signs in at the second try does not read on that nobody knows them."""
    scales = bench_and_fine()
    with tempfile.TemporaryDirectory() as home:
        command = [PROGRAM, "weigh", "smoked-bratwurst", "--station", "smokehouse", "--journal", home + "/j.db"]
        terminal = Terminal(80, 24, " ".join(command + scale_arguments(scales)) + "; sleep 100")
        try:
            wait_for(terminal, lambda rows: stands(rows, "Who is weighing?"))
            time.sleep(0.5)
            terminal.press("/", "X", "X", "\r")
            wait_for(terminal, lambda rows: stands(rows, "not known here"))
            time.sleep(0.5)
            terminal.press("/", "T", "H", "\r")
            rows = wait_for(terminal, lambda rows: stands(rows, "► Which lot"))
            assert not stands(rows, "not known here"), "\n".join(rows)
        finally:
            terminal.close()


if __name__ == "__main__":
    refusal_goes()
