"""What is said of what is seen: words by the solved volts, thresholds that sights share."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from halfsplit.behaviour import output
from halfsplit.behaviour.output import GLOW
from halfsplit.behaviour.soft import leans, reached
from halfsplit.diagnosis.evidence import soften
from halfsplit.diagnosis.expect import expect, find_fault
from halfsplit.diagnosis.predict import ALIKE, SAID_FOR
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.said import SAID_ANYWAY, Said
from halfsplit.form import Job, read_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.layout import lay_out

Real = NDArray[np.float64]
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


def _logs(readings: tuple[Reading, ...], chances: Sequence[Sequence[Sequence[float]]]) -> Real:
    """Joint log likelihood of rows, of each reading's chances at the five shared thresholds."""
    prepared = Prepared(_kilns("  - {weak: [Loft]}").installation)
    said = Said(prepared.hypotheses, prepared.plan, readings, readings)
    leaning = np.array(chances, dtype=np.float64)
    every = np.concatenate([leaning.mean(axis=2, keepdims=True), leaning], axis=2)
    return said.each(every, np.arange(len(chances), dtype=np.intp)).sum(axis=1)


DARK = [0.0] * 5


def test_ten_indications_of_one_conductor_by_one_tester_are_one() -> None:
    """A tester that lights at half of all thresholds or not: ten times lit is as likely as once,
    and lit nine times and once dark is a mistake."""
    one, ten = Reading("r", "lamps", of="Bench", seen="111"), 10
    half = [1.0, 1.0, 1.0, 0.0, 0.0]
    alone = math.exp(_logs((one,), [[DARK], [half]])[1])
    together = math.exp(_logs((one,) * ten, [[DARK] * ten, [half] * ten])[1])
    assert alone == pytest.approx(0.6, abs=0.02)
    assert together == pytest.approx(0.6 * 0.98**ten, rel=0.05)
    other = [1 - x for x in half]
    assert math.exp(_logs((one,) * ten, [[DARK] * ten, [half] * 9 + [other]])[1]) < 0.01


def test_chances_that_are_sure_multiply_as_ever() -> None:
    """Where every threshold gives the same chance there is nothing to share."""
    readings = tuple(Reading(of, "works", of=of, seen="dead") for of in ("Bench", "Loft"))
    some, few = [[0.9] * 5] * 2, [[0.02] * 5] * 2
    log = _logs(readings, [few, some])
    apart = soften(np.array([[0.02] * 2, [0.9] * 2]), np.full(2, SAID_ANYWAY["works", "dead"]))
    assert log == pytest.approx(apart.sum(axis=1), abs=1e-9)


@given(st.floats(0.05, 20.0), st.sampled_from([0.0, 0.3, 0.85, 0.97]), st.floats(0.05, 0.6))
def test_those_who_stand_for_all_are_together_as_anybody(
    ratio: float, alike: float, spread: float
) -> None:
    """The mean over the few thresholds is the chance of somebody unknown: within 0.06, for they are
    five. Source: total probability; a logistic is a normal of 1.702 to 0.01."""
    anybody, *few = (float(reached(ratio, 1.0, spread, lean)) for lean in leans(alike))
    assert np.mean(few) == pytest.approx(anybody, abs=0.06)


def test_who_stand_for_all_differ_as_all_do() -> None:
    """Their thresholds have mean nought and variance one, in sigma."""
    z = np.array([lean.z for lean in leans(0.5)[1:]])
    assert z.mean() == pytest.approx(0.0)
    assert z.var() == pytest.approx(1.0, abs=1e-3)


def test_bright_with_it_and_normal_without_needs_a_change_of_light() -> None:
    """One lamp called bright with the oven on and normal without: volts high in both, which half of
    all people call bright, explain it less than half as well as they would two people's lamps;
    volts that rise from 230 to 260 explain it best. Source: light as V^3.4, from memory."""
    oven = (Conditions(), Conditions(unplugged=("Oven",)))
    readings = tuple(
        Reading(seen, "glow", of="Bench", seen=seen, conditions=c)
        for seen, c in zip(("bright", "normal"), oven, strict=True)
    )

    def called(*volts: float) -> list[Real]:
        said = zip(volts, ("bright", "normal"), strict=True)
        who = leans(ALIKE)[1:]
        return [
            np.array([output.glow("filament", v, 230.0, 60.0, x)[GLOW.index(word)] for x in who])
            for v, word in said
        ]

    high = 230.0 * 1.3 ** (1 / 3.4)
    each = called(high, high)
    sound, same, risen = np.exp(_logs(readings, [called(230, 230), each, called(260, 230)]))
    apart = each[0].mean() * each[1].mean()
    assert same < 0.5 * apart
    assert risen > 0.6 > 5 * same
    assert sound < 0.02
