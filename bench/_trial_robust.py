"""What the answer must survive: a kind of fault it does not know, rates three times off, order.

The readings of a trial are weighed again: with the true family (and all that its group held) taken
out of the catalogue, when "none of these" must rise above whoever takes its place; with every
family's rate three times up or down; and in another order, when nothing may change at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random
from typing import Any

from bench._trial_draw import SETTINGS
from bench._trial_figures import Share, share
from bench._trial_judge import Judge
from bench._trial_one import begin
from bench._trial_same import Sameness
from bench._trial_spice import Simulator
from bench._trial_visit import go
from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading

OFF = 3.0  # times up or down, by family
SURE = 0.8  # belief from which an answer is worth being tried


def tried(seed: int, setting: str) -> dict[str, Any] | None:
    """One trial's answer tried; None where its answer was not sure of one true fault."""
    with Simulator() as simulator:
        start = begin(seed, SETTINGS[setting], simulator)
        if len(start.truth.faults) != 1:
            return None
        prepared = Prepared(start.truth.written)
        visit = go(start.truth, start.random, prepared, start.first, start.kit)
        answer = diagnose(prepared.installation, visit.readings, prepared)
        judge = Judge(start.truth, Sameness(start.site))
        first = answer.suspects[0]
        if first.probability < SURE or not judge.right(first.members[0]):
            return None
        unknown = without(prepared, answer, start.truth.faults[0])
        other = diagnose(prepared.installation, visit.readings, unknown)
        rest = other.suspects[0]
        return {
            "seed": seed,
            "family": start.truth.family,
            "none": other.none,
            "impostor": 0.0 if judge.right(rest.members[0]) else rest.probability,
            "holds": holds(prepared, visit.readings, answer, Random(seed)),
            "order": in_any_order(prepared, visit.readings, answer, Random(seed)),
        }


def without(prepared: Prepared, answer: Diagnosis, true: Fault) -> Prepared:
    """The same installation, the true family and its group's members not known."""
    group = {m.id for m in answer.suspects[0].members}
    kept = tuple(f for f in prepared.hypotheses.faults
                 if f.family != true.family and f.id not in group)  # fmt: skip
    return Prepared(prepared.installation, prepared.plan, kept)


def holds(
    prepared: Prepared, readings: Sequence[Reading], answer: Diagnosis, random: Random
) -> bool:
    """Whether the first suspect stays first with every family's rate three times off."""
    factor: dict[str, float] = {}
    for fault in prepared.hypotheses.faults:
        if fault.family not in factor:
            factor[fault.family] = OFF if random.random() < 0.5 else 1 / OFF
    shifted = tuple(replace(f, rate=f.rate * factor[f.family]) for f in prepared.hypotheses.faults)
    again = diagnose(
        prepared.installation, readings, Prepared(prepared.installation, prepared.plan, shifted)
    )
    before = {m.id for m in answer.suspects[0].members}
    return again.suspects[0].members[0].id in before


def in_any_order(
    prepared: Prepared, readings: Sequence[Reading], answer: Diagnosis, random: Random
) -> bool:
    """Whether the readings in another order give the same answer to the last digit."""
    mixed = list(readings)
    random.shuffle(mixed)
    again = diagnose(prepared.installation, mixed, Prepared(prepared.installation, prepared.plan))
    return [(c.id, c.probability) for c in again.causes] == [
        (c.id, c.probability) for c in answer.causes
    ]


def run(seeds: Sequence[int], setting: str) -> list[dict[str, Any]]:
    """Every trial that could be tried."""
    return [row for seed in seeds if (row := tried(seed, setting)) is not None]


def as_lines(rows: Sequence[dict[str, Any]]) -> Iterator[str]:
    """The counts as text."""
    measured: dict[str, Share] = {
        'unknown kind: "none of these" above the impostor': share(
            rows, lambda r: r["none"] > r["impostor"]
        ),
        "rates three times off: the first stays first": share(rows, lambda r: r["holds"]),
        "another order of readings: the same answer": share(rows, lambda r: r["order"]),
    }
    for name, s in measured.items():
        low, high = s.interval
        yield f"{name:<50} {s.hits:4d} of {s.total:4d}  {s.value:6.1%}  ({low:.1%} to {high:.1%})"
