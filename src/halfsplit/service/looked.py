"""Looks that found nothing, as evidence: what would most likely have been seen is believed less."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.form import Job

if TYPE_CHECKING:
    from halfsplit.checks.costs import State


def missed(
    job: Job, bench: Bench, found: Diagnosis, looked: Collection[str]
) -> Mapping[str, float]:
    """By fault id, the chance that every look that would have shown it showed nothing.

    ``looked`` are ids of checks that were offered; ``found`` is the diagnosis without them.
    """
    from halfsplit.checks.looks import looks
    from halfsplit.checks.site import look_round

    site = look_round(
        job.installation, bench.plan, bench.readings, found, job.tools,
        state_after(job, bench, looked), job.sources,
    )  # fmt: skip
    chances: dict[str, float] = {}
    for check in looks(site):
        if check.id in looked:
            for id, chance in check.finds:
                chances[id] = chances.get(id, 1.0) * (1.0 - chance)
    return chances


def state_after(job: Job, bench: Bench, looked: Collection[str]) -> State:
    """What lasts from the readings as they were taken, and from those looks."""
    from halfsplit.checks.standing import as_taken, stood

    return stood(as_taken(job.readings), bench.plan, looked)
