#!/usr/bin/env python3
"""Every rule of `make lint` must go red on a deliberate violation, and for the right reason. Works on copies of the tree."""
import os
import shutil
import subprocess
import sys
import tempfile

LONG = "int long_one(int a);\nint long_one(int a)\n{\n" + "    a += a * 3;\n" * 119 + "    return a;\n}\n"
HEAP = "#include <stddef.h>\n\nvoid *malloc(size_t n);\nvoid *grab(void);\nvoid *grab(void)\n{\n    return malloc(8);\n}\n"
STATE = "int count(void);\nint count(void)\n{\n    static int calls;\n    return ++calls;\n}\n"
REAL = "int half(int a);\nint half(int a)\n{\n    return (int)(a * 0.37);\n}\n"
TIDY = "#include <stdlib.h>\n\nint leak(int a);\nint leak(int a)\n{\n    char *p = malloc(8);\n    return p ? a : 0;\n}\n"
CPPC = "int edge(void);\nint edge(void)\n{\n    int list[3] = {1, 2, 3};\n    return list[3];\n}\n"

RECUR = (
    "int walk(int n, volatile int *p);\nint walk(int n, volatile int *p)\n{\n"
    "    return n ? walk(*p, p) + walk(n - 1, p) : 0;\n}\n"
)
POINTER = "int call(int (*f)(int));\nint call(int (*f)(int))\n{\n    return f(3) + 1;\n}\n"
LENGTH = (
    "void fill(char *p);\nvoid vary(int n);\nvoid fill(char *p)\n{\n    *p = 1;\n}\nvoid vary(int n)\n{\n    char b[n];\n"
    '    fill(b);\n    __asm__ volatile("" : : "r"(b) : "memory");\n}\n'
)

# (rule, {file: text}, what must be said)
CASES = [
    ("layers", {"src/core/bad.c": '#include "store/store.h"\n'}, "core must not include"),
    ("layers", {"src/core/bad.c": "#include <stdio.h>\n"}, "freestanding"),
    ("layers", {"src/core/bad.c": "static const double share = 1;\n"}, "no floating point"),
    ("layers", {"src/screen/bad.h": '#include "store/store.h"\n'}, "screen must not include"),
    ("layers", {"src/report/bad.c": '#include "drivers/driver.h"\n'}, "report must not include"),
    ("layers", {"drivers/bad.c": '#include "station/station.h"\n'}, "drivers must not include"),
    ("layers", {"src/store/bad.c": '#include "files/files.h"\n'}, "store must not include"),
    ("layers", {"src/plant/bad.c": '#include "drivers/driver.h"\n'}, "plant must not include"),
    ("layers", {"src/station/bad.c": '#include "plant/plant.h"\n'}, "station must not include"),
    ("layers", {"src/station/bad.c": "#include <sqlite3.h>\n"}, "belongs to store only"),
    ("layers", {"notes.txt": "hello\n"}, "at the top of the tree"),
    ("layers", {"src/misc/bad.c": "\n"}, "no such room"),
    ("format", {"src/files/bad.c": "int  bad( void );\n"}, "clang-format"),
    ("headers", {"src/files/bad.h": "size_t bad(void);\n"}, "size_t"),
    ("headers", {"src/files/bad.h": "struct twice {\n    int a;\n};\n"}, "redefinition"),
    ("core", {"src/core/bad.c": HEAP}, "must not use malloc"),
    ("core", {"src/core/bad.c": STATE}, "no writable data"),
    ("core", {"src/core/bad.c": REAL}, "must not use __aeabi_"),
    ("tidy", {"src/files/bad.c": LONG}, "readability-function-size"),
    ("tidy", {"src/files/bad.c": TIDY}, "clang-analyzer"),
    ("cppcheck", {"src/files/bad.c": CPPC}, "arrayIndexOutOfBounds"),
    ("core-arm", {"src/core/bad.c": RECUR}, "recursion: walk -> walk"),
    ("core-arm", {"src/core/bad.c": POINTER}, "call calls through a pointer"),
    ("core-arm", {"src/core/bad.c": LENGTH}, "not known when compiling"),
]


def run(tree, rule, files):
    """The rule on the files added; where it reads sources one by one, on these alone."""
    only = [f"LINT_SRC={f}" for f in files if f.endswith(".c")] + [f"LINT_HDR={f}" for f in files if f.endswith(".h")]
    if rule in ("core", "format"):
        only.append("CORE_SRC=" + " ".join(f for f in files))
        only.append("LINT_ALL=" + " ".join(f for f in files))
    # -Werror would stop some of these before the rule is asked.
    return subprocess.run(
        ["make", rule if rule == "core-arm" else f"lint-{rule}", "BUILD=build", "WARN=-w", *only],
        cwd=tree, capture_output=True, text=True, timeout=100, stdin=subprocess.DEVNULL,
    )


def main():
    bad = 0
    with tempfile.TemporaryDirectory() as top:
        clean = os.path.join(top, "clean")
        for name in ("Makefile", ".clang-tidy", ".clang-format", ".ci", "src", "drivers", "tests/lint", "tests/arm"):
            copy = shutil.copytree if os.path.isdir(name) else shutil.copy
            os.makedirs(os.path.dirname(os.path.join(clean, name)), exist_ok=True)
            copy(name, os.path.join(clean, name))
        run(clean, "core-arm", {})
        for rule, files, words in CASES:
            tree = os.path.join(top, "tree")
            shutil.copytree(clean, tree)
            for path, text in files.items():
                os.makedirs(os.path.dirname(os.path.join(tree, path)), exist_ok=True)
                with open(os.path.join(tree, path), "w", encoding="utf-8") as f:
                    f.write(text)
            ran = run(tree, rule, files)
            said = ran.stdout + ran.stderr
            good = ran.returncode != 0 and words in said
            print(("ok    " if good else "FAILED"), rule, *files, "->", words)
            if not good:
                bad += 1
                print(f"exit code {ran.returncode}, said:\n{said}")
            shutil.rmtree(tree)
    print(f"{len(CASES) - bad} rules went red, {bad} did not")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
