"""What is said of what is seen: words by the solved volts, thresholds that sights share."""

from __future__ import annotations

import pytest

from halfsplit.diagnosis.expect import expect, find_fault
from halfsplit.diagnosis.predict import SAID_FOR
from halfsplit.form import Job, read_job
from halfsplit.wiring.layout import lay_out

KILNS = """
supply: TN-S 230 V
circuits:
  kilns: {run: [Bench, Loft], plugged in: {Loft: {name: pump, kind: motor, watts: 400}}}
readings:
"""


def _kilns(readings: str) -> Job:
    return read_job(KILNS + readings)


def _chance(job: Job, fault: str, severity: int = 0) -> float:
    found = find_fault(job.installation, lay_out(job.installation), fault)
    shown = expect(job.installation, job.readings, found, severity)[0].chance
    assert shown is not None
    return shown


def test_nobody_calls_weak_what_has_no_volts() -> None:
    """With its breaker off a pump has 0 V and no power: to call it weak is a slip of the tongue."""
    assert _chance(_kilns("  - {weak: [Loft]}"), "device off: kilns") == pytest.approx(0.01)
    assert _chance(_kilns("  - {dead: [Loft]}"), "device off: kilns") > 0.98


def test_what_hums_and_will_not_start_is_called_weak_now_and_then() -> None:
    """A motor needs about half its volts to start; humming on less it is dead to most, not all.

    Source: breakdown torque goes as the square of the voltage; practice.
    """
    job = _kilns("  - {weak: [Loft]}")
    joint = find_fault(
        job.installation, lay_out(job.installation), "loose joint: joint Loft L Bench–Loft"
    )
    chances = [_chance(job, joint.id, s) for s in range(len(joint.severities))]
    assert max(chances) > 0.1


def test_every_state_is_called_something() -> None:
    """Of each state the words add to one."""
    assert all(sum(words) == pytest.approx(1.0) for words in SAID_FOR.values())
