"""What the diagnosis says of whole jobs: found, silent, ordered, exonerated, endangered."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.expect import find_fault
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.errors import NotFound
from halfsplit.form import read_job
from tests.diagnosis.jobs import HALF_MAINS, shed


def test_half_mains_on_the_earth_is_an_open_protective_conductor() -> None:
    """An earth at half the supply beyond Shelf: open between Bench and Loft, and nothing else."""
    job = shed(HALF_MAINS)
    found = diagnose(job.installation, job.readings)
    first = found.suspects[0]
    assert first.conductors == ("E",)
    assert set(first.places) <= {"Bench", "Shelf", "Loft"}
    earth = sum(s.probability for s in found.suspects if s.conductors == ("E",))
    assert earth > 0.95


def test_the_ends_and_the_core_of_one_run_are_one_suspect() -> None:
    """Joint, core and joint of one conductor of one run cannot be told apart at the terminals."""
    job = shed(
        "  - {at: Bench, L-N: 230, L-E: 230, by: multimeter}\n"
        "  - {at: Shelf, L-N: 230, L-E: 230, by: multimeter}\n"
        "  - {at: Loft, L-N: 0.1, L-E: 230, N-E: 229.8, by: multimeter}"
    )
    first = diagnose(job.installation, job.readings).suspects[0]
    assert {m.fault.family for m in first.members if m.fault} == {"open joint", "broken core"}
    assert {m.fault.parts[0] for m in first.members if m.fault} == {
        "joint Loft N Shelf–Loft", "joint Shelf N Shelf–Loft", "core Shelf–Loft N",
    }  # fmt: skip


def test_the_order_of_the_readings_does_not_matter() -> None:
    """Any order of the readings gives the same answer to the last digit."""
    job = shed(HALF_MAINS)
    forward = diagnose(job.installation, job.readings)
    backward = diagnose(job.installation, job.readings[::-1])
    assert forward.suspects == backward.suspects
    assert forward.none == backward.none


def test_making_ready_once_changes_nothing() -> None:
    """A second diagnosis with the same preparation equals one from scratch."""
    job = shed(HALF_MAINS)
    prepared = Prepared(job.installation)
    diagnose(job.installation, job.readings[:2], prepared)
    again = diagnose(job.installation, job.readings, prepared)
    assert again.suspects == diagnose(job.installation, job.readings).suspects


def test_a_good_reading_while_the_fault_hides_exonerates_nothing() -> None:
    """Readings taken while it was not showing leave the odds among the faults as they were."""
    job = shed("  - {at: Loft, L-N: 230, L-E: 230, N-E: 0.1, by: multimeter}")
    hidden = tuple(replace(r, showing=False) for r in job.readings)
    before = diagnose(job.installation, ())
    after = diagnose(job.installation, hidden)
    instrument = ("lead open", "fuse blown", "wrong range", "leads not nulled", "test lamp blown")
    kept = {c.id: c for c in after.causes}
    for cause in before.causes[:20]:
        # What else draws current shows in a reading whether or not the fault does.
        drawn = cause.forgotten > 0.5
        if cause.fault is not None and cause.fault.family not in instrument and not drawn:
            same = kept[cause.id]
            odds = cause.probability / before.sound, same.probability / after.sound
            assert odds[1] == pytest.approx(odds[0], rel=0.03), cause.id  # severities are steps


def _sound_readings(rng: np.random.Generator, points: int, volts: float) -> str:
    """Ordinary readings of a healthy radial: its supply, drops under a volt, fair meters."""
    lines = []
    for k in range(1, points + 1):
        pairs = {"L-N": volts, "L-E": volts, "N-E": abs(rng.normal(0, 0.3))}
        kept = [p for p in pairs if rng.random() < 0.6] or ["L-N"]
        shown = {p: pairs[p] * (1 + rng.normal(0, 0.004)) for p in kept}
        text = ", ".join(f"{p}: {v:.1f}" for p, v in shown.items())
        lines.append(f"  - {{at: P{k}, {text}, works: yes}}")
    return "\n".join(lines)


def test_a_healthy_circuit_with_ordinary_readings_is_left_in_peace() -> None:
    """Nothing wrong stands first on at least 95 of 100 random healthy circuits.

    The readings are made by hand (common practice of what a healthy outlet reads), not solved.
    """
    rng = np.random.default_rng(20)
    quiet = 0
    for _ in range(100):
        points = int(rng.integers(2, 6))
        run = ", ".join(f"{rng.uniform(2, 12):.0f} m, P{k}" for k in range(1, points + 1))
        text = (
            f"region: uk\nsupply: {'TN-S' if rng.random() < 0.5 else 'TN-C-S'} 230 V\n"
            f"circuits:\n  c: {{device: B16, run: [{run}]}}\nreadings:\n"
            + _sound_readings(rng, points, 230 * (1 + rng.normal(0, 0.02)))
        )
        job = read_job(text)
        found = diagnose(job.installation, job.readings)
        quiet += found.suspects[0].kind == "nothing wrong"
    assert quiet >= 95, quiet


def test_danger_is_looked_for_under_every_cause_still_believed() -> None:
    """With an open neutral only one cause among others, the neutral beyond is still dangerous."""
    job = shed(
        "  - {at: Bench, L-N: 230, L-E: 230, by: multimeter}\n"
        "  - {at: Desk, works: dead, with: {plugged: Desk/heater}}"
    )
    found = diagnose(job.installation, job.readings)
    open_neutral = sum(
        c.probability for c in found.causes
        if c.fault and c.fault.family == "open joint" and c.fault.conductors == ("N",)
    )  # fmt: skip
    assert 0.001 < open_neutral < 0.9
    assert any(d.conductor == "N" and d.volts > 150 and d.place == "Desk" for d in found.dangers)


def test_a_misread_figure_is_pointed_out() -> None:
    """One figure ten times out among good ones is marked as a slip, and nothing is found wrong."""
    job = shed(
        "  - {at: Bench, L-N: 231, L-E: 231, N-E: 0.2, by: multimeter}\n"
        "  - {at: Shelf, L-N: 230, L-E: 230, N-E: 0.2, by: multimeter}\n"
        "  - {at: Loft, L-N: 230, L-E: 23, N-E: 0.3, by: multimeter}\n"
        "  - {at: Desk, L-N: 230, L-E: 230, N-E: 0.2, by: multimeter}"
    )
    found = diagnose(job.installation, job.readings)
    marked = [c.reading for c in found.readings if c.fits == "slip"]
    assert [r.value for r in marked] == [23.0]
    assert found.suspects[0].kind == "nothing wrong"


def test_probabilities_add_to_one() -> None:
    """Causes and "none of these" together are certain."""
    found = diagnose(shed(HALF_MAINS).installation, shed(HALF_MAINS).readings)
    assert sum(c.probability for c in found.causes) + found.none == pytest.approx(1.0, abs=1e-9)
    assert found.left_out < 1e-2


def test_an_unknown_fault_is_refused_with_what_is_near() -> None:
    """Asking for a fault that does not exist names some that do."""
    job = shed(HALF_MAINS)
    prepared = Prepared(job.installation)
    with pytest.raises(NotFound, match=r"open joint: joint Loft"):
        find_fault(job.installation, prepared.plan, "open joint: joint Lofft N")


@pytest.mark.parametrize("seen", ["destroyed: Desk", "at: Desk, notice: sparks", "shock: case"])
def test_what_is_dangerous_by_itself_raises_the_alarm(seen: str) -> None:
    """Destroyed appliances, sparks and a shock ask for isolation before anything else."""
    place = "" if "Desk" in seen else "at: Desk, "
    job = shed(f"  - {{{place}{seen}}}")
    assert diagnose(job.installation, job.readings).alarm
