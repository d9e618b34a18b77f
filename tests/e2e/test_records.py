#!/usr/bin/env python3
"""`tareline records` on a journal that was written by another hand: the station makes it and is killed, then entries are
appended from docs/journal.md alone. What the program says of it, and of every way of tampering, is compared with
check_journal.py, which shares no code with it."""
import csv
import hashlib
import io
import json
import os
import pty
import shutil
import signal
import sqlite3
import struct
import subprocess
import sys
import tempfile
import tty
from decimal import Decimal

PROGRAM = os.environ.get("TARELINE", "build/tareline")
CHECKER = os.path.join(os.path.dirname(os.path.abspath(__file__)), "check_journal.py")
BEGAN = 1764050400000000


def field(data):
    return struct.pack("<Q", len(data)) + data


def entry_hash(seq, utc, mono, kind, batch, person, payload, prev):
    parts = [b"tareline journal 1", struct.pack("<q", seq), struct.pack("<q", utc), struct.pack("<q", mono), kind.encode(),
             batch.encode(), person.encode(), payload.encode(), prev]
    return hashlib.blake2b(b"".join(map(field, parts)), digest_size=32).digest()


def append(path, kind, batch, person, payload):
    db = sqlite3.connect(path)
    seq, prev = db.execute("SELECT seq, hash FROM journal ORDER BY seq DESC LIMIT 1").fetchone() or (0, bytes(32))
    text = json.dumps(payload, ensure_ascii=False)
    row = (seq + 1, BEGAN + seq * 1000000, seq, kind, batch, person, text)
    db.execute("INSERT INTO journal VALUES(?,?,?,?,?,?,?,?,?)", row + (prev, entry_hash(*row, prev)))
    db.commit()
    db.close()


def keep(path, name, text):
    digest = hashlib.blake2b(text.encode(), digest_size=32).hexdigest()
    append(path, "text", "", "", {"name": name, "hash": digest, "text": text})
    return digest


def records(*args, to=subprocess.PIPE):
    done = subprocess.run([PROGRAM, "records", *args], stdout=to, stderr=subprocess.PIPE, timeout=30)
    return done.returncode, (done.stdout or b"").decode(), done.stderr.decode()


