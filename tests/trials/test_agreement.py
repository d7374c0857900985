"""What the program expects under the true fault is what the simulator shows, check by check.

Houses, faults and checks are drawn; nothing is unknown (lengths, contacts and the supply are as
written), so that every difference is one of physics.
"""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import pytest

from bench._trial_houses import draw_house
from bench._trial_meters import Kit, Slips, draw_kit
from bench._trial_net import Wrong
from bench._trial_parts import Parts, Spreads, draw_parts
from bench._trial_site import Site, draw_limits
from bench._trial_spice import Simulator
from halfsplit.checks.candidates import candidates
from halfsplit.checks.site import look_round
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.result import Cause, Diagnosis
from halfsplit.errors import NotFound
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.faults.fault import Fault
from halfsplit.form import read_job
from halfsplit.instruments.catalogue import INSTRUMENTS
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import ReadingChange
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import About, Installation
from halfsplit.wiring.plan import Plan

CHECKS = 12
KINDS = ("volts", "ohms", "megohms", "loop", "amps")
# What the two may differ by: share of the figure and SI floor. Cable sections, resistivity from
# metal rather than from the table, and the switch of an appliance's threshold are in it.
ROOM = {"volts": (0.03, 1.5), "ohms": (0.06, 0.05), "megohms": (0.25, 2e4), "loop": (0.1, 0.15),
        "amps": (0.06, 3e-4)}  # fmt: skip


def exactly(installation: Installation) -> Installation:
    """The same with nothing unknown in its supply and lengths."""
    supply = installation.supply
    circuits = tuple(
        replace(c, runs=tuple(replace(r, length=About(r.length.value)) for r in c.runs))
        for c in installation.circuits
    )
    return replace(installation, supply=replace(supply, volts=About(supply.volts.value)),
                   circuits=circuits)  # fmt: skip


def as_planned(installation: Installation, plan: Plan) -> Parts:
    """Parts with nothing drawn: every element as the plan has it, the sources exact."""
    still = replace(plan, elements=tuple(replace(e, spread=0.0) for e in plan.elements))
    parts = draw_parts(installation, still, Spreads(0, 0, 0, 0, 0, 0, 0), Random(1))
    exact = {e.id: (replace(parts.wires[e.id][0], emf=e.emf),)
             for e in plan.elements if e.kind == "source"}  # fmt: skip
    watts = {load.id: load.watts for load in plan.loads}
    return replace(parts, wires={**parts.wires, **exact}, watts=watts)


def asked(installation: Installation, plan: Plan, fault: Fault, random: Random) -> list[Reading]:
    """Some of the readings that the program may ask for while it believes in this fault."""
    cause = Cause(fault, 1.0, (), 0.0)
    believed = Diagnosis((), (cause,), 0.0, 0.0, (), (), (), (), 0.0, False)
    site = look_round(installation, plan, (), believed)
    found = [c.reading for c in candidates(site) if c.reading and c.reading.kind in KINDS]
    random.shuffle(found)
    return found[:CHECKS]


def differing(
    kit: Kit, reading: Reading, installation: Installation, fault: Fault, step: int, plan: Plan
) -> str:
    """Both figures in words where they are further apart than their room; empty where not."""
    who = kit.specimens[reading.instrument]
    try:
        expected = expect(installation, [replace(reading, value=1.0)], fault, step, plan)[0].figure
    except NotFound:
        return ""  # a check at a terminal that is not there is nothing to compare
    true = min(kit.true(reading, who), who.high)
    figure = min(math.inf if expected is None else expected, who.high)
    share, floor = ROOM[reading.kind]
    near = abs(true - figure) <= share * abs(figure) + floor
    return "" if near else f"{fault.id} {reading.id}: true {true:.4g}, expected {figure:.4g}"


@pytest.mark.parametrize("seed", range(8))
def test_figures_agree_with_the_simulator(ngspice: str, seed: int) -> None:
    """Whatever the house, the fault and the check: volts, ohms, loops and clamps agree."""
    random = Random(seed)
    installation = exactly(read_job(draw_house(random).text).installation)
    plan = lay_out(installation)
    faults = [
        f for f in enumerate_faults(installation, plan)
        if not any(isinstance(e, ReadingChange) for s in f.severities for e in s.effects)
    ]  # fmt: skip
    fault = random.choices(faults, [f.rate for f in faults])[0]
    step = random.randrange(len(fault.severities))
    with Simulator() as simulator:
        parts = as_planned(installation, plan)
        wrong = Wrong(fault.severities[step].effects)
        site = Site(parts, wrong, draw_limits(parts, random), {}, simulator)
        kit = draw_kit(site, Slips(0.0), installation.region, random)
        kit.specimens = dict(INSTRUMENTS)
        wide = [
            said for reading in asked(installation, plan, fault, random)
            if (said := differing(kit, reading, installation, fault, step, plan))
        ]  # fmt: skip
    assert wide == []
