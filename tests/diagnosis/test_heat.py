"""Watts that a fault turns to heat, against Ohm's law by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.heat import _solved, everyday, lost
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.solve import solve_rows
from halfsplit.form import Job, read_job
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.layout import lay_out

NONE = Conditions(unplugged=("all",))


def _job(circuits: str, supply: str = "120 V 60 Hz", region: str = "na") -> Job:
    return read_job(f"region: {region}\nsupply: {supply}\ncircuits:\n{circuits}")


def _lost(
    job: Job, effects: tuple[Effect, ...], *places: str, conditions: Conditions = AS_DESCRIBED
) -> float:
    prepared = Prepared(job.installation, faults=())
    scene, rows = prepared.base(conditions).rows([effects], ())
    parted = solve_rows(scene, rows, ()).parted
    return float(lost(everyday(scene), rows, [effects], [places], parted)[0])


HEATER = "  a: {{device: 15 A, run: [1 m, Bench], plugged in: {{Bench: {watts} W heater}}}}\n"
JOINT = Added("joint Bench N Board–Bench", 22.0)


@pytest.mark.parametrize(("watts", "volts"), [(920, 70.0), (1875, 89.0)])
def test_a_bad_neutral_joint_gets_as_hot_as_its_volts_say(watts: int, volts: float) -> None:
    """22 ohm under 920 W at 120 V takes 70 V, under 1,875 W 89 V: 223 and 360 W of heat.

    Source: row 4 of the list of phenomena; V squared over R by hand.
    """
    heat = _lost(_job(HEATER.format(watts=watts)), (JOINT,), "Bench")
    everyday_too = 120.0**2 / 1440.0  # 80 % of the 15 A breaker, in place of what is plugged in
    with_more = 22.0 * (120.0 / (22.0 + everyday_too)) ** 2
    assert heat == pytest.approx(max(volts**2 / 22.0, with_more), rel=0.03)


def test_a_joint_on_a_lighting_circuit_stays_cool() -> None:
    """1 ohm in the way of 150 W of lamps at 230 V: 0.65 A, 0.43 W, which nobody feels."""
    lights = "  lights: {device: B6, lights: [Hall]}\n"
    job = _job(lights, "TN-S 230 V", "uk")
    joint = next(
        e.id for e in lay_out(job.installation).elements
        if e.kind == "joint" and e.conductor == "N" and "Hall" in e.id
    )  # fmt: skip
    assert _lost(job, (Added(joint, 1.0),), "Hall") == pytest.approx((150 / 230) ** 2, rel=0.05)


def test_what_carries_no_current_is_cold() -> None:
    """A poor electrode on a healthy day, a bad joint of a protective conductor, a core put in
    another's place: no current or no volts, no heat, whatever the ohms."""
    job = _job("  a: {run: [Bench]}\n", "TT 230 V", "uk")
    assert _lost(job, (Added("electrode", 800.0),), "origin") < 0.01
    assert _lost(job, (Added("joint Bench E Board–Bench", 3.0),), "Bench") < 0.01
    parted = (
        Added("joint Bench L Board–Bench", math.inf),
        Added("joint Bench N Board–Bench", math.inf),
    )
    crossed = (*parted, Bridged("Bench.L", "Bench.N", math.inf))
    assert _lost(job, crossed, "Bench") < 0.01


def test_the_street_warms_no_box_of_this_house() -> None:
    """Neighbours' kilowatts on a broken combined conductor are heat in their own loads."""
    job = _job("  a: {run: [Bench]}\n", "TN-C-S 230 V", "uk")
    fault = next(
        f for f in Prepared(job.installation).hypotheses.faults
        if f.family == "combined conductor lost upstream"
    )  # fmt: skip
    assert all(_lost(job, s.effects, *fault.places) < 5.0 for s in fault.severities)


def test_a_leak_is_as_hot_as_its_device_lets_it_be() -> None:
    """23 kilohm to earth is 10 mA and 2.3 W. 1 kilohm would be 53 W, but a 30 mA device parts: it
    held to about 24 mA, 5.5 W, by the standard's half to whole of its rating (0.8 typical)."""
    behind = "  a: {device: 16 A RCBO 30 mA, run: [Bench]}\n"
    job = _job(behind, "TN-S 230 V", "uk")

    def leak(ohms: float) -> float:
        return _lost(job, (Bridged("Bench.L", "Bench.E", 1 / ohms),), "Bench")

    assert leak(23e3) == pytest.approx(2.3, rel=0.02)
    assert leak(1e3) == pytest.approx(230 * 0.024, rel=0.02)
    assert leak(0.5) == pytest.approx(230 * 0.024, rel=0.02)
    bare = _job("  a: {device: B16, run: [Bench]}\n", "TN-S 230 V", "uk")
    assert _lost(bare, (Bridged("Bench.L", "Bench.E", 1e-3),), "Bench") == pytest.approx(
        52.9, rel=0.02
    )


def test_with_everything_unplugged_a_joint_is_cold() -> None:
    """Where nothing may be in use there is no current to warm anything."""
    assert _lost(_job(HEATER.format(watts=920)), (JOINT,), "Bench", conditions=NONE) < 1e-3


def test_the_danger_of_fire_is_told_without_absurd_watts() -> None:
    """Whatever it is, no box of a house turns tens of kilowatts to heat: its device would part."""
    job = read_job(
        "region: na\nsupply: 120 V 60 Hz\ncircuits: {a: {run: [Bench, Loft]}}\n"
        "readings:\n  - {at: Loft, notice: smell}\n  - {weak: [Loft]}\n"
    )
    hot = [d.why for d in diagnose(job.installation, job.readings).dangers if d.kind == "heat"]
    assert hot
    watts = [float(w) for why in hot for w, unit in zip(why.split(), why.split()[1:], strict=False)
             if unit == "W"]  # fmt: skip
    assert all(w <= 3000 for w in watts)


def test_what_is_joined_twice_is_as_hot_as_joined_once() -> None:
    """Two leaks across the same two terminals share the current; two solid ones, which no equation
    tells apart, take half each."""
    job = _job("  a: {device: B16, run: [Bench]}\n", "TN-S 230 V", "uk")
    once = Bridged("Bench.L", "Bench.E", 1e-4)
    assert _lost(job, (once, once), "Bench") == pytest.approx(5.29, rel=0.02)
    ohms, volts = np.full((1, 2, 2), 2e9 + 0j), np.full((1, 2), 6.0 + 0j)
    assert _solved(ohms, volts)[0] == pytest.approx([1.5e-9] * 2)
