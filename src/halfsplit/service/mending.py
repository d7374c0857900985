"""Put right: mends, open items, results, leaving safe and what was seen, into a job's record.

Each is one event with its sender's key: sent twice, it is done once. What cannot be read against
the sketch is refused in a sentence; what was kept and no longer finds its place is set aside.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from halfsplit.errors import BadInput, NotFound
from halfsplit.form import Job, read_with_problems
from halfsplit.form.after import Tested
from halfsplit.jobs.afterwards import LEFT, LISTS, Afterwards, Entry, Kind, happening
from halfsplit.jobs.chain import Chain
from halfsplit.jobs.events import (
    EntryWithdrawn,
    Happening,
    LeftSafe,
    LinkMade,
    LinkRemoved,
    RecordIssued,
)
from halfsplit.problems import Problem
from halfsplit.proving.drafts import stage_of_result
from halfsplit.service.jobs import LONGEST_TEXT, Records, Step
from halfsplit.service.proving import Proof, Verdict, Wanted, prove_job, tests_of
from halfsplit.service.standing import Standing, standing
from halfsplit.service.testsheet import Result, entry_of

OPEN_KINDS: Mapping[str, str] = {
    "link": "a link put in", "lifted": "a core lifted", "bridge": "something bridged out",
}  # fmt: skip
_LISTS: tuple[Kind, ...] = tuple(LISTS)


@dataclass(frozen=True, slots=True)
class Placed:
    """A job with what followed; ``unplaced`` are entries the sketch has no place for now."""

    job: Job
    unplaced: tuple[tuple[str, Problem], ...]


@dataclass(frozen=True, slots=True)
class Mending:
    """Where the mend stands: what was read of it, its proof, and the next test to make."""

    placed: Placed
    proof: Proof
    next: Verdict | None


def mending(now: Standing) -> Mending:
    """Where a job's mend stands.

    Raises: BadInput when the sketch cannot be read, or for an edition of rules not held.
    """
    return _mending(json.dumps(dict(now.wiring)), json.dumps(_after_data(now.after)))


@lru_cache(maxsize=32)
def _mending(wiring: str, after: str) -> Mending:
    entries, left = json.loads(after)
    placed = _placed(json.loads(wiring), [entries, left])
    mends = [entry for entry in entries if entry[0] == "mend"]
    proof = prove_job(placed.job, _tests(wiring, json.dumps(mends)))
    return Mending(placed, proof, _next(proof))


@lru_cache(maxsize=16)
def _tests(wiring: str, mends: str) -> tuple[Wanted, ...]:
    """What the mends call for: solved once, however many results are then entered."""
    return tests_of(_placed(json.loads(wiring), [json.loads(mends), {}]).job)


def _next(proof: Proof) -> Verdict | None:
    """The first test not good: dead ones first, live ones only once nothing stands before them."""
    for verdict in proof.verdicts:
        if not verdict.good and (verdict.wanted.stage == "dead" or not proof.before_live):
            return verdict
    return None


def _after_data(after: Afterwards) -> list[Any]:
    return [[[e.kind, e.told | {"id": e.id}] for e in after.entries], dict(after.left)]


def _placed(wiring: Mapping[str, Any], after: Sequence[Any]) -> Placed:
    entries, left = list(after[0]), after[1]
    unplaced: list[tuple[str, Problem]] = []
    while True:
        text, on = _form(wiring, entries, left)
        job, problems = read_with_problems(text, "the job")
        errors = [p for p in problems if p.is_error]
        if not errors and job is not None:
            return Placed(job, tuple(unplaced))
        bad = {on[p.line]: p for p in errors if p.line in on}
        if not bad:
            raise BadInput(errors)
        unplaced += bad.items()
        entries = [entry for entry in entries if entry[1]["id"] not in bad]
        left = {} if LEFT in bad else left


def _form(
    wiring: Mapping[str, Any], entries: Sequence[Any], left: Mapping[str, Any]
) -> tuple[str, dict[int, str]]:
    """The form with what followed, one entry a line, and which entry stands on which line."""
    lines, on = ["{"], dict[int, str]()
    for kind in _LISTS:
        mine = [written for k, written in entries if k == kind]
        if not mine:
            continue
        lines.append(f"{json.dumps(kind)}: [")
        for k, written in enumerate(mine):
            on[len(lines) + 1] = written["id"]
            said = written["what"] if kind == "open items" else written
            comma = "" if k == len(mine) - 1 else ","
            lines.append(json.dumps(said, ensure_ascii=False) + comma)
        lines.append("],")
    if left:
        on[len(lines) + 1] = LEFT
        lines.append(f"{json.dumps(LEFT)}: {json.dumps(dict(left), ensure_ascii=False)},")
    lines.append(json.dumps(dict(wiring), ensure_ascii=False)[1:])
    return "\n".join(lines), on


def _refuse_unreadable(now: Standing, kind: Kind, written: Mapping[str, Any]) -> Placed:
    """The job with one entry alone. Raises: BadInput where that cannot be read."""
    size = len(json.dumps(dict(written)))
    if size > LONGEST_TEXT:
        raise BadInput([Problem(kind, f"{size} characters", f"at most {LONGEST_TEXT}")])
    entry = {**written, "id": "x"}
    found = _placed(now.wiring, [[[kind, entry]], {}])
    if found.unplaced:
        raise BadInput([replace(p, line=None, where=_last(p.where)) for _, p in found.unplaced])
    return found


def _last(where: str) -> str:
    return where.rpartition(" 1, ")[2] or where


# Use cases


def _once(
    records: Records, job: str, who: str, when: str, key: str,
    make: Callable[[Standing], tuple[str, Happening]],
) -> str:  # fmt: skip
    """One event with its key; the id it has, that of the first where the key was sent before."""
    id = ""

    def build(chain: Chain) -> Sequence[Step]:
        nonlocal id
        known = chain.keyed(key)
        if known is not None:
            id = str(getattr(known.happening, "id", ""))
            return ()
        id, what = make(standing(chain))
        return (Step(what, key),)

    records.add(job, build, who, when)
    return id


def mend_done(
    records: Records, job: str, written: Mapping[str, Any], who: str, when: str, key: str = ""
) -> str:
    """A mend into the record: one entry of the form's ``mend``; its id."""

    def make(now: Standing) -> tuple[str, Happening]:
        _refuse_unreadable(now, "mend", written)
        id = now.after.next_id("mend")
        return id, happening("mend", id, dict(written))

    return _once(records, job, who, when, key, make)


