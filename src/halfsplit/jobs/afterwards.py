"""What followed the finding, from a job's events, as the written form's own keys."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from halfsplit.jobs.events import (
    Event,
    LeftSafe,
    LinkMade,
    LinkRemoved,
    MendDone,
    Observation,
    TestTaken,
)


def after_written(events: Iterable[Event]) -> dict[str, Any]:
    """``mend``, ``tests after``, ``open items``, ``left safe`` and ``seen`` as they stand now.

    Keys with nothing under them are left out. Each entry keeps its id and, where it does not say
    itself, who and when of its event. A link made and not removed is an open item.
    """
    mends, tests, seen = [], [], []
    left: dict[str, Any] = {}
    links: dict[str, str] = {}
    for event in events:
        what = event.happening
        if isinstance(what, MendDone):
            mends.append(_entry(what.id, what.written, event))
        elif isinstance(what, TestTaken):
            tests.append(_entry(what.id, what.written, event))
        elif isinstance(what, Observation):
            seen.append(_entry(what.id, what.written, event))
        elif isinstance(what, LinkMade):
            links[what.id] = f"{what.what} {what.kind} at {what.where}"
        elif isinstance(what, LinkRemoved):
            links.pop(what.id, None)
        elif isinstance(what, LeftSafe):
            left = {"who": event.who, "when": event.when} | dict(what.written)
    found: dict[str, Any] = {
        "mend": mends, "tests after": tests, "open items": list(links.values()),
        "left safe": left, "seen": seen,
    }  # fmt: skip
    return {key: value for key, value in found.items() if value}


def _entry(id: str, written: Any, event: Event) -> dict[str, Any]:
    return {"id": id, "who": event.who, "when": event.when} | dict(written)
