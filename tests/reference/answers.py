# SPDX-License-Identifier: Apache-2.0
"""Asks the program reference_answers, named as the first argument of the script, for our own numbers."""

import json
import subprocess
import sys
import unittest

_program = sys.argv.pop(1)


def asked(question, rows=()):
    """The lines of the answer to a question about rows of numbers."""
    text = "".join(" ".join(repr(x) if isinstance(x, float) else str(x) for x in row) + "\n" for row in rows)
    done = subprocess.run([_program, question], input=text, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(done.stderr)
    return done.stdout.splitlines()


def asked_numbers(question, rows):
    return [[float(word) for word in line.split()] for line in asked(question, rows)]


def asked_json(question, rows=()):
    return json.loads("\n".join(asked(question, rows)))


def main():
    unittest.main(verbosity=2)
