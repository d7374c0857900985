"""Moments as people read them; what a person wrote in words stays as it is."""

from __future__ import annotations

import re

_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
_STORED = re.compile(r"(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d)(?::\d\d(?:\.\d+)?)?(Z|[+-]\d\d:\d\d)?")


def moment(when: str) -> str:
    """A stored moment (2026-03-01T14:05:00+00:00) as "1 Mar 2026, 14:05 UTC"."""
    found = _STORED.fullmatch(when.strip())
    if found is None or not 1 <= int(found[2]) <= 12:
        return when
    zone = {"Z": " UTC", "+00:00": " UTC", "-00:00": " UTC", None: ""}.get(found[5])
    return f"{day(when)}, {found[4]}{f' {found[5]}' if zone is None else zone}"


def day(when: str) -> str:
    """The day of a stored moment, "1 Mar 2026"; other words as they are."""
    found = _STORED.fullmatch(when.strip())
    if found is None or not 1 <= int(found[2]) <= 12:
        return when
    return f"{int(found[3])} {_MONTHS[int(found[2]) - 1]} {found[1]}"
