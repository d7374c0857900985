"""One reported case diagnosed and scored against its key."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from bench._found import CASES, STRATA, Key
from halfsplit.checks.check import Check, Proposal
from halfsplit.checks.choose import consider
from halfsplit.checks.trial import WORDS
from halfsplit.diagnosis.diagnose import conclude, diagnose, weigh
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Diagnosis
from halfsplit.faults.fault import Fault
from halfsplit.form import Job, read_job
from halfsplit.instruments.reading import Reading

EXCLUDED = 0.001  # belief in what was found, below which it is ruled out
OPEN = 0.05  # unless "none of these" holds this much: then nothing is ruled out
DOUBLED = 2.0  # a check separates what was found when its outcome at least doubles the odds for it
SETTLED = 0.9  # belief at which no further check is needed


@dataclass(frozen=True, slots=True)
class Scored:
    """How one case came out. Ranks count from 1, "none of these" among the suspects where it is
    believed more (abstaining is a miss); 0: not among them.

    ``size`` is how many places the right suspect sends one to; ``named`` whether the catalogue
    holds what was found at all; ``separates`` whether the next check, as it would come out, tells
    (None: there was no check to take).
    """

    code: str
    stratum: str
    readings: int
    named: bool
    rank: int
    zone_rank: int
    size: int
    belief: float
    none: float
    leader: str
    separates: bool | None

    @property
    def excluded(self) -> bool:
        """Whether what was found is ruled out though the answer claims to be complete."""
        return self.belief < EXCLUDED and self.none <= OPEN

    @property
    def missed(self) -> bool:
        """Whether it is a miss of its stratum: the cause not first, or for symptoms alone its
        place not among three; or ruled out."""
        if self.stratum == STRATA[0]:
            return self.rank != 1
        return self.excluded or not 1 <= self.zone_rank <= 3


def read_case(code: str, folder: Path = CASES) -> Job:
    """The case as written. Raises: BadInput, with every problem found."""
    return read_job((folder / f"{code}.yaml").read_text(encoding="utf-8"))


def score(key: Key, job: Job, look_ahead: bool = True) -> tuple[Scored, Diagnosis]:
    """Diagnose a case and see where what was found stands; ``look_ahead`` tries the next check."""
    prepared = Prepared(job.installation)
    bench, weighed = weigh(prepared, job.readings)
    found = conclude(bench, weighed)
    separates = None
    if look_ahead:
        considered = consider(
            job.installation, prepared.plan, bench, weighed, found, job.tools, sources=job.sources
        )
        separates = _separates(key, job, prepared, found, considered.proposals)
    return placed(key, job, prepared.hypotheses.faults, found, separates), found


def placed(
    key: Key, job: Job, faults: Iterable[Fault], found: Diagnosis, separates: bool | None = None
) -> Scored:
    """Where what was found stands in an answer; ``faults`` are all that the catalogue holds."""
    right = [k for k, s in enumerate(found.suspects, 1) if key.right(s)]
    there = [k for k, s in enumerate(found.suspects, 1) if key.there(s)]
    best = found.suspects[right[0] - 1] if right else None
    named = key.fits(None) or any(key.fits(fault) for fault in faults)
    return Scored(
        key.code,
        key.stratum,
        len(job.readings),
        named,
        _rank(right, found),
        _rank(there, found),
        len(best.places) if best else 0,
        key.belief(found.causes),
        found.none,
        found.suspects[0].members[0].id if found.suspects else "none of these",
        separates,
    )


def _rank(hits: list[int], found: Diagnosis) -> int:
    """The first hit's rank, behind "none of these" where that is believed more."""
    if not hits:
        return 0
    return hits[0] + (found.none > found.suspects[hits[0] - 1].probability)


def _separates(
    key: Key, job: Job, prepared: Prepared, found: Diagnosis, proposals: tuple[Proposal, ...]
) -> bool | None:
    """Whether the first check, coming out as what was found would make it, raises belief in it."""
    before = key.belief(found.causes)
    if before >= SETTLED:
        return True
    check = next((p.check for p in proposals if p.outcomes), None)
    true = likeliest(key, found)
    if check is None or true is None:
        return None
    if true.fault is not None and true.fault.id in dict(check.finds):
        return True
    reading = outcome(job, prepared, check, true)
    if reading is None:
        return False
    after = key.belief(diagnose(job.installation, (*job.readings, reading), prepared).causes)
    return after >= SETTLED or _odds(after) >= DOUBLED * _odds(before)


def _odds(chance: float) -> float:
    return chance / max(1 - chance, 1e-12)


def likeliest(key: Key, found: Diagnosis) -> Cause | None:
    """The most believed cause that is right."""
    return next((c for c in found.causes if key.fits(c.fault)), None)


def outcome(job: Job, prepared: Prepared, check: Check, true: Cause) -> Reading | None:
    """The check's reading as it would come out with this cause at its likeliest severity."""
    if check.reading is None:
        return None
    words = WORDS.get(check.reading.kind, ())
    asked = [replace(check.reading, seen=word) for word in words] or [
        replace(check.reading, value=0.0)
    ]
    fault, step = true.fault, _step(true)
    shown = expect(job.installation, asked, fault, step, prepared.plan)
    if words:
        best = max(shown, key=lambda e: e.chance or 0.0)
        return best.reading
    figure = shown[0].figure
    if figure is None:
        return None
    return replace(check.reading, value=figure, bound=">" if math.isinf(figure) else "=")


def _step(cause: Cause) -> int:
    fault: Fault | None = cause.fault
    if fault is None or not cause.severities:
        return 0
    names = [s.name for s in fault.severities]
    return names.index(cause.severities[0][0])
