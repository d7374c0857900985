"""What followed the finding, from a job's events, as the written form's own keys.

A job brought in as a written form carries its mends and tests in that form; what is entered later
comes as events. Both are folded here into one list of entries, each with an id that is its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from halfsplit.form.shape import aliases
from halfsplit.jobs.events import (
    EntryWithdrawn,
    Event,
    FormSet,
    JobOpened,
    LeftSafe,
    LinkMade,
    LinkRemoved,
    MendDone,
    Observation,
    TestTaken,
)

Kind = Literal["mend", "tests after", "open items", "seen"]
LISTS: Mapping[Kind, str] = {"mend": "m", "tests after": "t", "open items": "k", "seen": "o"}
"""The form's lists of what followed, each with the letter its entries are numbered under."""

LEFT = "left safe"


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as it stands. ``written`` is the form's; for an open item ``what`` alone.

    ``before`` are earlier wordings, oldest first; ``changed`` is the event it stands by.
    """

    kind: Kind
    id: str
    written: Mapping[str, Any]
    who: str = ""
    when: str = ""
    before: tuple[Mapping[str, Any], ...] = ()
    changed: int = 0

    @property
    def told(self) -> dict[str, Any]:
        """The entry as the form writes it: its id, and who and when unless it says so itself."""
        known = {"id": self.id, "who": self.who, "when": self.when}
        return {key: value for key, value in known.items() if value} | dict(self.written)


@dataclass(frozen=True, slots=True)
class Afterwards:
    """All that followed the finding, in the order it was entered."""

    entries: tuple[Entry, ...] = ()
    left: Mapping[str, Any] = field(default_factory=dict)
    used: frozenset[str] = frozenset()

    def of(self, kind: Kind) -> tuple[Entry, ...]:
        """The entries of one list."""
        return tuple(entry for entry in self.entries if entry.kind == kind)

    def next_id(self, kind: Kind) -> str:
        """An id that nothing in this job has had."""
        letter, k = LISTS[kind], 1
        while f"{letter}{k}" in self.used:
            k += 1
        return f"{letter}{k}"

    def written(self) -> dict[str, Any]:
        """All of it under the form's keys; keys with nothing under them are left out.

        Each entry keeps its id and, where it does not say itself, who and when of its event.
        """
        found: dict[str, Any] = {
            kind: [e.written["what"] if kind == "open items" else e.told for e in self.of(kind)]
            for kind in LISTS
        }
        found[LEFT] = dict(self.left)
        return {key: value for key, value in found.items() if value}


def parted_form(wiring: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """A form without what followed the finding, and that part under its proper keys."""
    other = aliases("job")
    keys = {key: _proper(key, other) for key in wiring}
    mine = (*LISTS, LEFT)
    rest = {key: value for key, value in wiring.items() if keys[key] not in mine}
    return rest, {keys[key]: value for key, value in wiring.items() if keys[key] in mine}


def afterwards(events: Iterable[Event]) -> Afterwards:
    """All that followed, as it stands now: entries superseded, withdrawn or closed are gone.

    A link made and not removed is an open item.
    """
    entries: dict[str, Entry] = {}
    left: dict[str, Any] = {}
    used: set[str] = set()
    for event in events:
        what = event.happening
        if isinstance(what, JobOpened | FormSet):
            born = _born(what.form)
            leaving = born.pop(LEFT, None)
            left = dict(leaving) if isinstance(leaving, Mapping) else left
            for kind in born:
                entries = {k: e for k, e in entries.items() if e.kind != kind or not _of_form(k)}
            made = [entry for kind, listed in born.items() for entry in _listed(kind, listed)]
        elif isinstance(what, EntryWithdrawn | LinkRemoved):
            entries.pop(what.id, None)
            continue
        elif isinstance(what, LeftSafe):
            told = {"who": event.who, "when": event.when} | dict(what.written)
            left = told if what.written else {}
            continue
        else:
            made = _made(event)
        for entry in made:
            old = entries.get(entry.id)
            before = () if old is None else (*old.before, old.written)
            entries[entry.id] = replace(entry, before=before, changed=event.seq)
            used.add(entry.id)
    return Afterwards(tuple(entries.values()), left, frozenset(used))


def _made(event: Event) -> list[Entry]:
    what = event.happening
    if isinstance(what, LinkMade):
        words = f"{what.what} {what.kind} at {what.where}"
        return [Entry("open items", what.id, {"what": words}, event.who, event.when)]
    kinds: dict[type[Any], Kind] = {MendDone: "mend", TestTaken: "tests after", Observation: "seen"}
    kind = kinds.get(type(what))
    if kind is None:
        return []
    assert isinstance(what, MendDone | TestTaken | Observation)
    return [Entry(kind, what.id, what.written, event.who, event.when)]


def reworded(entry: Entry, written: Mapping[str, Any]) -> MendDone | TestTaken | Observation:
    """What says an entry anew; who and when stay those of its first wording."""
    known = {key: value for key, value in entry.told.items() if key in ("who", "when")}
    return happening(entry.kind, entry.id, known | dict(written))


def happening(
    kind: Kind, id: str, written: Mapping[str, Any]
) -> MendDone | TestTaken | Observation:
    """An entry of a list as what happens to a job."""
    if kind == "mend":
        return MendDone(id, written)
    return TestTaken(id, written) if kind == "tests after" else Observation(id, written)


def _proper(key: str, other: Mapping[str, str]) -> str:
    folded = key.casefold().replace("_", " ")
    return other.get(folded, folded)


def _of_form(id: str) -> bool:
    return id.startswith("f")


def _born(form: str) -> dict[Any, Any]:
    """What a form carries of what followed; nothing where the form is no JSON object."""
    try:
        value = json.loads(form) if form else {}
    except ValueError:
        return {}
    return parted_form(value)[1] if isinstance(value, dict) else {}


def _listed(kind: Kind, value: Any) -> Iterable[Entry]:
    """A form's list as entries; those without an id get one that no event uses."""
    if kind == "open items" and isinstance(value, str):
        value = [part.strip() for part in value.split(",") if part.strip()]
    items = value if isinstance(value, list) else [value] if value else []
    for k, item in enumerate(items, start=1):
        written = dict(item) if isinstance(item, Mapping) else {"what": str(item)}
        id = str(written.pop("id", "") or f"f{LISTS[kind]}{k}")
        yield Entry(kind, id, written)
