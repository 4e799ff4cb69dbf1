# SPDX-License-Identifier: Apache-2.0
"""Months added to a day, against datetime and dateutil (Debian: python3-dateutil).

Usage: date_arithmetic.py FILE. Lines "day months sum": the sum must be what relativedelta gives, and every day must be
one that datetime knows."""

import datetime
import sys

from dateutil.relativedelta import relativedelta

count = 0
for line in open(sys.argv[1], encoding="ascii"):
    day, months, end = line.split()
    expected = datetime.date.fromisoformat(day) + relativedelta(months=int(months))
    assert expected.isoformat() == end, f"{line.strip()}: {expected}"
    count += 1
print(count)
