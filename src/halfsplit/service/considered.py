"""Causes that were considered, each with what speaks most against it: a reading, or a test after.

What would have been read under each of them is solved, all together. A test made after the mend
excludes as well: it would have shown what was left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfsplit.diagnosis.expect import Expected, expect_each
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Compared, Diagnosis
from halfsplit.faults.catalogue import family
from halfsplit.faults.words import fill
from halfsplit.form import Job
from halfsplit.form.after import Mended
from halfsplit.proving import Proof, Verdict
from halfsplit.proving.judge import shown
from halfsplit.proving.result import Outcome
from halfsplit.report.found import Suspect
from halfsplit.report.readings import shown_words, told
from halfsplit.service.answer import in_typed_order, likeliest
from halfsplit.service.live import refitted
from halfsplit.service.told import in_hundred

MOST_CONSIDERED = 5
ALIKE = 2  # causes of one family that are named among those considered
SPEAKS_FROM = 3.0  # sigmas between measured and predicted that speak against a cause
COUNTS_FROM = 0.005  # a mend bears out a cause that was believed at least so much
NO_METER_OHMS = 2e6  # a continuity tester shows over range from there
WORLDS_APART = 10.0  # sigmas, where one is over range and the other a figure


def borne_out(mends: Sequence[Mended], diagnosis: Diagnosis, proof: Proof) -> Cause | None:
    """The likeliest cause that a mend put right; None where none was believed at all, or where the
    complaint is still there.
    """
    for cause in diagnosis.causes if complaint(proof) != "fail" else ():
        if cause.probability >= COUNTS_FROM and any(_put_right(m, cause) for m in mends):
            return cause
    return None


def complaint(proof: Proof) -> Outcome:
    """How the first complaint stands: gone is a pass, still there a fail."""
    found = [v.outcome for v in proof.verdicts if v.wanted.test == "symptom"]
    return found[0] if found else "missing"


def _put_right(mend: Mended, cause: Cause) -> bool:
    fault = cause.fault
    if fault is None:
        return False
    if mend.fault:
        return mend.fault == fault.id
    detail = dict(fault.detail)
    if mend.kind == "joint":
        joints = ("joint ", "tail ", "pigtail ")
        landed = bool(fault.parts) and all(part.startswith(joints) for part in fault.parts)
        named = set(fault.conductors) <= set(mend.conductors)
        return landed and named and mend.place in fault.places
    if mend.kind == "accessory":
        return fault.places == (mend.place,)
    key = {"cable": "run", "device": "device", "load": "load"}.get(mend.kind, "")
    return bool(key) and detail.get(key) == mend.part


def considered(
    job: Job, prepared: Prepared, diagnosis: Diagnosis, taken: Cause, proof: Proof
) -> tuple[tuple[Compared, ...], tuple[Suspect, ...]]:
    """(readings beside what the cause ``taken`` for it gives, as they were typed; the likeliest
    causes with what speaks for or against each, that one first).
    """
    leading, causes = diagnosis.suspects[0].members[0], _taken_and_likeliest(diagnosis, taken)
    typed = in_typed_order(job, diagnosis.readings)
    tests = [v for v in proof.verdicts if v.wanted.reading and _one_figure(v)]
    asked = [item.reading for item in typed]
    asked += [v.wanted.reading for v in tests if v.wanted.reading is not None]
    known = [(c.fault, likeliest(c)) for c in (*causes, leading)]
    solved = expect_each(job.installation, asked, known, prepared.plan)
    first, count = solved[0], len(typed)
    compared = typed if taken is leading else refitted(typed, solved[-1], first)
    found = [_taken(job, taken, compared, first)]
    for cause, row in zip(causes[1:], solved[1:], strict=False):
        against = _by_reading(job, compared, row[:count], first[:count])
        if not against and job.after.mends:
            against = _by_test(tests, row[count:])
        found.append(_row(job, cause, against or _undecided(cause, taken, bool(job.after.mends))))
    return compared, tuple(found)


def _taken_and_likeliest(diagnosis: Diagnosis, taken: Cause) -> list[Cause]:
    families: dict[str, int] = {}
    found = []
    for cause in (taken, *(c for c in diagnosis.causes if c is not taken)):
        kind = cause.fault.family if cause.fault else "nothing wrong"
        families[kind] = families.get(kind, 0) + 1
        if families[kind] <= ALIKE:
            found.append(cause)
    return found[:MOST_CONSIDERED]


def _row(job: Job, cause: Cause, against: str) -> Suspect:
    says = "Nothing wrong in what was described"
    if cause.fault is not None:
        entry = family(cause.fault.family)
        says = fill(entry.says, cause.fault, job.installation).rstrip(".")
    return Suspect(in_hundred(cause.probability), says, against)


def _taken(
    job: Job, chosen: Cause, compared: Sequence[Compared], first: Sequence[Expected]
) -> Suspect:
    """The cause taken for it: how many readings it explains, and the one it explains worst."""
    fitting = sum(item.fits == "yes" for item in compared)
    every = "Every reading fits." if len(compared) > 1 else "The reading fits."
    words = every if fitting == len(compared) else f"{fitting} of {len(compared)} readings fit."
    worst, gap = "", 0.0
    for item, would in zip(compared, first, strict=False):
        apart = _gap(item, would)
        if item.fits == "no" and apart >= gap:
            worst, gap = _told(job, item, would), apart
    return _row(job, chosen, f"{words} {worst}".strip())


def _undecided(cause: Cause, taken: Cause, mended: bool) -> str:
    if cause.probability < 0.5 * taken.probability:
        return "No single reading; it was the less likely of the two from the start."
    return f"Nothing that was read tells it from the one {'mended' if mended else 'named first'}."


def _by_reading(
    job: Job, compared: Sequence[Compared], row: Sequence[Expected], first: Sequence[Expected]
) -> str:
    """The reading that this cause explains worst, and worse than the one taken for it."""
    worst, words = SPEAKS_FROM, ""
    for item, would, chosen in zip(compared, row, first, strict=True):
        gap = _gap(item, would) - (_off(item) if chosen.figure is not None else _gap(item, chosen))
        if gap > worst and item.fits != "slip":
            worst, words = gap, _told(job, item, would)
    return words


def _off(item: Compared) -> float:
    """How many sigmas a reading lies from what the cause taken for it gives, as it was weighed."""
    if item.fits != "no" or item.predicted is None or item.reading.value is None or not item.sigma:
        return 0.0
    return abs(item.predicted - item.reading.value) / item.sigma


def _told(job: Job, item: Compared, would: Expected) -> str:
    seen = told(item.reading, job.installation)
    where = ": ".join(part for part in (seen.place, seen.what) if part)
    gives = "something else" if would.figure is None else shown_words(item.reading, would.figure)
    return f"{where} {seen.shown}, where it gives {gives}."


def _gap(item: Compared, would: Expected) -> float:
    """How many sigmas a reading lies from a prediction."""
    figure, chance, value = would.figure, would.chance, item.reading.value
    if figure is not None and value is not None and item.sigma:
        if item.reading.bound == ">" and figure >= value:
            return 0.0
        return abs(min(figure, 1e12) - value) / item.sigma
    if figure is not None and value is None:  # over range
        return 0.0 if figure > NO_METER_OHMS else WORLDS_APART
    if chance is not None and value is None:
        return WORLDS_APART * (1.0 - chance) if chance < 0.1 else 0.0
    return 0.0


def _one_figure(verdict: Verdict) -> bool:
    tests = verdict.tests
    return (
        verdict.good
        and len(tests) == 1
        and tests[0].value is not None
        and tests[0].port == verdict.wanted.port
    )


def _by_test(tests: Sequence[Verdict], row: Sequence[Expected]) -> str:
    """The good test after the mend that would have come out most differently."""
    worst, words = SPEAKS_FROM, ""
    for verdict, would in zip(tests, row, strict=True):
        if would.figure is None or would.ohms is None:
            continue
        test, item = verdict.tests[0], verdict.wanted
        gap = _sigmas_off(verdict, min(would.figure, 1e12))
        if gap > worst and item.reading is not None:
            gives = shown_words(item.reading, would.figure)
            worst = gap
            words = f"After the mend, {_lower(item.title)}: {shown(test)}, where it gives {gives}."
    return words


def _sigmas_off(verdict: Verdict, figure: float) -> float:
    """How far a figure lies from a test's result, in deviations of instrument and wiring."""
    test, expected = verdict.tests[0], verdict.wanted.expected
    value = test.value or 0.0
    if test.bound == ">" and figure >= value:
        return 0.0
    if verdict.wanted.test == "insulation":  # over decades: what leaks reads less
        return abs(math.log10(max(figure, 1.0) / max(value, 1.0))) / 0.1
    spread = (expected.high - expected.low) / 4.0 if expected is not None else 0.0
    return abs(figure - value) / max(math.hypot((verdict.uncertainty or 0.0) / 2, spread), 1e-6)


def _lower(title: str) -> str:
    """A title inside a sentence; what begins with a capital by itself keeps it."""
    return title if title[:2].isupper() or title[1:2].isdigit() else title[:1].lower() + title[1:]
