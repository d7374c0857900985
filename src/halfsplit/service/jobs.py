"""Jobs as people keep them: opened from a call, sketched, read, corrected, put away.

A job is its chain of events; what stands now is folded from them. The store keeps chains and knows
nothing of the trade; it is handed in as :class:`Records`. Who and when are given, never looked up.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from halfsplit.errors import BadInput, raise_if_errors
from halfsplit.jobs.afterwards import reworded
from halfsplit.jobs.chain import Chain, verify
from halfsplit.jobs.events import (
    CallAnswered,
    EntryWithdrawn,
    FormSet,
    Happening,
    JobOpened,
    Looked,
    Note,
    ReadingCorrected,
    ReadingTaken,
    ReadingWithdrawn,
    Secured,
)
from halfsplit.problems import Problem
from halfsplit.service.standing import UNDONE, Kept, Standing, standing
from halfsplit.service.written import check_wiring, understand_record

RENAMED = "renamed"
LONGEST_TEXT = 4000


@dataclass(frozen=True, slots=True)
class Card:
    """A job as it stands in the list. ``changed`` is when its last event happened."""

    id: str
    title: str
    customer: str
    address: str
    region: str
    opened: str
    changed: str
    events: int
    away: bool


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to add to a job, with the sender's key ("" for none)."""

    happening: Happening
    key: str = ""


Build = Callable[[Chain], Sequence[Step]]
"""What to add, worked out from the chain as it stands while nobody else can write to it."""


class Records(Protocol):
    """What keeps the chains. Every write is whole or not at all, and lasts once it returns."""

    def cards(self, search: str = "", away: bool = False) -> tuple[Card, ...]:
        """Jobs whose title, customer or address holds the words searched for, newest first."""

    def card(self, job: str) -> Card:
        """One job's card. Raises: NotFound."""

    def chain(self, job: str) -> Chain:
        """One job's events. Raises: NotFound."""

    def count(self, job: str) -> int:
        """How many events a job has. Raises: NotFound."""

    def create(self, card: Card, steps: Sequence[Step], who: str, when: str) -> str:
        """A new job with its first events; the id it has (an earlier one for a key seen before)."""

    def add(self, job: str, build: Build, who: str, when: str) -> Chain:
        """The chain with what ``build`` gives added, each once however often its key is sent."""

    def describe(self, job: str, title: str, customer: str, address: str) -> None:
        """Change what the list shows of a job."""

    def put_away(self, job: str, away: bool) -> None:
        """Put a job away, or bring it back."""


# Use cases


def open_job(
    records: Records, wiring: Mapping[str, Any], call: Mapping[str, Any], who: str, when: str,
    key: str = "", readings: Sequence[Mapping[str, Any]] = (), customer: str = "",
    address: str = "",
) -> str:  # fmt: skip
    """A new job from a call, with what is known of its wiring; its id."""
    title = str(wiring.get("title", "")) or "Untitled job"
    if wiring.get("circuits"):
        check_wiring(wiring)
    opened = JobOpened(title, json.dumps(dict(wiring)), dict(call), str(wiring.get("region", "uk")))
    steps = [Step(opened, key)]
    steps += [Step(ReadingTaken(f"r{k}", dict(e))) for k, e in enumerate(readings, start=1)]
    card = Card("", title, customer, address, opened.region, when, when, 0, False)
    return records.create(card, steps, who, when)


def take(
    records: Records, job: str, written: Mapping[str, Any], who: str, when: str, key: str = ""
) -> str:
    """A reading into the record; its number. Sent twice with one key it is kept once.

    Raises: BadInput when it cannot be read against the sketch as it stands.
    """
    number = ""

    def build(chain: Chain) -> Sequence[Step]:
        nonlocal number
        known = chain.keyed(key)
        if known is not None and isinstance(known.happening, ReadingTaken):
            number = known.happening.id
            return ()
        now = standing(chain)
        number = now.next_id
        _refuse_unreadable(now, number, written)
        return (Step(ReadingTaken(number, dict(written)), key),)

    records.add(job, build, who, when)
    return number


def correct(
    records: Records, job: str, id: str, written: Mapping[str, Any], why: str, who: str, when: str,
    key: str = "",
) -> None:  # fmt: skip
    """Supersede a reading; what it said before stays in the record."""

    def build(chain: Chain) -> Sequence[Step]:
        now = standing(chain)
        now.kept_of(id)
        if chain.keyed(key) is not None:
            return ()
        others = replace(now, kept=tuple(k for k in now.kept if k.id != id))
        _refuse_unreadable(others, id, written)
        return (Step(ReadingCorrected(id, dict(written), why), key),)

    records.add(job, build, who, when)


def withdraw(
    records: Records, job: str, id: str, why: str, who: str, when: str, key: str = ""
) -> None:
    """A reading that no longer counts; it stays in the record."""

    def build(chain: Chain) -> Sequence[Step]:
        kept = standing(chain).kept_of(id)
        return () if kept.withdrawn else (Step(ReadingWithdrawn(id, why), key),)

    records.add(job, build, who, when)


