# SPDX-License-Identifier: Apache-2.0
"""Checks lines 'made years end' against dateutil: the given number of lines, each end right."""
import datetime
import sys

from dateutil.relativedelta import relativedelta

lines = open(sys.argv[1], encoding="ascii").read().split("\n")[:-1]
assert len(lines) == int(sys.argv[2]), f"{len(lines)} lines"
for line in lines:
    made, years, end = line.split()
    expected = datetime.date.fromisoformat(made) + relativedelta(years=int(years))
    assert expected.isoformat() == end, f"{line}: {expected}"
