#!/usr/bin/env python3
"""tareline check and plan from outside: exit codes, one line for each fault, JSON that a script can read, nothing where
nothing should be."""
import json
import os
import subprocess
import sys
import tempfile

TARELINE = os.environ.get("TARELINE", "build/tareline")
BROKEN = "tests/unit/files/ini-every-fault-in-one-run.ini"
SHIPPED = sorted(os.path.join(d, f) for d, _, fs in os.walk("profiles") for f in fs if f.endswith(".ini"))


def run(*args, cwd=None):
    done = subprocess.run([os.path.abspath(TARELINE), *args], capture_output=True, text=True, cwd=cwd, timeout=20)
    return done.returncode, done.stdout, done.stderr


def expect(what, got, wanted):
    if got != wanted:
        sys.exit(f"{what}: expected {wanted!r}, got {got!r}")


def check_full_disk():
    """What a full disk cut off must not pass for a whole sheet, whichever command prints it."""
    for args in (["check", SHIPPED[0]], ["check", "--keys"], ["plan", "fresh-breakfast", "--meat", "5 kg"],
                 ["plan", "fresh-breakfast", "--meat", "5 kg", "--json"], ["weigh", "--help"]):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([os.path.abspath(TARELINE), *args], stdout=full, stderr=subprocess.PIPE, text=True,
                                  timeout=20)
        expect(args, (done.returncode, "could not be written" in done.stderr), (1, True))


def check_people_lines():
    code, out, err = run("check", *SHIPPED)
    expect("shipped files", (code, err, len(out.splitlines())), (0, "", len(SHIPPED)))
    code, out, err = run("check", BROKEN, SHIPPED[0])
    expect("a broken file among good ones", (code, len(out.splitlines())), (1, 1))
    lines = err.splitlines()
    expect("each fault has file and line", [ln for ln in lines if not ln.startswith(BROKEN + ":")], [])
    numbers = [int(ln[len(BROKEN) + 1:].split(":")[0]) for ln in lines]
    expect("faults in order of lines", numbers, [1, 2, 4, 10, 14, 15, 17])


def check_json():
    code, out, err = run("check", "--json", BROKEN, SHIPPED[0])
    first, second = (json.loads(ln) for ln in out.splitlines())
    expect("exit and silence", (code, err), (1, ""))
    expect("kind and verdict", (first["kind"], first["good"], first["count"]), ("formula", False, 7))
    expect("one fault", first["faults"][1],
           {"file": BROKEN, "line": 2, "text": "id = Test Sausage: not of that form; expected 1 to 31 of a-z, 0-9 and -"})
    expect("a good file", (second["good"], second["faults"]), (True, []))


def check_odd_names():
    with tempfile.TemporaryDirectory() as folder:
        name = os.path.join(folder, 'a: "b" 7: c.ini')
        with open(name, "w") as f:
            f.write("[formula]\nid = x\n")
        code, out, _ = run("check", "--json", name)
        answer = json.loads(out)
        expect("a file name with quotes and colons", (code, answer["file"]), (1, name))
        expect("its faults", {(f["file"], f["line"]) for f in answer["faults"]},
               {(name, 1), (name, 0)})
        code, _, err = run("check", "--json", name.replace(" 7", "\n7"))
        expect("one with a line end can't forge a fault", (code, err.count("\n"), "no text" in err), (2, 1, True))
        code, _, err = run("check", os.path.join(folder, "none.ini"))
        expect("a missing file", (code, err.count("\n")), (3, 1))
        code, _, err = run("check", folder)
        expect("a folder", (code, "not a regular file" in err), (3, True))


def check_usage():
    expect("no file", run("check")[0], 2)
    expect("unknown option", run("check", "--fix", SHIPPED[0])[0], 2)
    code, out, err = run("check", "--help")
    expect("help", (code, out.startswith("usage: tareline check"), err), (0, True, ""))
    code, out, _ = run("check", "--keys")
    with open("docs/files.md") as f:
        expect("the reference page", (code, out), (0, f.read()))


def check_plan():
    code, out, err = run("plan", "smoked-bratwurst", "--meat", "40 kg", "--station", "smokehouse", "--json")
    sheet = json.loads(out)
    cure = next(ln for ln in sheet["lines"] if ln["ingredient"] == "curing-salt")
    # 9 CFR 424.21(c): 1/4 oz of nitrite to 100 lb of meat, so 100.00 g of a 6.25 % cure for 40 kg
    expect("plan", (code, err, cure["target_g"], cure["limit"]["max_g"], cure["limit"]["max_ppm"]),
           (0, "", 100, 100, 156.25))
    expect("cheese goes in last", sheet["steps"][-1]["ingredients"], ["mountain-cheese"])
    expect("a shipped name from another folder", run("plan", "fresh-breakfast", "--meat", "10 lb", cwd="/")[0], 0)
    expect("no mass", run("plan", "smoked-bratwurst")[0], 2)
    expect("a bare number", run("plan", "smoked-bratwurst", "--meat", "40")[0], 2)
    expect("a broken formula", run("plan", BROKEN, "--meat", "40kg")[0], 3)
    expect("beyond a limit", run("plan", "tests/unit/files/plan/over-its-limit.ini", "--station", "smokehouse")[0], 1)


for check in (check_people_lines, check_json, check_odd_names, check_usage, check_plan, check_full_disk):
    check()
print("check and plan: as documented")
