# SPDX-License-Identifier: Apache-2.0
"""Holds JSON files to a JSON Schema by the general validator of Debian's python3-jsonschema (draft 2020-12).

Usage: check_schema.py SCHEMA FILE...
Then takes each required field out of the first file in turn, and asks for the validator to object each time: a schema
that lets everything pass proves nothing.
"""
import copy
import json
import sys

import jsonschema


def required_paths(value, path=()):
    """Every field of every object, as a way from the top."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield path + (name,)
            yield from required_paths(inner, path + (name,))
    elif isinstance(value, list) and value:
        yield from required_paths(value[0], path + (0,))


def without(value, path):
    value = copy.deepcopy(value)
    at = value
    for step in path[:-1]:
        at = at[step]
    del at[path[-1]]
    return value


schema = json.load(open(sys.argv[1]))
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
faults = 0
for name in sys.argv[2:]:
    for error in validator.iter_errors(json.load(open(name))):
        faults += 1
        print(f"{name}: {error.json_path}: {error.message[:200]}")
first = json.load(open(sys.argv[2]))
objections = sum(not validator.is_valid(without(first, path)) for path in required_paths(first))
unknown = copy.deepcopy(first)
unknown["unheard_of"] = 1
objections_to_unknown = not validator.is_valid(unknown)
print(f"{len(sys.argv) - 2} files, {faults} faults, {objections} objections")
sys.exit(0 if faults == 0 and objections > 20 and objections_to_unknown else 1)
