#!/usr/bin/env python3
"""stack.py ELF OBJDUMP ROOT[,ROOT]... CI...: the deepest stack of core on a Cortex-M3, in bytes.

CI are the files that gcc's -fcallgraph-info=su writes. Recursion, an indirect call and a frame whose size is not known
when compiling are faults. For what gcc gives no frame of (libgcc's 64-bit division, memcpy), the frame and the calls are
read from the disassembly of ELF: every push of the function added up, so rather too much than too little."""
import re
import subprocess
import sys

NODE = re.compile(r'node: \{ title: "([^"]+)" label: "([^"]*)"')
EDGE = re.compile(r'edge: \{ sourcename: "([^"]+)" targetname: "([^"]+)"(?: label: "([^"]*)")?')
faults = []


def read_graph(paths):
    frames, calls = {}, {}
    for path in paths:
        with open(path, encoding="utf-8") as f:
            for line in f:
                node, edge = NODE.match(line), EDGE.match(line)
                if node:
                    size = re.search(r"\\n(\d+) bytes \(([a-z,]+)\)", node.group(2))
                    if size:
                        frames[node.group(1)] = int(size.group(1))
                        if size.group(2) != "static":
                            faults.append(f"{node.group(1)}: its frame is {size.group(2)}, not known when compiling")
                elif edge:
                    calls.setdefault(edge.group(1), {})[edge.group(2)] = edge.group(3) or ""
    return frames, calls


def registers(text):
    """How many a list like {r4, r5-r7, lr} names."""
    count = 0
    for part in text.split(","):
        ends = re.findall(r"r(\d+)", part)
        count += int(ends[1]) - int(ends[0]) + 1 if len(ends) == 2 else 1
    return count


def read_disassembly(elf, objdump):
    """Frame and callees of every function of the program, by its instructions."""
    frames, calls, name = {}, {}, None
    text = subprocess.run([objdump, "-d", "--no-show-raw-insn", elf], capture_output=True, text=True, check=True).stdout
    for line in text.splitlines():
        head = re.match(r"[0-9a-f]+ <([^>]+)>:", line)
        if head:
            name = head.group(1)
            frames[name], calls[name] = 0, {}
            continue
        m = re.match(r"\s*[0-9a-f]+:\s+(\S+)\s*(.*)", line)
        if not m or name is None:
            continue
        op, rest = m.groups()
        if re.match(r"(push|stmdb)", op) and ("push" in op or rest.startswith("sp!")):
            frames[name] += 4 * registers(rest[rest.index("{"):])
        elif (spill := re.match(r"(?:r\d+|lr), (?:(?:r\d+|lr), )?\[sp, #-(\d+)\]!", rest)) and op.startswith("str"):
            frames[name] += int(spill.group(1))
        elif op.startswith("sub") and (room := re.match(r"sp, (?:sp, )?#(\d+)", rest)):
            frames[name] += int(room.group(1))
        elif op.startswith("b") and (to := re.search(r"<([^>+]+)>$", rest)) and to.group(1) != name:
            calls[name][to.group(1)] = ""
        elif op.startswith("blx"):
            calls[name]["__indirect_call"] = ""
    return frames, calls


def deepest(name, path, known, frames, calls, seen):
    """(bytes, [functions]) below and with name; every cycle and indirect call on the way is a fault."""
    if name in path:
        faults.append("recursion: " + " -> ".join(path[path.index(name):] + [name]))
        return 0, []
    if name in seen:
        return seen[name]
    best = 0, []
    for callee, where in calls.get(name, {}).items():
        if callee == "__indirect_call":
            faults.append(f"{name} calls through a pointer ({where})")
            continue
        if callee not in known:
            faults.append(f"{name} calls {callee}, which is nowhere in the program")
            continue
        best = max(best, deepest(callee, path + [name], known, frames, calls, seen), key=lambda b: b[0])
    seen[name] = best[0] + frames[name], [f"{name.split(':')[-1]} {frames[name]}"] + best[1]
    return seen[name]


def main():
    elf, objdump, roots, paths = sys.argv[1], sys.argv[2], sys.argv[3].split(","), sys.argv[4:]
    frames, calls = read_graph(paths)
    lib_frames, lib_calls = read_disassembly(elf, objdump)
    for name in calls.keys() | frames.keys():
        lib_frames.pop(name, None)
        lib_calls.pop(name, None)
    frames = {**lib_frames, **frames}
    calls = {**lib_calls, **calls}
    seen = {}
    # all of core is looked at for cycles and pointers, not only what the roots reach
    for name in sorted(frames):
        if name not in lib_frames:
            deepest(name, [], frames, frames, calls, seen)
    worst = max((deepest(r, [], frames, frames, calls, seen) for r in roots), key=lambda b: b[0])
    for text in sorted(set(faults)):
        print("stack:", text, file=sys.stderr)
    print(worst[0], " > ".join(worst[1]))
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
