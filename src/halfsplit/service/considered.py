"""Causes that were considered, each with the reading that speaks most against it."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Compared, Diagnosis
from halfsplit.faults.catalogue import family
from halfsplit.faults.words import fill
from halfsplit.form import Job
from halfsplit.form.after import Mended
from halfsplit.report.found import Suspect
from halfsplit.report.readings import shown_words, told
from halfsplit.service.told import in_hundred

MOST_CONSIDERED = 5
ALIKE = 2  # causes of one family that are named among those considered
SPEAKS_FROM = 3.0  # sigmas between measured and predicted that speak against a cause
COUNTS_FROM = 0.005  # a mend bears out a cause that was believed at least so much


def borne_out(mends: Sequence[Mended], diagnosis: Diagnosis) -> Cause | None:
    """The likeliest cause that a mend put right; None where none was believed at all."""
    for cause in diagnosis.causes:
        if cause.probability >= COUNTS_FROM and any(_put_right(m, cause) for m in mends):
            return cause
    return None


def _put_right(mend: Mended, cause: Cause) -> bool:
    fault = cause.fault
    if fault is None:
        return False
    if mend.fault:
        return mend.fault == fault.id
    detail = dict(fault.detail)
    if mend.kind == "joint":
        landed = any(part.startswith(("joint ", "tail ", "pigtail ")) for part in fault.parts)
        named = set(fault.conductors) <= set(mend.conductors)
        return landed and named and mend.place in fault.places
    if mend.kind == "accessory":
        return fault.places == (mend.place,)
    key = {"cable": "run", "device": "device", "load": "load"}.get(mend.kind, "")
    return bool(key) and detail.get(key) == mend.part


def likeliest(cause: Cause) -> int:
    """The index of a cause's likeliest severity."""
    if cause.fault is None or not cause.severities:
        return 0
    return [s.name for s in cause.fault.severities].index(cause.severities[0][0])


def considered(
    job: Job,
    prepared: Prepared,
    diagnosis: Diagnosis,
    chosen: Cause | None,
    compared: Sequence[Compared],
) -> tuple[Suspect, ...]:
    """The likeliest causes with what speaks against each; the one taken for it (chosen) first."""
    count = sum(item.fits == "yes" for item in compared)
    found: list[Suspect] = []
    families: dict[str, int] = {}
    first = [] if chosen is None else [chosen]
    for cause in (*first, *(c for c in diagnosis.causes if c is not chosen)):
        if len(found) >= MOST_CONSIDERED:
            break
        kind = cause.fault.family if cause.fault else "nothing wrong"
        families[kind] = families.get(kind, 0) + 1
        if families[kind] > ALIKE:
            continue
        says = "Nothing wrong in what was described"
        if cause.fault is not None:
            entry = family(cause.fault.family)
            says = fill(entry.says, cause.fault, job.installation).rstrip(".")
        against = _against(job, prepared, cause, compared)
        if not found:
            fits = f"{count} of {len(compared)} readings fit."
            against = fits if count == len(compared) else f"{fits} {against}"
        found.append(Suspect(in_hundred(cause.probability), says, against))
    return tuple(found)


def _against(job: Job, prepared: Prepared, cause: Cause, compared: Sequence[Compared]) -> str:
    """The reading that this cause explains worst, beside what it would have shown."""
    readings = [item.reading for item in compared]
    solved = expect(job.installation, readings, cause.fault, likeliest(cause), prepared.plan)
    worst, words = SPEAKS_FROM, ""
    for item, would in zip(compared, solved, strict=True):
        gap, shows = _gap(item, would.figure, would.chance)
        if gap > worst and item.fits != "slip":
            seen = told(item.reading, job.installation)
            where = ": ".join(part for part in (seen.place, seen.what) if part)
            worst, words = gap, f"{where} {seen.shown}, where it gives {shows}."
    return words or "No single reading; it is the rarer thing to go wrong."


def _gap(item: Compared, figure: float | None, chance: float | None) -> tuple[float, str]:
    """How many sigmas a reading lies from a prediction, and the prediction in words."""
    value = item.reading.value
    if figure is not None and value is not None and item.sigma:
        if item.reading.bound == ">" and figure >= value:
            return 0.0, ""
        return abs(min(figure, 1e12) - value) / item.sigma, shown_words(item.reading, figure)
    if figure is not None and value is None:  # over range
        return (0.0 if figure > 1e6 else 10.0), shown_words(item.reading, figure)
    if chance is not None and item.reading.value is None:
        return (10.0 * (1.0 - chance) if chance < 0.1 else 0.0), "something else"
    return 0.0, ""
