#!/usr/bin/env python3
"""check_journal.py FILE: an independent checker of a journal, written from docs/journal.md alone.

Standard library only; shares no code with the program. Exit 0: every entry verifies; 1: one does not, or the file is no journal.
"""
import hashlib
import json
import sqlite3
import struct
import sys

VERSION = 1
APPLICATION = 0x5461726C


class Bad(Exception):
    pass


def check_header(path):
    with open(path, "rb") as f:
        head = f.read(100)
    if head[:16] != b"SQLite format 3\0":
        raise Bad("not an SQLite file")
    version, = struct.unpack_from(">I", head, 60)
    application, = struct.unpack_from(">I", head, 68)
    if application != APPLICATION:
        raise Bad(f"application id is {application:#x}")
    if version != VERSION:
        raise Bad(f"format version is {version}")


def field(data):
    return struct.pack("<Q", len(data)) + data


def entry_hash(seq, utc_us, mono_us, kind, batch, person, payload, prev):
    parts = [b"tareline journal 1", struct.pack("<q", seq), struct.pack("<q", utc_us), struct.pack("<q", mono_us),
             kind, batch, person, payload, prev]
    return hashlib.blake2b(b"".join(field(p) for p in parts), digest_size=32).digest()


def check_text(payload):
    kept = json.loads(payload)
    if hashlib.blake2b(kept["text"].encode(), digest_size=32).hexdigest() != kept["hash"]:
        raise Bad("its text is not the one that its hash names")


def check(path):
    check_header(path)
    db = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    db.text_factory = bytes
    due, prev = 1, bytes(32)
    for row in db.execute("SELECT seq,utc_us,mono_us,kind,batch,person,payload,prev,hash FROM journal ORDER BY seq"):
        try:
            if row[0] != due:
                raise Bad("is missing")
            if row[7] != prev:
                raise Bad("does not follow the one before it")
            if entry_hash(*row[:8]) != row[8]:
                raise Bad("was changed")
            if not isinstance(json.loads(row[6]), dict):
                raise Bad("its payload is no object")
            if row[3] == b"text":
                check_text(row[6])
        except Bad as bad:
            raise Bad(f"entry {due}: {bad}") from None
        due, prev = due + 1, row[8]
    return due - 1


def main():
    if len(sys.argv) != 2:
        sys.exit("usage: check_journal.py FILE")
    try:
        count = check(sys.argv[1])
    except (Bad, sqlite3.Error, OSError, ValueError, KeyError) as error:
        print(error)
        return 1
    print(f"{count} entries verify")
    return 0


if __name__ == "__main__":
    sys.exit(main())
