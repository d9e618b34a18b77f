#!/usr/bin/env python3
"""Writes docs/screens.md from two sessions at the full screen, each of which completes a batch (make screens)."""
import glob
import os
import subprocess
import sys
import tempfile

TEST = os.path.join(os.path.dirname(os.path.abspath(__file__)), "test_screen.py")
PICTURES = {
    "80x24": [
        ("Which lot of", "The lot is asked: by scanner, from the list, or typed"),
        ("Is that all the meat", "The meat block, confirmed once; everything else is worked out from it"),
        ("Is it empty", "Somebody pressed the scale's own tare key: its zero must be seen anew, with nothing on it"),
        ("Take out", "Too much in the cup"),
        ("Accept it?", "In its band and at rest"),
        ("stood there in the end", "Something was spooned out of a cup that was accepted already: asked when it is lifted off"),
        ("Press Enter when it is in", "An addition"),
        ("Measure", "A check"),
    ],
    "120x40": [("Take out", "Too much in the cup"), ("Accept it?", "In its band and at rest")],
}
LATEST = ("Accept it?", "Is it empty")  # of several: the last one
HEAD = """# Screens

Pictures of the terminal from two sessions with the smoked bratwurst, one at each size, each of which completed its batch (`make screens` draws
them anew). The colours are not seen here; what they say stands in words and shapes too. [operator.md](operator.md) explains the screen.
"""


def session(size, page):
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, TEST, folder, size], check=True)
        pictures = [open(name, encoding="utf-8").read() for name in sorted(glob.glob(folder + "/*.txt"))]
    page.append("## %s\n" % size.replace("x", " x "))
    for words, caption in PICTURES[size]:
        found = [p for p in pictures if words in p]
        picture = found[-1] if words in LATEST else found[0]
        page.append("%s:\n" % caption)
        page.append("\n".join(("    " + row).rstrip() for row in picture.rstrip("\n").split("\n")) + "\n")


def main():
    page = [HEAD]
    for size in PICTURES:
        session(size, page)
    with open("docs/screens.md", "w", encoding="utf-8") as f:
        f.write("\n".join(page))


main()
