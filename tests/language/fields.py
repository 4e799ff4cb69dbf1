# SPDX-License-Identifier: Apache-2.0
# Fails where a translation's fields, {} {0:.1f} {mark}, or tags, <a> </a>, are not those of its English.
# Usage: fields.py NAME CATALOGUE.mo
import gettext
import re
import sys

FIELD = re.compile(r"\{\{|\}\}|\{([^{}]*)\}")
TAG = re.compile(r"</?[a-z]+[0-9]*>")


def fields(text):
    """The fields used, each by its number or name and its form."""
    used, next_number = set(), 0
    for match in FIELD.finditer(text):
        if match.group(1) is None:
            continue
        name, _, form = match.group(1).partition(":")
        if name == "":
            name, next_number = str(next_number), next_number + 1
        used.add((name, form))
    return used


def numbers_some_only(text):
    """Whether some fields are numbered and others are not, which no text with fields may: it would not be shown."""
    names = {match.group(1).partition(":")[0] for match in FIELD.finditer(text) if match.group(1) is not None}
    return "" in names and any(name.isdigit() for name in names)


def marks(text):
    return fields(text), sorted(TAG.findall(text))


name, path = sys.argv[1:]
with open(path, "rb") as file:
    catalogue = gettext.GNUTranslations(file)._catalog
wrong = 0
for key, translation in catalogue.items():
    english, form = key if isinstance(key, tuple) else (key, None)
    if english == "":
        continue
    english = english.split("\x04")[-1]
    if form is not None:
        # Of one and many; the form for one may leave the count out.
        if not fields(translation) <= fields(english) | {("0", "")}:
            print(f"{name}: fields differ: {english!r} / {translation!r}")
            wrong += 1
    elif marks(english) != marks(translation):
        print(f"{name}: fields or tags differ: {english!r} / {translation!r}")
        wrong += 1
    if numbers_some_only(translation):
        print(f"{name}: some fields are numbered, others not: {translation!r}")
        wrong += 1
    if english.strip() == english and translation.strip() != translation:
        print(f"{name}: spaces around: {translation!r}")
        wrong += 1
if len(catalogue) < 2:
    print(f"{name}: no texts")
    wrong += 1
sys.exit(1 if wrong else 0)