def result_taken(
    records: Records, job: str, test: str, result: Result, who: str, when: str, key: str = ""
) -> str:
    """The result of a test that the mend calls for; ``test`` is its id in the proof.

    Raises: NotFound for a test not called for; BadInput for what cannot be read, and for a live
    result while dead tests or open items stand in the way.
    """

    def make(now: Standing) -> tuple[str, Happening]:
        found = mending(now)
        verdict = verdict_of(found.proof, test)
        if verdict.tests and not result.again:
            accepted = "why it is taken again; else the worse of two results counts"
            raise BadInput([Problem("again", "no reason", accepted)])
        return _tested(now, found, entry_of(verdict.wanted, result))

    return _once(records, job, who, when, key, make)


def results_written(
    records: Records, job: str, written: Mapping[str, Any], who: str, when: str, key: str = ""
) -> str:
    """Results as one entry of the form's ``tests after``."""
    return _once(records, job, who, when, key, lambda now: _tested(now, mending(now), written))


def _tested(now: Standing, found: Mending, written: Mapping[str, Any]) -> tuple[str, Happening]:
    placed = _refuse_unreadable(now, "tests after", written)
    late = [t for t in placed.job.after.tests if stage_of_result(t) != "dead"]
    if late and found.proof.before_live:
        raise BadInput([_too_early(late[0], found.proof)])
    id = now.after.next_id("tests after")
    return id, happening("tests after", id, dict(written))


