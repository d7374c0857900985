"""A job as it stands on the screen: its ladder, what could explain it, where it hurts, what next.

Everything is worked out from the record each time; what was worked out before for the same wiring
and the same readings is remembered, so that a reading costs only what it adds.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from threading import RLock
from typing import TYPE_CHECKING, Any

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.coarse import everyone
from halfsplit.diagnosis.diagnose import conclude, weigh
from halfsplit.diagnosis.expect import Expected, expect_each
from halfsplit.diagnosis.figures import Predictor
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Compared, Diagnosis, Hold, Suspect
from halfsplit.diagnosis.senses import ALARMS
from halfsplit.diagnosis.sights import Sights
from halfsplit.diagnosis.survey import holds, survey
from halfsplit.diagnosis.weigh import Weighed
from halfsplit.errors import NotFound
from halfsplit.form import Job
from halfsplit.problems import Problem
from halfsplit.report.ladder import Ladder, ladders
from halfsplit.report.readings import Told, circuit_of, shown_words, told
from halfsplit.report.reasons import reasons
from halfsplit.service.answer import Answer, effects_of, in_typed_order, likeliest
from halfsplit.service.looked import missed, state_after
from halfsplit.service.standing import Kept, Standing
from halfsplit.service.told import Telling, in_hundred, line_of, member_words, telling
from halfsplit.service.written import understand_record
from halfsplit.wiring.conditions import AS_DESCRIBED
from halfsplit.wiring.effects import Effect
from halfsplit.wiring.model import Installation

if TYPE_CHECKING:
    from halfsplit.checks.check import Considered

LEAST_SHOWN = 0.002  # of belief in a suspect: less is not worth a row
LEAST_MEMBER = 1e-3
MOST_SHOWN, MOST_MEMBERS = 15, 12
_lock = RLock()


@dataclass(frozen=True, slots=True)
class Worked:
    """What one state of a job's record comes to, before anything is chosen to be looked at."""

    job: Job
    unplaced: tuple[tuple[str, Problem], ...]
    warnings: tuple[Problem, ...]
    prepared: Prepared
    bench: Bench
    weighed: Weighed
    diagnosis: Diagnosis
    telling: Telling
    rows: tuple[SuspectRow, ...] = ()


@dataclass(frozen=True, slots=True)
class Member:
    """One place to look within a suspect: ``id`` chooses it, ``says`` is it in words."""

    id: str
    says: str
    chance: str


@dataclass(frozen=True, slots=True)
class SuspectRow:
    """A suspect as a row: its leading member's id, its chance, and its members.

    ``all`` are the ids of every member, shown or not; ``minor`` marks a suspect that the answer in
    sentences counts among the smaller ones.
    """

    id: str
    says: str
    chance: str
    percent: int
    members: tuple[Member, ...]
    all: tuple[str, ...]
    minor: bool
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Matched:
    """A reading beside its prediction under the cause looked at; ``id`` is its record number.

    ``circuit`` is whose it is at a board, "" where it is shared.
    """

    id: str
    told: Told
    circuit: str
    measured: str
    predicted: str
    sound: str
    fits: str


@dataclass(frozen=True, slots=True)
class Scene:
    """What the ladder page shows. ``sound`` holds what each terminal stands at when all is well."""

    job: Job
    answer: Answer
    cause: str
    says: str
    ladders: tuple[Ladder, ...]
    suspects: tuple[SuspectRow, ...]
    matched: tuple[Matched, ...]
    why: tuple[str, ...]
    holds: tuple[Hold, ...]
    sound: Mapping[tuple[str, str], Hold]
    unplaced: tuple[tuple[str, Problem], ...]
    alarm: bool


def _key(now: Standing) -> tuple[str, str]:
    readings = json.dumps([[k.id, dict(k.written)] for k in now.readings], sort_keys=True)
    return json.dumps(dict(now.wiring)), readings


@lru_cache(maxsize=16)
def _prepared(wiring: str) -> Prepared:
    job = understand_record(Standing(wiring=json.loads(wiring))).job
    return Prepared(job.installation)


@lru_cache(maxsize=64)
def _worked(wiring: str, readings: str, looked: tuple[str, ...]) -> Worked:
    if looked:
        before = _worked(wiring, readings, ())
        job, bench, weighed = before.job, before.bench, before.weighed
        unseen = missed(job, bench, before.diagnosis, looked)
        return _told(before, conclude(bench, weighed, unseen)) if unseen else before
    kept = tuple(Kept(id, written, "", "") for id, written in json.loads(readings))
    found = understand_record(Standing(wiring=json.loads(wiring), kept=kept))
    prepared = _prepared(wiring)
    bench, weighed = weigh(prepared, found.job.readings)
    diagnosis = conclude(bench, weighed)
    said = telling(found.job, diagnosis)
    return Worked(
        found.job, found.unplaced, found.warnings, prepared, bench, weighed, diagnosis, said,
        suspect_rows(diagnosis, said, found.job.installation),
    )  # fmt: skip


