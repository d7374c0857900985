"""From a written form to the whole answer: what explains it, where it hurts, what to do next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfsplit.diagnosis.diagnose import conclude, weigh
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Cause, Compared, Diagnosis
from halfsplit.errors import raise_if_errors
from halfsplit.form import Job, read_with_problems
from halfsplit.problems import Problem
from halfsplit.report.ladder import Ladder, ladders
from halfsplit.report.reasons import reasons
from halfsplit.service.told import Telling, telling, together
from halfsplit.wiring.effects import Effect

if TYPE_CHECKING:
    from halfsplit.checks.check import Considered, Proposal

MOST_CHECKS = 3


@dataclass(frozen=True, slots=True)
class Answer:
    """A job's whole answer. ``ladders`` and ``why`` are for the leading cause."""

    job: Job
    warnings: tuple[Problem, ...]
    diagnosis: Diagnosis
    compared: tuple[Compared, ...]
    ladders: tuple[Ladder, ...]
    why: tuple[str, ...]
    told: Telling
    considered: Considered | None = None

    @property
    def proposals(self) -> tuple[Proposal, ...]:
        """The next checks, best first; with danger reported the first says to isolate."""
        return self.considered.proposals if self.considered else ()

    @property
    def cautions(self) -> tuple[str, ...]:
        """What the first checks need said, then the usual cautions, nothing twice."""
        checks = [p for p in self.proposals if p.outcomes]  # not the one that says to isolate
        beside = [c for p in checks for c in p.cautions if not c.startswith("Isolate first")]
        return together(beside, self.told.cautions)


def read(text: str | bytes, name: str) -> tuple[Job, tuple[Problem, ...]]:
    """The job a written form says, with the warnings noted on the way.

    Raises: BadInput with every problem found, each with its place and what is accepted.
    """
    job, problems = read_with_problems(text, name)
    raise_if_errors(problems)
    assert job is not None  # a job is missing only with errors noted
    return job, problems


def ask(job: Job, warnings: tuple[Problem, ...] = ()) -> Answer:
    """Everything that could explain a job's readings, with the ladder of the leading cause."""
    from halfsplit.checks.choose import consider
    from halfsplit.checks.costs import State

    prepared = Prepared(job.installation)
    bench, weighed = weigh(prepared, job.readings)
    diagnosis = conclude(bench, weighed)
    effects = leading_effects(diagnosis)
    compared = in_typed_order(job, diagnosis.readings)
    drawn = ladders(
        job.installation, prepared.plan, diagnosis.holds, effects, compared, diagnosis.dangers
    )
    why = reasons(job.installation, diagnosis.holds, diagnosis.sound_holds)
    told = telling(job, diagnosis)
    considered = consider(
        job.installation,
        prepared.plan,
        bench,
        weighed,
        diagnosis,
        job.tools,
        MOST_CHECKS,
        # The readings of a form are in no order, so nothing is taken to last from them.
        state=State(),
        sources=job.sources,
    )
    return Answer(job, warnings, diagnosis, compared, drawn, why, told, considered)


def leading_effects(diagnosis: Diagnosis) -> tuple[Effect, ...]:
    """The effects of the leading cause at its likeliest severity; none when nothing is wrong."""
    cause = diagnosis.suspects[0].members[0] if diagnosis.suspects else None
    return effects_of(cause) if cause else ()


def effects_of(cause: Cause) -> tuple[Effect, ...]:
    """The effects of a cause at its likeliest severity."""
    return () if cause.fault is None else cause.fault.severities[likeliest(cause)].effects


def likeliest(cause: Cause) -> int:
    """The index of a cause's likeliest severity; 0 where nothing says which."""
    if cause.fault is None or not cause.severities:
        return 0
    return [s.name for s in cause.fault.severities].index(cause.severities[0][0])


def in_typed_order(job: Job, compared: tuple[Compared, ...]) -> tuple[Compared, ...]:
    """Compared readings in the order in which the person typed them."""
    order = {id(reading): k for k, reading in enumerate(job.readings)}
    return tuple(sorted(compared, key=lambda c: order.get(id(c.reading), len(order))))
