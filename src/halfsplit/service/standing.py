"""What stands now in a job's record, folded from its events."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from halfsplit.errors import NotFound
from halfsplit.jobs.afterwards import Afterwards, afterwards, parted_form
from halfsplit.jobs.chain import Chain
from halfsplit.jobs.events import (
    CallAnswered,
    EntryWithdrawn,
    Event,
    FormSet,
    JobOpened,
    Looked,
    Note,
    ReadingCorrected,
    ReadingTaken,
    ReadingWithdrawn,
    Secured,
)

UNDONE = "undone"


@dataclass(frozen=True, slots=True)
class Kept:
    """A reading as it stands in the record. ``before`` are earlier wordings, oldest first."""

    id: str
    written: Mapping[str, Any]
    who: str
    when: str
    before: tuple[Mapping[str, Any], ...] = ()
    withdrawn: bool = False
    changed: int = 0
    why: str = ""


@dataclass(frozen=True, slots=True)
class Standing:
    """What a job's events come to. ``wiring`` is the form without readings and what followed."""

    title: str = ""
    wiring: Mapping[str, Any] = field(default_factory=dict)
    call: Mapping[str, Any] = field(default_factory=dict)
    kept: tuple[Kept, ...] = ()
    notes: tuple[tuple[str, str, str], ...] = ()
    secured: tuple[str, str, str] | None = None
    secured_at: int = -1
    earlier: tuple[tuple[int, str], ...] = ()
    seq: int = -1
    seal: str = ""
    ids: int = 0
    after: Afterwards = field(default_factory=Afterwards)
    looks: tuple[tuple[str, str], ...] = ()  # (id, words) of looks that found nothing

    @property
    def readings(self) -> tuple[Kept, ...]:
        """Readings that count."""
        return tuple(item for item in self.kept if not item.withdrawn)

    @property
    def looked(self) -> tuple[str, ...]:
        """Ids of looks and questions that found nothing."""
        return tuple(id for id, _ in self.looks)

    @property
    def next_id(self) -> str:
        """The number that the next reading has."""
        return f"r{self.ids + 1}"

    @property
    def region(self) -> str:
        """Whose words are used."""
        return str(self.wiring.get("region", "uk"))

    def kept_of(self, id: str) -> Kept:
        """The reading of that number. Raises: NotFound."""
        for item in self.kept:
            if item.id == id:
                return item
        known = ", ".join(item.id for item in self.kept) or "none yet"
        raise NotFound(f'no reading "{id}" in this job; it has {known}')


def standing(chain: Chain) -> Standing:
    """Everything the events of a chain come to."""
    now = Standing()
    for event in chain:
        now = _after(now, event)
    return replace(now, after=afterwards(chain))


def _after(now: Standing, event: Event) -> Standing:
    now = replace(now, seq=event.seq, seal=event.seal)
    what = event.happening
    match what:
        case JobOpened():
            wiring = _wiring(what.form)
            return replace(now, title=what.title, wiring=wiring, call=what.call)
        case FormSet():
            earlier = (*now.earlier, (event.seq, json.dumps(now.wiring)))
            if what.why == UNDONE:
                earlier = now.earlier[:-1]
            return replace(now, wiring=_wiring(what.form), earlier=earlier)
        case ReadingTaken():
            kept = Kept(what.id, what.written, event.who, event.when, changed=event.seq)
            return replace(now, kept=(*now.kept, kept), ids=now.ids + 1)
        case ReadingCorrected() | ReadingWithdrawn():
            return replace(now, kept=tuple(_changed(k, what, event) for k in now.kept))
        case CallAnswered():
            return replace(now, call=what.call)
        case Secured():
            return replace(now, secured=(what.how, event.who, event.when), secured_at=event.seq)
        case Looked():
            said = (f"{what.what}: nothing found", event.who, event.when)
            return replace(
                now, notes=(*now.notes, said), looks=(*now.looks, (what.check, what.what))
            )
        case EntryWithdrawn():
            gone = tuple(look for look in now.looks if look[0] == what.id)
            notes = tuple((f"{words}: taken back", event.who, event.when) for _, words in gone)
            left = tuple(look for look in now.looks if look not in gone)
            return replace(now, notes=(*now.notes, *notes), looks=left)
        case Note():
            return replace(now, notes=(*now.notes, (what.text, event.who, event.when)))
        case _:
            return now


def _wiring(form: str) -> Mapping[str, Any]:
    """The description alone: what followed the finding stands beside it."""
    return parted_form(json.loads(form))[0] if form else {}


def _changed(kept: Kept, what: ReadingCorrected | ReadingWithdrawn, event: Event) -> Kept:
    if kept.id != what.id:
        return kept
    if isinstance(what, ReadingWithdrawn):
        return replace(kept, withdrawn=True, changed=event.seq, why=what.why)
    return Kept(
        kept.id, what.written, event.who, event.when, (*kept.before, kept.written),
        changed=event.seq, why=what.why,
    )  # fmt: skip
