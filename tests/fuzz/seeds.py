#!/usr/bin/env python3
"""tests/fuzz/seeds.py decode|recording FOLDER: seeds from the recordings in tests/replay.

For decode, the bytes of each recording in pieces behind the number of its profile; for recording, its first lines."""
import glob
import os
import sys

PIECE = 1500
kind, folder = sys.argv[1:]
os.makedirs(folder, exist_ok=True)
profiles = [os.path.basename(f)[:-4] for f in sorted(glob.glob("profiles/scales/*.ini"))]
for path in sorted(glob.glob("tests/replay/**/*.log", recursive=True)):
    name = os.path.basename(path)[:-4]
    states = "-states" if "/states/" in path else ""
    lines = [line.rstrip("\n") for line in open(path) if not line.startswith("#")]
    if kind == "recording":
        for i, line in enumerate(lines[:40]):
            open(f"{folder}/{name}{states}-{i}", "w").write(line)
        continue
    number = bytes([profiles.index(name)])
    data = b"".join(bytes.fromhex(line.split(" ")[1]) for line in lines if line.split(" ")[1] not in ("end", "again"))
    for i in range(0, len(data), PIECE):
        open(f"{folder}/{name}{states}-{i}", "wb").write(number + data[i : i + PIECE])