def _told(before: Worked, diagnosis: Diagnosis) -> Worked:
    said = telling(before.job, diagnosis)
    rows = suspect_rows(diagnosis, said, before.job.installation)
    return replace(before, diagnosis=diagnosis, telling=said, rows=rows)


def work(now: Standing) -> Worked:
    """The diagnosis of a job as it stands. Raises: BadInput when its sketch cannot be read."""
    with _lock:
        return _worked(*_key(now), now.looked)


def ahead(now: Standing, written: Mapping[str, Any], figure: bool) -> None:
    """Work out what a reading that is being entered comes to, and keep nothing of it.

    Entering it then costs little. Without its ``figure`` yet, what the terminals would show under
    every hypothesis is worked out, whatever will be read there. Raises: BadInput.
    """
    next_one = Kept(now.next_id, written, "", "")
    alone = understand_record(replace(now, kept=(next_one,)))
    if alone.unplaced or not alone.job.readings:
        return
    with _lock:
        if figure:
            work(replace(now, kept=(*now.kept, next_one)))
        else:
            bench = Bench(_prepared(_key(now)[0]), alone.job.readings)
            everyone(Predictor(bench), Sights(bench))


@lru_cache(maxsize=64)
def _considered(wiring: str, readings: str, looked: tuple[str, ...]) -> Considered:
    from halfsplit.checks.choose import consider

    worked = _worked(wiring, readings, ())  # what looks found is weighed there, in what is offered
    job, plan = worked.job, worked.prepared.plan
    state = None
    if looked:
        state = state_after(job, worked.bench, looked)
        if worked.diagnosis.alarm:  # only who is there can say that it was answered
            state = replace(state, isolated=False, board_open=False)
    return consider(
        job.installation, plan, worked.bench, worked.weighed, worked.diagnosis,
        job.tools, 3, state=state, sources=job.sources,
    )  # fmt: skip


def next_checks(now: Standing) -> Considered:
    """The next checks, those refused and why, or why measuring should stop."""
    with _lock:
        return _considered(*_key(now), now.looked)


def alarmed(now: Standing, diagnosis: Diagnosis | None) -> bool:
    """Whether danger was reported and nobody has said since that it is isolated."""
    call = now.call
    said = any(call.get(key) == "yes" for key in ("shock", "burning", "wet", "destroyed"))
    felt = diagnosis.alarm if diagnosis is not None else False
    if not (said or felt):
        return False
    if now.secured is None:
        return True
    later = [k for k in now.readings if k.changed > now.secured_at and _alarming(k.written)]
    return bool(later)


def _alarming(written: Mapping[str, Any]) -> bool:
    text = json.dumps(dict(written)).casefold()
    return any(word in text for words in ALARMS.values() for word in words)


def scene(now: Standing, cause: str = "") -> Scene:
    """The ladder for a cause (the leading one when none is named) and everything beside it.

    Raises: BadInput when the sketch cannot be read; NotFound for a cause that is not weighed.
    """
    with _lock:
        return _scene(now, cause)


def _scene(now: Standing, cause: str) -> Scene:
    worked = _worked(*_key(now), now.looked)
    found, job = worked.diagnosis, worked.job
    leading = found.suspects[0].members[0]
    chosen = leading if not cause else cause_of(found, cause)
    effects = effects_of(chosen)
    own, beside = believed_effects(worked, chosen)
    held = found.holds if chosen is leading else holds_under(worked, own + beside)
    compared = in_typed_order(job, found.readings)
    if chosen is not leading:
        compared = compared_under(worked, chosen, compared)
    inst = job.installation
    drawn = ladders(inst, worked.prepared.plan, held, effects, compared, found.dangers)
    why = reasons(inst, held, found.sound_holds)
    answer = Answer(job, worked.warnings, found, compared, drawn, why, worked.telling)
    rows = tuple(replace(r, chosen=any(m == chosen.id for m in r.all)) for r in worked.rows)
    return Scene(
        job, answer, chosen.id, says_of(found, chosen, inst), drawn, rows,
        tuple(_matched(item, inst) for item in compared), why, held,
        {(h.place, h.conductor): h for h in found.sound_holds}, worked.unplaced,
        alarmed(now, found),
    )  # fmt: skip


def cause_of(found: Diagnosis, id: str) -> Cause:
    """The cause of that id. Raises: NotFound."""
    for cause in found.causes:
        if cause.id == id:
            return cause
    raise NotFound(f'nothing weighed is called "{id[:80]}"; choose one from the list')


