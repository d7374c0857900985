"""The chain: every event carries the seal of the one before, so that a changed byte shows.

A seal is the SHA-256 of an event's canonical JSON: keys sorted, no spaces, UTF-8, no NaN. One line
of that JSON, seal included, is how an event is stored; a line that is not spelt exactly so is
itself a change. Whoever holds the last seal (it is printed on the record handed over) can tell that
nothing before it was altered, dropped or added; the chain alone cannot show that its own end was
cut off, or that it was written anew from the first event.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from halfsplit.errors import BadInput, Conflict, raise_if_errors
from halfsplit.jobs.events import Event, Happening, as_data, from_data
from halfsplit.problems import Problem

FIRST = "0" * 64
"""What stands for the seal before the first event."""

_BODY = frozenset({"seq", "kind", "who", "when", "key", "before", "data", "seal"})


@dataclass(frozen=True, slots=True)
class Chain:
    """The events of one job, oldest first."""

    events: tuple[Event, ...] = ()

    @property
    def last(self) -> str:
        """The seal of the newest event; :data:`FIRST` while there is none."""
        return self.events[-1].seal if self.events else FIRST

    def __len__(self) -> int:
        return len(self.events)

    def __iter__(self) -> Iterator[Event]:
        return iter(self.events)

    def keyed(self, key: str) -> Event | None:
        """The event that already carries the sender's ``key``, or None."""
        return next((event for event in self.events if key and event.key == key), None)

    def add(self, happening: Happening, who: str, when: str, key: str = "") -> Chain:
        """The chain with one more event; itself when an equal one with this key is there already.

        Raises: Conflict when the key was used for something else.
        """
        known = self.keyed(key)
        if known is not None:
            if as_data(known.happening) == as_data(happening) and known.who == who:
                return self
            raise Conflict(
                f'the key "{key}" already stands for event {known.seq} ({known.kind}, '
                f"{known.who}); send something new under a new key"
            )
        return Chain((*self.events, seal(happening, who, when, len(self), self.last, key)))


def seal(happening: Happening, who: str, when: str, seq: int, before: str, key: str = "") -> Event:
    """An event with its own seal, made from everything else in it.

    Raises: BadInput for what cannot be stored as JSON: a NaN, or half a character.
    """
    event = Event(seq, happening, who, when, key, before, "")
    try:
        return replace(event, seal=seal_of(event))
    except (TypeError, ValueError) as error:
        raise BadInput([Problem(event.kind, str(error), "words and finite numbers")]) from error


def seal_of(event: Event) -> str:
    """The SHA-256 (hex) of the event's canonical JSON, its own seal left out."""
    return hashlib.sha256(canonical(event.body()).encode()).hexdigest()


def canonical(value: Any) -> str:
    """One spelling for one value: keys sorted, no spaces, every character as itself.

    Raises: ValueError for NaN or infinity, which JSON has no word for.
    """
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def to_line(event: Event) -> str:
    """The event as it is stored: one line of canonical JSON with its seal."""
    return canonical({**event.body(), "seal": event.seal})


def from_line(line: str, where: str = "event") -> Event:
    """The event of one stored line, its seal not yet checked.

    Raises: BadInput when the line is not an event spelt as :func:`to_line` spells it.
    """
    event, problems = read_line(line, where)
    raise_if_errors(problems)
    assert event is not None
    return event


def read_line(line: str | bytes, where: str = "event") -> tuple[Event | None, tuple[Problem, ...]]:
    """The event of one stored line, or every reason why it is none."""
    accepted = "an event as it was stored"
    remedy = "restore this job from a copy made before the change"
    try:
        line = line.decode() if isinstance(line, bytes) else line
        line.encode()
        value = json.loads(line)
    except (ValueError, RecursionError):
        return None, (Problem(where, str(line), accepted, remedy),)
    if not isinstance(value, dict) or set(value) != _BODY or not _shaped(value):
        return None, (Problem(where, line, accepted, remedy),)
    happening, problems = from_data(value["kind"], value["data"])
    if happening is None:
        return None, tuple(replace(item, where=f"{where}, {item.where}") for item in problems)
    event = Event(
        value["seq"], happening, value["who"], value["when"], value["key"], value["before"],
        value["seal"],
    )  # fmt: skip
    if _spelt(event) != line:
        return None, (Problem(where, line, accepted, remedy),)
    return event, ()


def verify(events: Iterable[Event], last: str = "") -> tuple[Problem, ...]:
    """Every place where the chain does not hold; empty when nothing was changed.

    ``last`` is a seal to find, from a record handed over: its absence means that an event was
    altered, dropped or rewritten since.
    """
    found: list[Problem] = []
    before, keys, seals = FIRST, set[str](), set[str]()
    for seq, event in enumerate(events):
        where = f"event {seq}"
        if event.seq != seq:
            found.append(Problem(where, f"number {event.seq}", f"number {seq}", _LOST))
        if event.before != before:
            found.append(Problem(where, f"follows {event.before[:12]}", before[:12], _LOST))
        right = seal_of(event)
        if event.seal != right:
            found.append(Problem(where, f"seal {event.seal[:12]}", right[:12], _CHANGED))
        if event.key and event.key in keys:
            found.append(Problem(where, f"key {event.key}", "a key used once", _LOST))
        keys.add(event.key)
        seals.add(event.seal)
        before = event.seal
    if last and last not in seals:
        found.append(Problem("the record handed over", f"seal {last[:12]}", _held(before), _LOST))
    return tuple(found)


def verify_lines(lines: Iterable[str | bytes], last: str = "") -> tuple[Problem, ...]:
    """The same for stored lines, which must also be spelt exactly as they were stored."""
    events: list[Event] = []
    found: list[Problem] = []
    for seq, line in enumerate(lines):
        event, problems = read_line(line, f"event {seq}")
        found.extend(problems)
        if event is not None:
            events.append(event)
    return tuple(found) if found else verify(events, last)


_CHANGED = "this event was changed after it was stored; trust a copy made before"
_LOST = "an event was dropped, moved or added here; trust a copy made before"


def _spelt(event: Event) -> str:
    try:
        return to_line(event)
    except ValueError:  # a NaN that came in by another spelling
        return ""


def _held(before: str) -> str:
    return f"a seal of this job, the last is {before[:12]}"


def _shaped(value: dict[str, Any]) -> bool:
    texts = ("kind", "who", "when", "key", "before", "seal")
    return (
        all(isinstance(value[name], str) for name in texts)
        and isinstance(value["seq"], int)
        and not isinstance(value["seq"], bool)
        and isinstance(value["data"], dict)
    )
