# SPDX-License-Identifier: Apache-2.0
"""Checks a journal, as JSON or as lines of JSON, by its description alone: the given number of entries, each hash right,
all chained, and each name and detail what its seal was made of."""
import hashlib
import json
import sys


def sha256_of(form):
    text = json.dumps(form, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def form_of(entry):
    if not entry.get("who_seal"):
        return ["frayhold-journal-1", entry["number"], entry["time"], entry["who"], entry["action"], entry["subject"],
                details_of(entry), entry["previous_hash"]]
    return ["frayhold-journal-2", entry["number"], entry["time"], entry["who_seal"], entry["action"], entry["subject"],
            entry["details_seal"], entry["rows"], entry["previous_hash"]]


def details_of(entry):
    """The text itself; an export shows it parsed."""
    details = entry["details"]
    return details if isinstance(details, str) else json.dumps(details, ensure_ascii=False, separators=(",", ":"))


lines = open(sys.argv[1], encoding="utf-8").read()
entries = json.loads(lines) if lines.startswith("[") else [json.loads(line) for line in lines.splitlines()]
assert len(entries) == int(sys.argv[2]), f"{len(entries)} entries"
previous = "0" * 64
for turn, entry in enumerate(entries, start=1):
    assert entry["number"] == turn
    assert entry["previous_hash"] == previous, f"entry {turn} does not follow"
    assert sha256_of(form_of(entry)) == entry["hash"], f"entry {turn} was altered"
    if entry.get("salt"):
        assert sha256_of([entry["salt"], entry["who"]]) == entry["who_seal"], f"entry {turn}: another name"
        assert sha256_of([entry["salt"], details_of(entry)]) == entry["details_seal"], f"entry {turn}: other words"
    previous = entry["hash"]
