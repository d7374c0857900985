"""Two faults at once: found when they are there, kept quiet when they are not."""

from __future__ import annotations

import math

import pytest

from bench.pairs import compare
from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.expect import expect, find_fault
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.faults.catalogue import family
from halfsplit.faults.words import describe
from halfsplit.form import read_job
from halfsplit.wiring.layout import lay_out
from tests.diagnosis.jobs import SHED

ASKED = """
readings:
  - {at: Bench, L-N: 1, L-E: 1, N-E: 1, by: multimeter}
  - {at: Shelf, L-N: 1, L-E: 1, N-E: 1, by: multimeter}
  - {at: Loft, L-N: 1, L-E: 1, N-E: 1, by: multimeter}
  - {at: Desk, L-N: 1, L-E: 1, N-E: 1, by: multimeter}
"""
# Two faults of which each explains what the other does not.
TWO = (
    ("loose joint: joint Shelf N Bench–Shelf", "300 Ω", "open joint: joint Loft E Shelf–Loft", ""),
    ("crossed front: Shelf L-N", "", "open joint: joint Loft E Shelf–Loft", ""),
    ("crossed front: Bench L-N", "", "open joint: joint Desk N Loft–Desk", ""),
)


def _read(fault: str, severity: str = "") -> Diagnosis:
    """The diagnosis of what the meter would show with a fault."""
    job = read_job(SHED + ASKED)
    plan = lay_out(job.installation)
    chosen = find_fault(job.installation, plan, fault)
    step = next((k for k, s in enumerate(chosen.severities) if severity in s.name), 0)
    lines = []
    for e in expect(job.installation, job.readings, chosen, step, plan):
        pair = "-".join(x.partition(".")[2].partition(":")[0] for x in (e.reading.a, e.reading.b))
        figure = 0.0 if e.figure is None or math.isinf(e.figure) else e.figure
        at = e.reading.a.partition(".")[0]
        lines.append(f"  - {{at: {at}, {pair}: {figure:.1f}, by: multimeter}}")
    shown = read_job(SHED + "readings:\n" + "\n".join(lines))
    return diagnose(shown.installation, shown.readings)


@pytest.mark.parametrize(("first", "bad", "second", "worse"), TWO)
def test_two_faults_that_need_each_other_are_named_together(
    first: str, bad: str, second: str, worse: str
) -> None:
    """The leading suspect names both faults, in both places, when neither explains the rest."""
    found = _read(f"{first} with {second}", bad or worse)
    leading = found.suspects[0]
    assert leading.kind == "two faults", leading.says
    named = {m.family for member in leading.members for m in member.fault.members}  # type: ignore[union-attr]
    assert {first.partition(":")[0], second.partition(":")[0]} <= named


@pytest.mark.parametrize(
    "fault", ["open joint: joint Loft E Shelf–Loft", "open joint: joint Shelf N Bench–Shelf"]
)
def test_one_fault_is_not_taken_for_two(fault: str) -> None:
    """Where one fault explains the readings, all pairs together are believed under 5 %."""
    found = _read(fault)
    pairs = sum(c.probability for c in found.causes if c.fault and c.fault.members)
    assert found.suspects[0].kind == fault.partition(":")[0]
    assert pairs < 0.05


def test_a_pair_is_told_in_one_sentence() -> None:
    """Both faults and both places stand in its words."""
    job = read_job(SHED + ASKED)
    plan = lay_out(job.installation)
    pair = find_fault(job.installation, plan, f"{TWO[0][0]} with {TWO[0][2]}")
    says = describe(pair, family(pair.family), job.installation)
    assert all(part in says for part in ("Shelf", "Loft", ", and the"))
    assert says.endswith(".")


@pytest.mark.parametrize("seed", [2, 3, 4, 5, 6, 7])
def test_the_search_agrees_with_solving_every_pair(seed: int) -> None:
    """On circuits small enough to solve every pair, no cause is off by a hundredth.

    Nor is more than a thousandth of the weight in pairs that nobody looked at.
    """
    found = compare(seed)
    assert found.same_first
    assert found.difference < 1e-2
    assert found.unsolved < 1e-3
