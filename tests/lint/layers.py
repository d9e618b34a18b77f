#!/usr/bin/env python3
"""layers.py [ROOT]: the order of the house. Fails on an include that runs against the arrows

    cli -> {station, report, files} -> {screen, store, drivers} -> core        plant -> core

on a library used outside its room, on a floating-point word in core, and on anything else at the top of the tree or in
src/ than what was agreed. Every fault is printed as FILE:LINE: what is wrong."""
import os
import re
import sys

TOP = {"README.md", "DEVELOPERS.md", "Makefile", "LICENSE", "src", "drivers", "tests", "profiles", "docs", "build"}

# A room may always include its own headers.
MAY = {
    "core": set(),
    "plant": {"core"},
    "drivers": {"core"},
    "store": {"core"},
    "screen": {"core"},
    "files": {"core"},
    "report": {"core", "store", "files", "screen"},
    "station": {"core", "store", "screen", "drivers", "files"},
    "paper": {"core", "store", "files", "report"},
    "cli": {"core", "store", "screen", "drivers", "files", "report", "station", "plant"},
}

# Header of a library -> the only rooms that see it.
LIBRARIES = {
    r"(n?curses(w/.*)?|term|panel|form|menu)\.h": {"screen"},
    r"sqlite3.*\.h": {"store"},
    r"sodium.*\.h": {"store"},
    r"ini\.h": {"files"},
    r"libserialport\.h": {"drivers"},
    r"hidapi.*": {"drivers"},
    r"modbus.*": {"drivers"},
    r"(cairo|pango|zint).*": {"paper"},
    r"math\.h": {"plant", "report", "paper", "cli"},
}

# Core is freestanding C11, and of string.h only what needs no library: lint's look at the objects sees to that.
CORE_SYSTEM = {"limits.h", "stdalign.h", "stdarg.h", "stdbool.h", "stddef.h", "stdint.h", "stdnoreturn.h", "string.h"}

INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')
faults = []


def fault(path, line, text):
    faults.append(f"{path}:{line}: {text}")


def room_of(path):
    parts = path.split("/")
    return "drivers" if parts[0] == "drivers" else parts[1]


def check_own(path, line, room, name):
    """An include of ours, as it is written: "ROOM/NAME.h" or "drivers/NAME.h"."""
    if "/" not in name:
        return fault(path, line, f'"{name}": say its room ("{room}/{name}")')
    other = name.split("/")[0]
    if not name.endswith(".h"):
        fault(path, line, f'"{name}": only headers are included')
    elif other not in MAY:
        fault(path, line, f'"{name}": there is no room "{other}"')
    elif other != room and other not in MAY[room]:
        fault(path, line, f'{room} must not include "{name}"; it may include: {", ".join(sorted(MAY[room])) or "nothing"}')


def check_system(path, line, room, name):
    if room == "core" and name not in CORE_SYSTEM:
        fault(path, line, f"core must not include <{name}>: it is freestanding")
    for pattern, rooms in LIBRARIES.items():
        if re.fullmatch(pattern, name) and room not in rooms:
            fault(path, line, f"<{name}> belongs to {', '.join(sorted(rooms))} only")


def without_comments(text):
    """Comments and strings blanked, lines kept."""
    return re.sub(
        r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\\n])*"',
        lambda m: re.sub(r"[^\n]", " ", m.group()),
        text,
        flags=re.S,
    )


def check_file(root, path):
    room = room_of(path)
    if room not in MAY:
        return
    with open(os.path.join(root, path), encoding="utf-8") as f:
        text = f.read()
    for number, line in enumerate(text.splitlines(), 1):
        m = INCLUDE.match(line)
        if m and m.group(1) == '"':
            check_own(path, number, room, m.group(2))
        elif m:
            check_system(path, number, room, m.group(2))
    if room == "core":
        for number, line in enumerate(without_comments(text).splitlines(), 1):
            if re.search(r"\b(float|double|_Complex)\b", line):
                fault(path, number, "no floating point in core")


def main():
    root = sys.argv[1] if len(sys.argv) > 1 else "."
    for name in sorted(os.listdir(root)):
        if not name.startswith(".") and name not in TOP:
            fault(name, 0, "nothing else stands at the top of the tree than " + ", ".join(sorted(TOP)))
    for name in sorted(os.listdir(os.path.join(root, "src"))):
        if name not in MAY or name == "drivers":
            fault(f"src/{name}", 0, "no such room in src/")
    seen = 0
    for base in ("src", "drivers"):
        for folder, _, names in os.walk(os.path.join(root, base)):
            for name in sorted(names):
                if name.endswith((".c", ".h")):
                    check_file(root, os.path.relpath(os.path.join(folder, name), root))
                    seen += 1
    print("\n".join(faults))
    print(f"layers: {seen} files, {len(faults)} faults")
    return 1 if faults or not seen else 0


if __name__ == "__main__":
    sys.exit(main())
