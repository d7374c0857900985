"""What an answer survives, tried on trials whose answer is sure."""

from __future__ import annotations

from random import Random

import pytest

from bench import _trial_robust
from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.form import read_job

# A tired neutral joint before Fir, a heater beyond it: 28 Ω beside its 53 Ω.
TIRED = """
region: uk
supply: TN-C-S 230 V
circuits:
  shop:
    device: B16
    run: [8 m, Ash, 4 m, Oak, 5 m, Fir, 3 m, Yew]
    plugged in: {Ash: LED 8 W, Yew: heater 1 kW}
readings:
  - {at: Oak, L-N: 231, N-E: 0.3, by: multimeter}
  - {at: Fir, L-N: 151, N-E: 79, L-E: 230, by: multimeter}
  - {at: Yew, L-N: 151, N-E: 79, L-E: 230, by: multimeter}
"""


@pytest.fixture(scope="module")
def job():  # type: ignore[no-untyped-def]
    """The job, made ready, and its answer."""
    read = read_job(TIRED)
    prepared = Prepared(read.installation)
    return prepared, read.readings, diagnose(read.installation, read.readings, prepared)


def test_the_readings_name_the_joint(job) -> None:  # type: ignore[no-untyped-def]
    """The case is one with a sure answer: the neutral between Oak and Fir."""
    first = job[2].suspects[0]
    assert "N" in first.conductors
    assert set(first.places) <= {"Oak", "Fir"}
    assert first.probability > 0.8


def test_any_order_of_readings_gives_the_same_answer(job) -> None:  # type: ignore[no-untyped-def]
    """To the last digit, for five orders."""
    prepared, readings, answer = job
    for seed in range(5):
        assert _trial_robust.in_any_order(prepared, readings, answer, Random(seed))


def test_rates_three_times_off_do_not_move_the_first(job) -> None:  # type: ignore[no-untyped-def]
    """Every family's rate up or down by three, four times over: the same suspect leads."""
    prepared, readings, answer = job
    assert all(_trial_robust.holds(prepared, readings, answer, Random(s)) for s in range(4))


def test_what_is_not_known_makes_room_for_none_of_these(job) -> None:  # type: ignore[no-untyped-def]
    """With tired joints unknown, belief in "none of these" and in the true place both move.

    The true fault is gone from the answer, and "none of these" is believed more than before.
    """
    prepared, readings, answer = job
    faults = {f.id: f for f in enumerate_faults(prepared.installation, prepared.plan)}
    true = faults["loose joint: joint Fir N Oak–Fir"]
    unknown = _trial_robust.without(prepared, answer, true)
    other = diagnose(prepared.installation, readings, unknown)
    assert true.family not in {c.fault.family for c in other.causes if c.fault}
    assert other.none > 10 * answer.none


def test_the_counts_are_printed_with_their_intervals() -> None:
    """Three lines, one of each trial's answers counted."""
    rows = [{"none": 0.6, "impostor": 0.2, "holds": True, "order": True},
            {"none": 0.1, "impostor": 0.7, "holds": False, "order": True}]  # fmt: skip
    lines = list(_trial_robust.as_lines(rows))
    assert [line.split(" of ")[0].split()[-1] for line in lines if "1 of" in line or "2 of" in line]
    assert "1 of    2" in lines[0]
    assert "1 of    2" in lines[1]
    assert "2 of    2" in lines[2]
