"""Random states of jobs, and every suggestion held against the rules of safety and the truth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from halfsplit.checks.choose import consider
from halfsplit.checks.costs import State
from halfsplit.diagnosis.diagnose import conclude, weigh
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.faults.fault import Fault
from halfsplit.form import read_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Effect, ReadingChange
from tests.checks.restated import CALLED, LOST, Given, broken, works_live
from tests.checks.simulating import HOUSES

NAMES = ("row", "radial", "ring", "lights", "barn", "american row", "american", "workshop",
         "guarded", "rod", "solar", "two boards")  # fmt: skip
TOOLS = ("multimeter", "low impedance", "two-pole", "two-pole load", "test lamp", "plug tester",
         "loop", "loop low", "ramp", "millivolts", "continuity", "insulation 250",
         "insulation 500", "clamp", "leakage clamp", "tone tracer", "thermal camera")  # fmt: skip
# Odd ones, as written forms; made up.
ODD = {
    "rod": """
region: uk
supply: {earthing: TT, electrode: 60 ohm}
circuits:
  sockets: {device: B32 RCBO 30 mA, run: [6 m, Shed, 9 m, Greenhouse, 7 m, Pump]}
  lights: {device: B6, run: [5 m, Path, 6 m, Porch]}
""",
    "solar": """
region: uk
supply: TN-C-S 230 V
other sources: solar
circuits:
  upstairs: {device: B32, ring: [7 m, Desk, 5 m, Bed, 6 m, Landing, 8 m]}
  charger: {device: B40 RCBO 30 mA, run: [14 m, Car point], plugged in: {Car point: electronics}}
""",
    "two boards": """
region: eu
supply: TN-S 230 V
boards: {Board: {}, Annexe: {fed by: annexe feed}}
circuits:
  annexe feed: {device: B32, run: [12 m, Annexe]}
  stores: {board: Annexe, device: B16, run: [4 m, Bench, 5 m, Till, 6 m, Oven]}
  office: {device: B16, run: [4 m, Desk, 5 m, Copier]}
