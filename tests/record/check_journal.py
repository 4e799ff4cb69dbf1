# SPDX-License-Identifier: Apache-2.0
"""Checks a journal, as JSON, by its description alone: the given number of entries, each hash right, all chained."""
import hashlib
import json
import sys

entries = json.load(open(sys.argv[1], encoding="utf-8"))
assert len(entries) == int(sys.argv[2]), f"{len(entries)} entries"
previous = "0" * 64
for turn, entry in enumerate(entries, start=1):
    assert entry["number"] == turn
    assert entry["previous_hash"] == previous, f"entry {turn} does not follow"
    form = ["frayhold-journal-1", entry["number"], entry["time"], entry["who"], entry["action"], entry["subject"],
            entry["details"], entry["previous_hash"]]
    text = json.dumps(form, ensure_ascii=False, separators=(",", ":"))
    assert hashlib.sha256(text.encode("utf-8")).hexdigest() == entry["hash"], f"entry {turn} was altered"
    previous = entry["hash"]
