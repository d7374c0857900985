"""Readings and events of a record in words, and a reading with another value."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from halfsplit.errors import BadInput
from halfsplit.jobs.events import (
    EntryWithdrawn,
    Event,
    FormSet,
    JobOpened,
    LeftSafe,
    LinkMade,
    LinkRemoved,
    Looked,
    MendDone,
    Note,
    Observation,
    ReadingCorrected,
    ReadingTaken,
    ReadingWithdrawn,
    RecordIssued,
    Secured,
    TestTaken,
)
from halfsplit.problems import Problem

SHARED_KEYS = frozenset(
    "at point circuit device of contacts side by instrument showing settles settled with when "
    "note to-touch".split()
) | {"to touch", "with instrument"}


def value_of(written: Mapping[str, Any]) -> str:
    """What a reading showed, as it was written; "" where that is not one text."""
    own = [(k, v) for k, v in written.items() if k not in SHARED_KEYS | {"from", "to", "id"}]
    values = [v for k, v in own if k not in ("kind", "a", "b", "place")]
    if len(values) != 1:
        values = [written[k] for k in ("reads", "value", "seen") if k in written]
    if len(values) != 1:
        return ""
    value = values[0]
    if isinstance(value, Mapping) and len(value) == 1:
        value = next(iter(value.values()))
    return value if isinstance(value, str) else ""


def with_value(written: Mapping[str, Any], shown: str) -> dict[str, Any]:
    """The same reading showing something else. Raises: BadInput where it has no single value."""
    if not shown:
        raise BadInput([Problem("what it showed", shown, "what the instrument showed")])
    was = value_of(written)
    bare = re.fullmatch(r"[\d.,]+", shown)
    unit = re.search(r"[A-Za-zµΩ]+$", was)
    if bare and unit:
        shown = f"{shown} {unit[0]}"
    made: dict[str, Any] = {}
    changed = False
    for key, value in written.items():
        if key in SHARED_KEYS or key in ("from", "to", "kind", "a", "b", "place", "id"):
            made[key] = value
        elif value == was and was:
            made[key], changed = shown, True
        elif isinstance(value, Mapping) and was and list(value.values()) == [was]:
            made[key], changed = dict.fromkeys(value, shown), True
        else:
            made[key] = value
    if not changed:
        remedy = "take it out and enter it again"
        raise BadInput([Problem("reading", entry_words(written), "one figure", remedy)])
    return made


def entry_words(written: Mapping[str, Any]) -> str:
    """An entry of the form in one line."""
    return ", ".join(f"{key} {_said(value)}" for key, value in written.items() if key != "id")


def _said(value: Any) -> str:
    if isinstance(value, Mapping):
        return " ".join(f"{key} {_said(item)}" for key, item in value.items())
    if isinstance(value, list | tuple):
        return " and ".join(_said(item) for item in value)
    return str(value)


def event_words(event: Event) -> str:
    """What happened, in one line for the record."""
    what = event.happening
    match what:
        case JobOpened():
            return f"Job opened: {what.title}"
        case FormSet():
            return f"Sketch changed ({what.why})" if what.why else "Sketch changed"
        case ReadingTaken():
            return f"Reading {what.id}: {entry_words(what.written)}"
        case ReadingCorrected():
            why = f" ({what.why})" if what.why else ""
            return f"Reading {what.id} corrected{why}: {entry_words(what.written)}"
        case ReadingWithdrawn():
            return f"Reading {what.id} taken out" + (f" ({what.why})" if what.why else "")
        case Secured():
            return f"Made safe: {what.how}"
        case Looked():
            return f"Looked: {what.what}: nothing found"
        case Note():
            return f"Note: {what.text}"
        case MendDone():
            return f"Mend {what.id}: {entry_words(what.written)}"
        case TestTaken():
            return f"Test {what.id}: {entry_words(what.written)}"
        case Observation():
            return f"Seen {what.id}: {entry_words(what.written)}"
        case EntryWithdrawn():
            return f"Entry {what.id} taken out" + (f" ({what.why})" if what.why else "")
        case LinkMade():
            return f"Open item {what.id}: {what.what} {what.kind} at {what.where}"
        case LinkRemoved():
            return f"Open item {what.id} closed"
        case LeftSafe():
            return f"Left safe: {entry_words(what.written) or 'nothing left'}"
        case RecordIssued():
            to = f" to {what.to}" if what.to else ""
            return f"Record handed over{to}, with the seal {what.carries[:12]}"
        case _:
            return event.kind.capitalize()
