# SPDX-License-Identifier: Apache-2.0
"""Reads mails with Python's email package and prints what it found as one JSON object per line.

Leaves are the parts that are no multipart; a message within a message counts as one leaf.
"""
import email
import email.policy
import email.utils
import json
import sys
from email.header import decode_header, make_header


def decoded(value):
    if value is None:
        return None
    try:
        return str(make_header(decode_header(str(value))))
    except (LookupError, UnicodeError, ValueError):
        return str(value)


def leaves(part):
    if part.get_content_maintype() == "multipart" and part.is_multipart():
        for child in part.get_payload():
            yield from leaves(child)
    else:
        yield part


def text_of(part):
    payload = part.get_payload(decode=True) or b""
    charset = part.get_content_charset() or "utf-8"
    try:
        return payload.decode(charset, "replace")
    except LookupError:
        return payload.decode("utf-8", "replace")


def about(path):
    with open(path, "rb") as file:
        mail = email.message_from_binary_file(file)
    name, address = email.utils.parseaddr(decoded(mail.get("From")) or "")
    parts = []
    for part in leaves(mail):
        held = part.get_content_maintype() == "message"
        content = b"" if held else part.get_payload(decode=True) or b""
        parts.append({
            "type": part.get_content_type(),
            "name": decoded(part.get_filename()),
            "disposition": part.get_content_disposition(),
            "text": text_of(part) if part.get_content_maintype() == "text" else None,
            "hex": content.hex(),
        })
    date = mail.get("Date")
    moment = email.utils.parsedate_tz(str(date)) if date else None
    return {
        "subject": decoded(mail.get("Subject")),
        "from_name": name,
        "from_address": address,
        "to": [list(pair) for pair in email.utils.getaddresses([decoded(v) for v in mail.get_all("To", [])])],
        "message_id": mail.get("Message-ID"),
        "date": email.utils.mktime_tz(moment) if moment else None,
        "parts": parts,
        "defects": [type(d).__name__ for d in mail.defects],
    }


for path in sys.argv[1:]:
    print(json.dumps(about(path)))