def believed_effects(worked: Worked, cause: Cause) -> tuple[tuple[Effect, ...], tuple[Effect, ...]]:
    """(its own effects, those of something in use that nobody mentioned), as most believed."""
    hypotheses, weighed = worked.bench.hypotheses, worked.weighed
    rows = [
        k
        for k, h in enumerate(weighed.rows)
        if (int(hypotheses.fault[h]) < 0 and cause.fault is None)
        or (hypotheses.fault[h] >= 0 and hypotheses.faults[hypotheses.fault[h]] is cause.fault)
    ]
    if not rows:
        return effects_of(cause), ()
    best = max(rows, key=lambda k: float(weighed.log[k]))
    h = int(weighed.rows[best])
    return hypotheses.sized(h, weighed.size[best].tolist()), hypotheses.beside(h)


def holds_under(worked: Worked, effects: Sequence[Effect]) -> tuple[Hold, ...]:
    """Where every terminal stands under those effects, live as described."""
    return holds(survey(worked.prepared, [tuple(effects)], AS_DESCRIBED), 0)


def compared_under(
    worked: Worked, cause: Cause, compared: Sequence[Compared]
) -> tuple[Compared, ...]:
    """Every reading beside what another cause would show.

    What it shows as the leading cause does is left as it was weighed there, unknown leads and loads
    taken into account.
    """
    leading = worked.diagnosis.suspects[0].members[0]
    readings = [item.reading for item in compared]
    both = [(one.fault, likeliest(one)) for one in (leading, cause)]
    return refitted(
        compared, *expect_each(worked.job.installation, readings, both, worked.prepared.plan)
    )


def refitted(
    compared: Sequence[Compared], leading: Sequence[Expected], other: Sequence[Expected]
) -> tuple[Compared, ...]:
    """Readings as weighed under the leading cause, refitted where another one shows otherwise."""
    return tuple(
        old if _alike(a, b) else _refit(old, b.figure, b.chance)
        for old, a, b in zip(compared, leading, other, strict=False)
    )


def _alike(a: Expected, b: Expected) -> bool:
    """Whether two causes show the same at a reading, to what no meter tells apart."""
    if a.figure is None or b.figure is None:
        return a.chance is not None and b.chance is not None and abs(a.chance - b.chance) < 1e-3
    return a.figure == b.figure or abs(a.figure - b.figure) <= 1e-3 * max(abs(a.figure), 1e-3)


def _refit(old: Compared, figure: float | None, chance: float | None) -> Compared:
    if old.predicted is None or figure is None:
        fits = "yes" if chance is None or chance > 0.1 else "no"
        return replace(old, predicted=None, chance=chance, fits=fits)
    value = old.reading.value
    shown = float("inf") if value is None else value
    room = max(3 * (old.sigma or 0.0), 0.05 * abs(figure), 2.0)
    if old.reading.kind in ("ohms", "loop", "amps"):
        room = max(0.15 * abs(figure), 0.1)
    if old.reading.kind == "megohms":
        room = 0.8 * abs(figure)
    same = shown == figure or abs(shown - figure) <= room
    return replace(old, predicted=figure, fits="yes" if same else "no", slip=0.0)


def says_of(found: Diagnosis, cause: Cause, inst: Installation) -> str:
    """A cause in one sentence."""
    from halfsplit.faults.catalogue import family
    from halfsplit.faults.words import describe

    if cause.fault is None:
        return "Nothing wrong in what was described"
    return describe(cause.fault, family(cause.fault.family), inst)


def suspect_rows(found: Diagnosis, said: Telling, inst: Installation) -> tuple[SuspectRow, ...]:
    """The suspects worth showing, most believed first."""
    rows: list[SuspectRow] = []
    for suspect in found.suspects[:MOST_SHOWN]:
        if suspect.probability < LEAST_SHOWN and rows:
            break
        named = len(rows) < len(said.suspects)
        members = tuple(
            Member(m.id, _member_says(m, inst, suspect), in_hundred(m.probability))
            for m in suspect.members[:MOST_MEMBERS]
            if m.probability >= LEAST_MEMBER
        )
        rows.append(
            SuspectRow(
                suspect.members[0].id,
                said.suspects[len(rows)].says if named else line_of(suspect, inst).says,
                in_hundred(suspect.probability),
                round(100 * suspect.probability),
                members,
                tuple(m.id for m in suspect.members),
                not named,
            )
        )
    return tuple(rows)


def _member_says(cause: Cause, inst: Installation, suspect: Suspect) -> str:
    if cause.fault is None:
        return "nothing wrong"
    return member_words(cause, inst, suspect.conductors)


def _matched(item: Compared, inst: Installation) -> Matched:
    words = told(item.reading, inst)
    predicted = shown_words(item.reading, item.predicted) if item.predicted is not None else ""
    if item.chance is not None and not predicted:
        predicted = f"{in_hundred(item.chance)} times"
    sound = shown_words(item.reading, item.sound) if item.sound is not None else ""
    circuit = circuit_of(item.reading, inst)
    return Matched(item.reading.id, words, circuit, words.shown, predicted, sound, item.fits)