def _refuse_unreadable(now: Standing, id: str, written: Mapping[str, Any]) -> None:
    if len(json.dumps(dict(written))) > LONGEST_TEXT:
        raise BadInput([Problem("reading", f"{len(json.dumps(dict(written)))} characters",
                                f"at most {LONGEST_TEXT}")])  # fmt: skip
    alone = replace(now, kept=(Kept(id, written, "", ""),))
    found = understand_record(alone)
    problems = [replace(p, line=None, where=_last(p.where)) for _, p in found.unplaced]
    if problems:
        raise BadInput(problems)
    if not found.job.readings:
        raise BadInput([Problem("reading", "nothing read or seen", "a value, or what was seen")])


def _last(where: str) -> str:
    return where.rpartition("readings 1, ")[2] or "reading"


def sketch(
    records: Records, job: str, wiring: Mapping[str, Any], renamed: Mapping[str, str], why: str,
    who: str, when: str, key: str = "",
) -> None:  # fmt: skip
    """Set the description of the installation; readings follow places that were renamed.

    Raises: BadInput when the description cannot be read; nothing is changed then.
    """
    if wiring.get("circuits"):
        check_wiring(wiring)

    def build(chain: Chain) -> Sequence[Step]:
        now = standing(chain)
        if dict(wiring) == dict(now.wiring) or chain.keyed(key) is not None:
            return ()
        steps = [Step(FormSet(json.dumps(dict(wiring)), why), key)]
        for item in now.kept:
            moved = rename_in(item.written, renamed)
            if moved != item.written:
                steps.append(Step(ReadingCorrected(item.id, moved, RENAMED)))
        for entry in now.after.entries:
            moved = rename_in(entry.written, renamed)
            if moved != entry.written and entry.kind != "open items":
                steps.append(Step(reworded(entry, moved)))
        return steps

    records.add(job, build, who, when)
    card = records.card(job)
    title = str(wiring.get("title", "")) or card.title
    if title != card.title:
        records.describe(job, title, card.customer, card.address)


def undo(records: Records, job: str, who: str, when: str, key: str = "") -> bool:
    """Take back the last change of the sketch; False when there is none."""
    done = False

    def build(chain: Chain) -> Sequence[Step]:
        nonlocal done
        now = standing(chain)
        done = bool(now.earlier)
        if not done or chain.keyed(key) is not None:
            return ()
        seq, form = now.earlier[-1]
        steps = [Step(FormSet(form, UNDONE), key)]
        for item in now.kept:
            if item.before and item.why == RENAMED and item.changed > seq:
                steps.append(Step(ReadingCorrected(item.id, item.before[-1], UNDONE)))
        for entry in now.after.entries:
            if entry.before and entry.changed > seq:
                steps.append(Step(reworded(entry, entry.before[-1])))
        return steps

    records.add(job, build, who, when)
    return done


def rename_in(value: Any, renamed: Mapping[str, str]) -> Any:
    """A reading's entry with places renamed wherever they are named."""
    if not renamed:
        return value
    if isinstance(value, Mapping):
        return {rename_in(k, renamed): rename_in(v, renamed) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [rename_in(item, renamed) for item in value]
    for old in sorted(renamed, key=len, reverse=True):
        if value == old:
            return renamed[old]
        for mark in (" ", ".", "/"):
            if str(value).startswith(old + mark):
                return renamed[old] + str(value)[len(old) :]
        if str(value).endswith(" at " + old):
            return str(value)[: -len(old)] + renamed[old]
    return value


def answer_call(
    records: Records, job: str, call: Mapping[str, Any], who: str, when: str, key: str = ""
) -> None:
    """Answer the questions of the call again."""
    records.add(job, lambda _: [Step(CallAnswered(dict(call)), key)], who, when)


def secure(records: Records, job: str, how: str, who: str, when: str, key: str = "") -> None:
    """Say that an alarm was answered: isolated, people away."""
    records.add(job, lambda _: [Step(Secured(how), key)], who, when)


def note(records: Records, job: str, text: str, who: str, when: str, key: str = "") -> None:
    """Words for the record."""
    if not text.strip():
        raise BadInput([Problem("note", text, "some words")])
    records.add(job, lambda _: [Step(Note(text.strip()[:LONGEST_TEXT]), key)], who, when)


def looked(
    records: Records, job: str, check: str, what: str, who: str, when: str, key: str = ""
) -> None:
    """A look or a question of the next check that found nothing; it is not offered again."""
    given = (("check", check, "the id of a check that was offered"),
             ("what", what, "what was looked at, in words"))  # fmt: skip
    raise_if_errors([Problem(*one) for one in given if not one[1].strip()])
    found = Looked(check.strip()[:200], what.strip()[:LONGEST_TEXT])
    records.add(job, lambda _: [Step(found, key)], who, when)


def take_back_look(
    records: Records, job: str, check: str, who: str, when: str, key: str = ""
) -> None:
    """A look did find something after all, or was never made: it no longer counts."""

    def build(chain: Chain) -> Sequence[Step]:
        known = check in standing(chain).looked
        return (Step(EntryWithdrawn(check, "a look taken back"), key),) if known else ()

    records.add(job, build, who, when)


def duplicate(records: Records, job: str, who: str, when: str, key: str = "") -> str:
    """A new job on the same wiring, without readings."""
    now = standing(records.chain(job))
    wiring = {**now.wiring, "title": f"{now.wiring.get('title') or now.title}, again"}
    return open_job(records, wiring, {}, who, when, key)


def check_chain(records: Records, job: str) -> tuple[Problem, ...]:
    """Every place where the record was changed after it was written; empty when none was."""
    return verify(records.chain(job))