""",
}
OFFERED = 6
VARIED = 4  # states of one job: what was done, other sources and the tools at hand differ
DEAD = Conditions(dead=True, unplugged=("all",))
ALARMS = (("touch", "shock"), ("touch", "tingle"), ("sense", "smell"), ("sense", "wet"),
          ("works", "destroyed"))  # fmt: skip


@dataclass(frozen=True)
class Run:
    """What a run came to: suggestions in so many states, and every rule broken, in words."""

    states: int
    offered: int
    live: int
    broken: tuple[str, ...]


@lru_cache(maxsize=16)
def prepared(name: str) -> Prepared:
    """One of the invented installations, made ready once."""
    return Prepared(read_job(ODD[name]).installation if name in ODD else HOUSES[name])


def run(count: int, seed: int) -> Run:
    """So many random states, each with everything that is offered in it."""
    rng = np.random.default_rng(seed)
    wrong: list[str] = []
    offered = live = 0
    for number in range(count):
        if number % VARIED == 0:
            name = NAMES[int(rng.integers(0, len(NAMES)))]
            ready, effects, readings = job(rng, prepared(name))
            bench, weighed = weigh(ready, readings)
            diagnosis = conclude(bench, weighed)
        done, sources, tools = visit(rng)
        sources = ("solar",) if name == "solar" else sources
        found = consider(
            ready.installation, ready.plan, bench, weighed, diagnosis, tools, OFFERED, state=done,
            sources=sources,
        ).proposals  # fmt: skip
        given = Given(ready, effects, readings, done, sources, _lost(diagnosis))
        offered += len(found)
        live += sum(works_live(one.check) for one in found)
        wrong += [f"{name}, seed {seed}, state {number}: {rule}" for rule in broken(found, given)]
    return Run(count, offered, live, tuple(wrong))


def job(
    rng: np.random.Generator, ready: Prepared
) -> tuple[Prepared, tuple[Effect, ...], tuple[Reading, ...]]:
    """A random fault with its effects, and what was read and reported."""
    faults = ready.hypotheses.faults
    weight = np.array([fault.rate for fault in faults]) ** 0.3  # rare ones are tried too
    fault = faults[int(rng.choice(len(faults), p=weight / weight.sum()))]
    step = int(rng.integers(0, len(fault.severities)))
    readings = (*_figures(rng, ready, fault, step), *_reported(rng, ready))
    effects = tuple(e for e in fault.severities[step].effects if not isinstance(e, ReadingChange))
    return ready, effects, readings


def visit(rng: np.random.Generator) -> tuple[State | None, tuple[str, ...], list[str]]:
    """What was done already, other sources, what is at hand."""
    done = None
    if rng.random() < 0.4:
        looked = frozenset({CALLED}) if rng.random() < 0.2 else frozenset[str]()
        done = State(isolated=bool(rng.random() < 0.5), unplugged=bool(rng.random() < 0.5),
                     looked=looked)  # fmt: skip
    sources = ("solar",) if rng.random() < 0.2 else ()
    return done, sources, [tool for tool in TOOLS if rng.random() < 0.8]


def _lost(diagnosis: Diagnosis) -> float:
    """Belief in a lost supply neutral or combined conductor."""
    return sum(
        c.probability for c in diagnosis.causes if c.fault and c.fault.family.startswith(LOST)
    )


def _figures(
    rng: np.random.Generator, ready: Prepared, fault: Fault, step: int
) -> Iterator[Reading]:
    """Up to three readings as they would come, live and dead."""
    spots = [s for s in ready.plan.spots if s.circuit and len(s.conductors) > 1]
    boards = [b.name for b in ready.installation.boards]
    for k in range(int(rng.integers(0, 4))):
        spot = spots[int(rng.integers(0, len(spots)))]
        part = ":front" if spot.front else ""
        a, b = (spot.conductors[int(i)] for i in rng.choice(len(spot.conductors), 2, replace=False))
        one = Reading(f"r{k}", "volts", f"{spot.name}.{a}{part}", f"{spot.name}.{b}{part}",
                      value=0.0, instrument="multimeter", place=spot.name)  # fmt: skip
        if rng.random() < 0.35 and "E" in spot.conductors:
            one = replace(one, kind="ohms", a=f"{boards[0]}.E", b=f"{spot.name}.E{part}",
                          instrument="continuity", conditions=DEAD)  # fmt: skip
        shown = expect(ready.installation, [one], fault, step, ready.plan)[0].figure
        if shown is None or not np.isfinite(shown):
            yield replace(one, value=float("inf"), bound=">")
        else:
            yield replace(one, value=float(f"{shown:.3g}"))


def _reported(rng: np.random.Generator, ready: Prepared) -> Iterator[Reading]:
    """Now and then an alarm, a trip, or that it was proved dead; whether or not it is so."""
    spots = [s for s in ready.plan.spots if s.circuit and "E" in s.conductors]
    spot = spots[int(rng.integers(0, len(spots)))]
    if rng.random() < 0.15:
        kind, seen = ALARMS[int(rng.integers(0, len(ALARMS)))]
        ends = (f"{spot.name}.E", "earth") if kind == "touch" else ("", "")
        yield Reading("alarm", kind, *ends, of=spot.name, seen=seen, place=spot.name)  # type: ignore[arg-type]
        if rng.random() < 0.2:
            yield Reading("proved", "proved dead", f"{spot.name}.E", "earth", seen="dead",
                          conditions=Conditions(off=("main switch",)), place=spot.name)  # fmt: skip
    if rng.random() < 0.15:
        ways = [w for w in ready.plan.ways if w.circuit]
        seen = "at once" if rng.random() < 0.7 else "holds"
        yield Reading("trip", "trips", of=ways[int(rng.integers(0, len(ways)))].name, seen=seen,
                      conditions=AS_DESCRIBED)  # fmt: skip
