#!/usr/bin/env python3
"""run.py [NAME]...: takes the guards out of the code, one at a time, and wants a named test to go red each time.
run.py --fits: only sees that the list still fits the code.

tests/mutants.list has one block a mutant, blocks parted by blank lines, # for remarks:

    name: over-accepted
    invariant: 1 no live weight outside its band without a person's reason
    file: src/core/seq_weight.c
    from: text that stands exactly once in the file
    to: what stands there instead
    test: make unit UNIT=sequence_batch

`from` and `to` may come several times, in pairs; they are applied in order; \\n in them is the end of a line. A test goes
red only through tests/check, so that a mutant that doesn't compile is an error, not a success. The tests must be green
before; they run in a copy of the tree that is kept in build/mutants, so that only what a mutant changes is built
again."""
import os
import re
import shutil
import subprocess
import sys
import time

BUILD = os.environ.get("BUILD", "build")
TREE = os.path.join(BUILD, "mutants", "tree")
LIST = "tests/mutants.list"
KEYS = {"name", "invariant", "file", "from", "to", "test"}
COPIED = ["Makefile", ".ci", "src", "drivers", "tests", "profiles", "docs"]


def read_list():
    mutants, block = [], None
    with open(LIST, encoding="utf-8") as f:
        for number, line in enumerate(f, 1):
            line = line.rstrip("\n")
            if line.startswith("#"):
                continue
            if not line.strip():
                block = None
                continue
            m = re.match(r"([a-z]+): ?(.*)$", line)
            if not m or m.group(1) not in KEYS:
                sys.exit(f"{LIST}:{number}: expected one of {', '.join(sorted(KEYS))}, a colon and a text")
            key, text = m.groups()
            if block is None:
                block = {"from": [], "to": [], "line": number}
                mutants.append(block)
            if key in ("from", "to"):
                block[key].append(text.replace("\\n", "\n"))
            elif key in block:
                sys.exit(f"{LIST}:{number}: {key} stands twice in this block: is an empty line missing before it?")
            else:
                block[key] = text
    for m in mutants:
        missing = [k for k in KEYS if not m.get(k)]
        if missing or len(m["from"]) != len(m["to"]):
            sys.exit(f"{LIST}:{m['line']}: this mutant lacks {', '.join(missing) or 'a from or a to'}")
    return mutants


def copy_tree():
    """The tree as it is now; files that have not changed keep their times, so that make leaves them alone."""
    os.makedirs(TREE, exist_ok=True)
    for name in COPIED:
        if not os.path.exists(name):
            continue
        here = [os.path.join(d, f) for d, _, files in os.walk(name) for f in files] if os.path.isdir(name) else [name]
        for path in here:
            to = os.path.join(TREE, path)
            os.makedirs(os.path.dirname(to), exist_ok=True)
            if not os.path.exists(to) or open(path, "rb").read() != open(to, "rb").read():
                shutil.copyfile(path, to)
                shutil.copymode(path, to)
    for folder in ("src", "drivers", "tests"):
        for d, _, files in os.walk(os.path.join(TREE, folder)):
            for f in files:
                path = os.path.join(d, f)
                if not os.path.exists(os.path.relpath(path, TREE)):
                    os.remove(path)


def mutate(m, tree=TREE):
    """The file's text with the guard taken out."""
    with open(os.path.join(tree, m["file"]), encoding="utf-8") as f:
        text = f.read()
    for old, new in zip(m["from"], m["to"]):
        if text.count(old) != 1:
            raise ValueError(f"{m['file']} has {text.count(old)} times, not once: {old}")
        text = text.replace(old, new)
    return text


def run_test(command):
    """(exit code, output). Warnings are no errors here: a mutant may leave something unused."""
    env = {k: v for k, v in os.environ.items() if k not in ("MAKEFLAGS", "MFLAGS", "MAKELEVEL", "BUILD")}
    env["CHECK_SECONDS"] = "180"
    command = re.sub(r"^make ", "make WARN=-w ", command)
    ran = subprocess.run(
        ["bash", "-c", command], cwd=TREE, env=env, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=600,
        errors="replace",
    )
    return ran.returncode, ran.stdout + ran.stderr


def try_mutant(m):
    """"killed", or what is wrong."""
    path = os.path.join(TREE, m["file"])
    try:
        text = mutate(m)
    except (OSError, ValueError) as e:
        return str(e)
    with open(path, "w", encoding="utf-8") as f:
        f.write(text)
    try:
        code, said = run_test(m["test"])
    finally:
        shutil.copyfile(m["file"], path)
    if code == 0:
        return "SURVIVED"
    if not re.search(r"^  FAILED ", said, re.M):
        return "it doesn't come to a test:\n" + said[-1500:]
    return "killed"


def fits():
    """Each guard still stands where the list says."""
    stale = 0
    for m in read_list():
        try:
            mutate(m, ".")
        except (OSError, ValueError) as e:
            stale += 1
            print(f"{LIST}:{m['line']}: {m['name']}: {e}", file=sys.stderr)
    return 1 if stale else 0


def main():
    if sys.argv[1:] == ["--fits"]:
        return fits()
    wanted = sys.argv[1:]
    mutants = [m for m in read_list() if not wanted or m["name"] in wanted]
    copy_tree()
    bad = 0
    for command in sorted({m["test"] for m in mutants}):
        code, said = run_test(command)
        if code:
            print(said[-3000:])
            sys.exit(f"mutants: `{command}` is not green to begin with")
    for m in mutants:
        begun = time.monotonic()
        how = try_mutant(m)
        bad += how != "killed"
        print(f"  {how:8} {m['name']} ({time.monotonic() - begun:.0f} s): {m['invariant']}", flush=True)
    print(f"{len(mutants) - bad} passed, {bad} failed")
    return 1 if bad or not mutants else 0


if __name__ == "__main__":
    sys.exit(main())