def station(path):
    """The program at work on the journal: its first line has come, so the journal is open."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    scale = "bench=status-basis-kg@%s,capacity=15kg,division=5g" % os.ttyname(slave)
    work = subprocess.Popen([PROGRAM, "weigh", "fresh-breakfast", "--scale", scale, "--journal", path, "--json"],
                            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    first = work.stdout.readline()
    assert b'"hello"' in first, (first, work.stderr.read() if work.poll() is not None else b"")
    return work, (master, slave)


def end(work, descriptors):
    work.send_signal(signal.SIGKILL)
    work.communicate()
    for fd in descriptors:
        os.close(fd)


def both_say(path, code, bad):
    """The program and the independent checker, of the same mind; the program names the first bad entry."""
    got, said, _ = records("verify", "--json", "--journal", path)
    told = json.loads(said)
    assert (got, told["bad_seq"]) == (code, bad), (got, told)
    assert told["verifies"] == (code == 0) and (told["why"] is None) == (code == 0), told
    checker = subprocess.run([sys.executable, CHECKER, path], stdout=subprocess.PIPE, timeout=30)
    if bad or code == 0:  # it knows nothing of the tables beside the journal
        assert checker.returncode == code, checker.stdout
        assert bad is None or checker.stdout.startswith(b"entry %d:" % bad), checker.stdout


def test_empty(path):
    work, fds = station(path)
    code, _, why = records("rebuild", "--journal", path)
    assert code == 5 and "another program (process %d) writes the journal" % work.pid in why, why
    code, out, _ = records("list", "--journal", path)
    assert (code, out) == (0, "no batch yet\n")
    end(work, fds)
    both_say(path, 0, None)
    assert records("list", "--json", "--journal", path)[:2] == (0, "")
    code, _, why = records("show", "--journal", path)
    assert code == 1 and "no batch has been begun" in why, why


def fill(path):
    with open("profiles/formulas/fresh-breakfast.ini", encoding="utf-8") as f:
        formula = keep(path, "fresh-breakfast.ini", f.read())
    append(path, "started", "b-1", "AB", {"basis": "weighed", "formula": "fresh-breakfast", "formula_name": "Frühstück",
                                          "formula_text": formula})
    weighed = {"item": 1, "parent": None, "ingredient": "x", "lot": 'L,"1"\r\nü', "scale": "bench",
               "gross_pg": 9007199254740993, "tare_pg": 1, "target_pg": None, "low_pg": None, "high_pg": None,
               "actual_pg": 9007199254740992, "verdict": "in", "manner": "live", "reason": None}
    append(path, "weighed", "b-1", "AB", weighed)
    append(path, "later-kind", "b-1", "AB", {"later": [1, 2]})
    append(path, "state", "b-1", "AB", {"state": "complete"})
    append(path, "started", "b-2", "CD", {"basis": "weighed", "formula": "fresh-breakfast", "formula_text": formula})
    append(path, "notice", "b-2", "CD", {"code": "silent", "scale": "bench"})


def test_answers(path):
    both_say(path, 0, None)
    code, out, _ = records("list", "--json", "--journal", path)
    rows = [json.loads(line) for line in out.splitlines()]
    assert code == 0 and [(r["batch"], r["state"], r["person"]) for r in rows] == [("b-1", "complete", "AB"),
                                                                                   ("b-2", "running", "CD")], rows
    code, out, _ = records("export", "--json", "--batch", "b-1", "--journal", path)
    rows = [json.loads(line, parse_float=Decimal) for line in out.splitlines()]
    assert code == 0 and [r["kind"] for r in rows] == ["started", "weighed", "later-kind", "state"], rows
    weighed = rows[1]
    assert list(weighed) == ["seq", "utc", "kind", "batch", "person", "item", "parent", "ingredient", "lot", "scale",
                             "gross_g", "tare_g", "target_g", "low_g", "high_g", "actual_g", "verdict", "manner", "reason"]
    assert weighed["gross_g"] == Decimal("9007.199254740993") and weighed["tare_g"] == Decimal("0.000000000001"), weighed
    assert weighed["utc"] == "2025-11-25T06:00:02.000000Z", weighed
    code, out, _ = records("export", "--csv", "--journal", path)
    table = list(csv.DictReader(io.StringIO(out, newline=""), strict=True))
    assert code == 0 and len(table) == 7 and all(None not in r and None not in r.values() for r in table)
    assert table[2]["lot"] == 'L,"1"\r\nü' and table[2]["gross_g"] == "9007.199254740993" and table[2]["low_g"] == ""
    with open("profiles/formulas/fresh-breakfast.ini", encoding="utf-8", newline="") as f:
        assert table[0]["text"] == f.read()
    code, out, _ = records("show", "--json", "--journal", path)
    assert code == 0 and json.loads(out)["batch"] == "b-2"
    code, out, _ = records("show", "b-1", "--json", "--journal", path)
    shown = json.loads(out, parse_float=Decimal)
    assert shown["lines"][0]["actual_g"] == Decimal("9007.199254740992") and shown["state"] == "complete", shown
    code, out, _ = records("show", "b-1", "--journal", path)
    assert code == 0 and "9.0072 kg" in out and all(len(line) <= 80 for line in out.splitlines()), out


OFF = "DROP TRIGGER journal_no_update; DROP TRIGGER journal_no_delete; DROP TRIGGER journal_next_only;"
TAMPERING = [
    ("UPDATE journal SET payload=replace(payload,'\"item\": 1','\"item\": 2') WHERE seq=3", 3),
    ("UPDATE journal SET utc_us=utc_us+1 WHERE seq=4", 4),
    ("UPDATE journal SET person='XY' WHERE seq=2", 2),
    ("DELETE FROM journal WHERE seq=5", 5),
    ("DELETE FROM journal WHERE seq=1", 1),
    ("UPDATE journal SET seq=99 WHERE seq=3; UPDATE journal SET seq=3 WHERE seq=4; UPDATE journal SET seq=4 WHERE seq=99", 3),
    ("UPDATE journal SET hash=zeroblob(32) WHERE seq=6", 6),
    ("UPDATE journal SET prev=zeroblob(32) WHERE seq=6", 6),
    ("UPDATE journal SET payload='{}',hash=forged(4) WHERE seq=4", 5),  # its own hash made to fit
]


def test_tampering(path):
    for sql, bad in TAMPERING:
        copy = path + "-copy"
        shutil.copy(path, copy)
        db = sqlite3.connect(copy)
        row = db.execute("SELECT seq,utc_us,mono_us,kind,batch,person,'{}',prev FROM journal WHERE seq=4").fetchone()
        db.create_function("forged", 1, lambda seq, row=row: entry_hash(*row))
        db.executescript(OFF + sql)
        db.close()
        both_say(copy, 1, bad)
        assert records("rebuild", "--journal", copy)[0] == 0  # mends guards and tables, never an entry
        both_say(copy, 1, bad)
        os.unlink(copy)
    db = sqlite3.connect(path)
    for sql in ("UPDATE journal SET person=''", "DELETE FROM journal",
                "INSERT OR REPLACE INTO journal SELECT * FROM journal WHERE seq=3"):
        try:
            db.execute(sql)
            raise AssertionError("went through: " + sql)
        except sqlite3.DatabaseError as error:
            assert "only grows" in str(error), error
    db.close()
    both_say(path, 0, None)


def test_rebuild(path):
    for sql in ("UPDATE batches SET state='running'", "DROP TABLE texts", "DROP TRIGGER journal_no_delete"):
        db = sqlite3.connect(path)
        db.executescript(sql)
        db.close()
        both_say(path, 1, None)
        code, out, _ = records("rebuild", "--journal", path)
        assert (code, out) == (0, "the tables were made anew from 7 entries\n"), out
        both_say(path, 0, None)


def test_refusals(path, folder):
    for args in ([], ["nothing"], ["list", "more"], ["list", "--batch", "b"], ["export", "--json", "--csv"], ["--bad"],
                 ["verify", "--csv"], ["show", "b-1", "--batch", "b-2"], ["export", "--batch"]):
        code, out, why = records(*args)
        assert code == 2 and not out and why.count("\n") == 1, (args, code, why)
    assert records("--help")[0] == 0
    missing = os.path.join(folder, "none", "journal.db")
    for sub in ("list", "show", "export", "verify", "rebuild"):
        code, out, why = records(sub, "--journal", missing)
        assert code == 5 and not out and "there is no journal at" in why, (sub, code, why)
    assert not os.path.exists(os.path.dirname(missing))
    foreign = os.path.join(folder, "foreign.db")
    with open(foreign, "w", encoding="ascii") as f:
        f.write("something else")
    for sub in ("list", "verify", "rebuild"):
        code, _, why = records(sub, "--journal", foreign)
        assert code == 5 and "is not a journal" in why, (sub, code, why)
    assert os.path.getsize(foreign) == 14 and not os.path.exists(foreign + "-lock")
    for args in (["show", "b-9"], ["export", "--batch", "b-9"]):
        code, _, why = records(*args, "--journal", path)
        assert code == 1 and "no batch b-9" in why, why
    with open("/dev/full", "wb") as full:
        code, _, why = records("export", "--journal", path, to=full)
    assert code == 1 and "could not be written" in why, (code, why)


def main():
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "journal.db")
        test_empty(path)
        fill(path)
        test_answers(path)
        test_tampering(path)
        test_rebuild(path)
        test_refusals(path, folder)
    print("records: ok")


if __name__ == "__main__":
    sys.exit(main())
