#!/usr/bin/env python3
"""say.py SUMMARY.json: one line a file of core and the sum against the goal, from gcovr's summary."""
import json
import sys

GOAL = 95.0

with open(sys.argv[1], encoding="utf-8") as f:
    summary = json.load(f)
for one in sorted(summary["files"], key=lambda one: one["branch_percent"] or 0):
    print(f"  {one['branch_covered']:5} of {one['branch_total']:5} branches {one['branch_percent'] or 0:6.1f} %  {one['filename']}")
total = summary["branch_percent"]
print(
    f"core: {total} % of {summary['branch_total']} branches, {summary['line_percent']} % of lines; "
    f"goal {GOAL} % of branches: {'holds' if total >= GOAL else 'DOES NOT HOLD'}"
)
