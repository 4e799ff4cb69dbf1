# SPDX-License-Identifier: Apache-2.0
"""CSV as Python's csv module writes and reads it.

Usage: csv_files.py write FILE: a file of awkward rows, and the same as JSON on standard output.
       csv_files.py read FILE: its rows as JSON on standard output."""

import csv
import json
import random
import sys

SIGNS = ["a", "K-12", ",", '"', "\n", "\r\n", "\r", " ", "ü", "縄", ";", "\t", "'", "1.5", "=1+1"]


def awkward_rows():
    chance = random.Random(4180)
    rows = [["plain"], [""], ["", ""], ['"'], ['""'], [","], ["\r\n", "x"], [" a ", "b"]]
    rows += [["".join(chance.choices(SIGNS, k=chance.randint(0, 6))) for _ in range(chance.randint(1, 7))] for _ in range(2000)]
    return rows


if sys.argv[1] == "write":
    rows = awkward_rows()
    with open(sys.argv[2], "w", newline="", encoding="utf-8") as file:
        csv.writer(file, dialect="excel").writerows(rows)  # RFC 4180's quotes and line ends
    json.dump(rows, sys.stdout)
else:
    with open(sys.argv[2], newline="", encoding="utf-8") as file:
        json.dump(list(csv.reader(file, strict=True)), sys.stdout)