def _too_early(test: Tested, proof: Proof) -> Problem:
    first = proof.before_live
    more = f" and {len(first) - 2} more" if len(first) > 2 else ""
    return Problem(
        test.test, test.text or test.seen,
        f"live results once nothing stands in the way; first: {'; '.join(first[:2])}{more}",
    )  # fmt: skip


def verdict_of(proof: Proof, id: str) -> Verdict:
    """The verdict on the test of that id. Raises: NotFound."""
    for verdict in proof.verdicts:
        if verdict.wanted.id == id:
            return verdict
    raise NotFound(f'no test "{id[:80]}" is called for by what was mended')


def item_opened(
    records: Records, job: str, kind: str, what: str, where: str, who: str, when: str,
    key: str = "",
) -> str:  # fmt: skip
    """A link put in or a core lifted: an open item until it is closed; its id."""
    if kind not in OPEN_KINDS:
        raise BadInput([Problem("open item", kind, ", ".join(OPEN_KINDS))])
    for name, text in (("what", what), ("where", where)):
        if not text.strip() or len(text) > 200:
            raise BadInput([Problem(name, text[:80], "the conductors, and the place")])

    def make(now: Standing) -> tuple[str, Happening]:
        id = now.after.next_id("open items")
        return id, LinkMade(id, kind, what.strip(), where.strip())

    return _once(records, job, who, when, key, make)


def item_closed(records: Records, job: str, id: str, who: str, when: str, key: str = "") -> str:
    """An open item that is open no more: the link out, the core back. Raises: NotFound."""

    def make(now: Standing) -> tuple[str, Happening]:
        entry_in(now.after, "open items", id)
        return id, LinkRemoved(id)

    return _once(records, job, who, when, key, make)


def left_safe(
    records: Records, job: str, written: Mapping[str, Any], who: str, when: str, key: str = ""
) -> None:
    """How what could not be mended was left; supersedes what was said before. {} for nothing."""

    def make(now: Standing) -> tuple[str, Happening]:
        found = _placed(now.wiring, [[], dict(written)])
        if found.unplaced:
            raise BadInput([replace(p, line=None) for _, p in found.unplaced])
        return "", LeftSafe(dict(written))

    _once(records, job, who, when, key, make)


def seen_noted(
    records: Records, job: str, written: Mapping[str, Any], who: str, when: str, key: str = ""
) -> str:
    """Something seen and not mended: one entry of the form's ``seen``; its id."""

    def make(now: Standing) -> tuple[str, Happening]:
        _refuse_unreadable(now, "seen", written)
        id = now.after.next_id("seen")
        return id, happening("seen", id, dict(written))

    return _once(records, job, who, when, key, make)


def taken_out(
    records: Records, job: str, kind: Kind, id: str, why: str, who: str, when: str, key: str = ""
) -> None:
    """A mend or an observation that no longer counts; it stays in the record. Raises: NotFound."""

    def make(now: Standing) -> tuple[str, Happening]:
        entry_in(now.after, kind, id)
        return id, EntryWithdrawn(id, why[:300])

    _once(records, job, who, when, key, make)


def entry_in(after: Afterwards, kind: Kind, id: str) -> Entry:
    """The entry of that list with that id. Raises: NotFound."""
    for entry in after.of(kind):
        if entry.id == id:
            return entry
    known = ", ".join(entry.id for entry in after.of(kind)) or "none"
    raise NotFound(f'no entry "{id[:40]}" under {kind}; it has {known}')


def handed_over(records: Records, job: str, to: str, who: str, when: str, key: str = "") -> str:
    """Note that the record was handed over as it stands; the seal it carries."""
    seal = ""

    def build(chain: Chain) -> Sequence[Step]:
        nonlocal seal
        known = chain.keyed(key)
        if known is not None and isinstance(known.happening, RecordIssued):
            seal = known.happening.carries
            return ()
        seal = chain.last
        return (Step(RecordIssued(seal, to.strip()[:200]), key),)

    records.add(job, build, who, when)
    return seal
