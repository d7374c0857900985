"""An electrician who does what is proposed, in an installation whose fault is known.

The truth is solved by the same engine: this tests the choosing, not the physics.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from halfsplit.checks.check import Considered
from halfsplit.checks.choose import consider
from halfsplit.checks.costs import State
from halfsplit.checks.trial import WORDS
from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.diagnose import conclude, weigh
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.diagnosis.weigh import Weighed
from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.model import Board, Circuit, Device, Group, Installation, Region, Supply
from tests.faults.houses import EVERY, EXACT, looped_at_switch, radial, ring


def small(*circuits: Circuit, region: Region = "uk") -> Installation:
    """An installation of a few circuits on one board."""
    return Installation("cottage", region, Supply("TN-C-S", volts=EXACT), circuits=circuits)


def guarded() -> Installation:
    """Three outlets behind a residual device of 30 mA."""
    rcd = Device("guard", "rcd", 63.0, "", 0.03, poles=("L", "N"))
    return replace(radial(3), boards=(Board(groups=(Group(rcd, ("outlets",)),)),))


HOUSES = {
    **EVERY,
    "guarded": guarded(),
    "row": radial(5),
    "long row": radial(8),
    "american row": radial(5, "na"),
    "ring": small(ring("sockets", "U1", "U2", "U3", "U4")),
    "lights": small(looped_at_switch()),
}


@lru_cache(maxsize=8)
def prepared(name: str) -> Prepared:
    """One of the invented installations, made ready once."""
    return Prepared(HOUSES[name])


def fault_named(name: str, id: str) -> Fault:
    """A fault of an installation by its id."""
    return next(f for f in prepared(name).hypotheses.faults if f.id == id)


def volts(place: str, a: str, b: str, conditions: Conditions = AS_DESCRIBED) -> Reading:
    """A multimeter reading at a socket front, still without its value."""
    return Reading(f"{place} {a}-{b}", "volts", f"{place}.{a}:front", f"{place}.{b}:front",
                   instrument="multimeter", conditions=conditions, place=place)  # fmt: skip


def taken(name: str, fault: Fault | None, severity: int, template: Reading) -> Reading:
    """The reading as it would come out: three digits, or the likeliest word."""
    ready = prepared(name)
    inst, plan = ready.installation, ready.plan
    if template.kind in WORDS:
        said = {
            word: expect(inst, [replace(template, seen=word)], fault, severity, plan)[0].chance or 0
            for word in WORDS[template.kind]
        }
        return replace(template, seen=max(said, key=lambda word: said[word]))
    shown = expect(inst, [replace(template, value=1.0)], fault, severity, plan)[0].figure
    if shown is None or math.isinf(shown):
        return replace(template, value=math.inf, bound=">")
    return replace(template, value=float(f"{shown:.3g}"))


def diagnosed(name: str, readings: Sequence[Reading]) -> tuple[Bench, Weighed, Diagnosis]:
    """The readings weighed."""
    bench, weighed = weigh(prepared(name), readings)
    return bench, weighed, conclude(bench, weighed)


def considered(
    name: str,
    readings: Sequence[Reading],
    tools: Sequence[str] = (),
    limit: int = 3,
    state: State | None = None,
    sources: Sequence[str] = (),
) -> Considered:
    """What is proposed after these readings."""
    bench, weighed, diagnosis = diagnosed(name, readings)
    ready = prepared(name)
    return consider(ready.installation, ready.plan, bench, weighed, diagnosis, tools, limit,
                    state=state, sources=sources)  # fmt: skip


@dataclass(frozen=True)
class Visit:
    """How a visit went: checks done, minutes, whether it was found or leads, belief in it."""

    checks: int
    minutes: float
    found: bool
    leads: bool
    belief: float
    done: tuple[str, ...]


def visit(name: str, id: str, first: Sequence[Reading], severity: int = 0, most: int = 6) -> Visit:
    """Follow the first proposal until it is found or ``most`` checks are done."""
    fault, ready, state = fault_named(name, id), prepared(name), State()
    readings = [taken(name, fault, severity, r) for r in first]
    minutes, done = 0.0, []
    for step in range(most + 1):
        bench, weighed, diagnosis = diagnosed(name, readings)
        top = diagnosis.suspects[0]
        leads = any(m.fault is not None and m.fault.id == id for m in top.members)
        belief = top.probability if leads else 0.0
        offered = consider(ready.installation, ready.plan, bench, weighed, diagnosis,
                           state=state).proposals  # fmt: skip
        if step == most or not offered:
            break
        check = offered[0].check
        minutes += offered[0].minutes
        done.append(check.id)
        state = state.after(check)
        if check.looks:
            if dict(check.finds).get(id, 0.0) > 0.5:
                return Visit(step + 1, minutes, True, leads, belief, tuple(done))
            state = replace(state, looked=state.looked | {check.id})
        elif check.reading is not None:
            readings.append(taken(name, fault, severity, check.reading))
    return Visit(len(done), minutes, False, leads, belief, tuple(done))
