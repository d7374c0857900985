"""Search problems from circuits: the product's own tables and costs for radial and branched ones.

An installation is drawn, a fault is drawn by the product's rates, one or two readings are worked
out as they would come, and the product weighs them. What it then believes, what its checks would
show and what they cost are the problem.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bench._policy_run import Problem
from halfsplit.checks.choose import gather
from halfsplit.checks.costs import State
from halfsplit.checks.planned import search_problem
from halfsplit.checks.policy import Real, Task
from halfsplit.checks.site import look_round
from halfsplit.diagnosis.diagnose import conclude, weigh
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.model import About, Circuit, Core, Device, Installation, Load, Point, Run

PAIRS = (("L", "N"), ("L", "E"), ("N", "E"))
WRONG_VOLTS = 40.0  # from what a sound circuit shows: somebody would call
TRIES = 30  # faults drawn until one shows
MOST_GROUPS_BELIEF = 0.9  # settled already: no search


def installation(rng: np.random.Generator, points: int) -> Installation:
    """One circuit of so many outlets, a chain or with branches, lengths and loads drawn."""
    names = [f"Outlet {k}" for k in range(1, points + 1)]
    branched = rng.random() < 0.5
    runs, cores = [], tuple(Core(key, key, 2.5) for key in "LNE")
    for k, name in enumerate(names):
        start = "Board" if k == 0 else names[k - 1]
        if branched and k > 1 and rng.random() < 0.35:
            start = names[int(rng.integers(0, k - 1))]
        length = About(float(rng.uniform(2.0, 15.0)), float(rng.choice([0.0, 0.3])))
        runs.append(Run(f"{start}–{name}", start, name, length, cores))
    kinds = (("kettle", "heater", 2000.0), ("radio", "electronics", 30.0),
             ("lamp", "filament", 60.0))  # fmt: skip
    loads = [
        (Load(*kinds[int(k)][:2], About(kinds[int(k)][2])),) if k < 3 else ()
        for k in rng.integers(0, 6, points)
    ]
    placed = tuple(Point(name, loads=own) for name, own in zip(names, loads, strict=True))
    circuit = Circuit("outlets", Device("outlets breaker"), tuple(runs), placed)
    return Installation("drawn", "uk", circuits=(circuit,))


def volts(place: str, pair: tuple[str, str]) -> Reading:
    """A multimeter reading at an outlet, its value still to come."""
    a, b = (f"{place}.{key}:front" for key in pair)
    return Reading(f"{place} {'-'.join(pair)}", "volts", a, b, value=0.0, instrument="multimeter",
                   place=place)  # fmt: skip


def problems(rng: np.random.Generator, points: int, count: int) -> Iterator[Problem[State]]:
    """Searches in one drawn installation, each begun by another fault."""
    prepared = Prepared(installation(rng, points))
    given = 0
    for _ in range(count * 3):
        readings = _first_readings(rng, prepared)
        if given >= count:
            return
        if not readings:
            continue
        found = _problem(prepared, readings)
        if found is not None:
            given += 1
            yield found


def _first_readings(rng: np.random.Generator, prepared: Prepared) -> list[Reading]:
    """Two readings at an outlet where a drawn fault shows; none where it shows nowhere tried."""
    faults = prepared.hypotheses.faults
    rate = np.array([fault.rate for fault in faults])
    outlets = [p.name for p in prepared.installation.points()]
    for _ in range(TRIES):
        fault = faults[int(rng.choice(len(faults), p=rate / rate.sum()))]
        severity = int(rng.integers(0, len(fault.severities)))
        place = outlets[int(rng.integers(0, len(outlets)))]
        asked = [volts(place, PAIRS[int(k)]) for k in rng.choice(3, 2, replace=False)]
        shown = _shown(prepared, asked, fault, severity)
        sound = _shown(prepared, asked, None, 0)
        if any(abs(a - b) > WRONG_VOLTS for a, b in zip(shown, sound, strict=True)):
            return [replace(r, value=v) for r, v in zip(asked, shown, strict=True)]
    return []


def _shown(
    prepared: Prepared, asked: list[Reading], fault: Fault | None, severity: int
) -> list[float]:
    """Figures as a meter gives them, three digits."""
    found = expect(prepared.installation, asked, fault, severity, prepared.plan)
    return [float(f"{0.0 if e.figure is None else e.figure:.3g}") for e in found]


def _problem(prepared: Prepared, readings: list[Reading]) -> Problem[State] | None:
    bench, weighed = weigh(prepared, readings)
    diagnosis = conclude(bench, weighed)
    if diagnosis.suspects[0].probability > MOST_GROUPS_BELIEF:
        return None
    plan = prepared.plan
    site = look_round(prepared.installation, plan, readings, diagnosis)
    ready = gather(site, bench, weighed)
    if not ready.scored:
        return None
    checks, task = search_problem(ready.scored, ready.rows, ready.groups, ready.trial.ids, site)
    order = {spot.name: k for k, spot in enumerate(plan.spots)}
    place = np.array([order.get(check.where, 0) for check in checks])
    return Problem(task, State(), place, "circuit", tuple(check.id for check in checks))


def smaller(problem: Problem[State], causes: int, checks: int, looks: int) -> Problem[State] | None:
    """The problem cut down until its optimum can be worked out; None where too little is left.

    The most believed causes, the measurements that tell most of them apart and the likeliest looks
    are kept; the figures and costs stay as they are.
    """
    task = problem.task
    who = np.sort(np.argsort(-task.belief, kind="stable")[:causes])
    belief = task.belief[who] / task.belief[who].sum()
    chance = task.chance[:, who]
    tells = np.array([_told(belief, table) for table in chance])
    measured = [int(a) for a in np.argsort(-tells, kind="stable") if not task.ends[a]][:checks]
    hit = chance[:, :, 0] @ belief
    looked = [int(a) for a in np.argsort(-hit, kind="stable") if task.ends[a]][:looks]
    kept = np.array(sorted([*measured, *looked]))
    if len(who) < 3 or len(measured) < 2 or not looked:
        return None
    prices = Picked(task, kept)
    cut = Task(belief, task.group[who], chance[kept], task.ends[kept], prices, task.lost[who])
    words = tuple(problem.words[int(a)] for a in kept)
    return replace(problem, task=cut, place=problem.place[kept], words=words)


class Picked:
    """Prices of some of a problem's actions."""

    def __init__(self, task: Task[State], kept: np.ndarray[tuple[int], np.dtype[np.intp]]) -> None:
        self.prices, self.kept = task.prices, kept

    def minutes(self, state: State) -> Real:
        """(A,) minutes of the actions kept."""
        return np.asarray(self.prices.minutes(state)[self.kept], dtype=np.float64)

    def after(self, state: State, action: int) -> State:
        """The state once one of them has been done."""
        return self.prices.after(state, int(self.kept[action]))


def _told(belief: Real, table: Real) -> float:
    """Bits about the cause that an action settles."""
    joint = belief[:, None] * table
    share = joint.sum(axis=0, keepdims=True)
    ratio = joint / np.maximum(belief[:, None] * share, 1e-300)
    return math.fsum((joint * np.log2(np.where(joint > 0, ratio, 1.0))).ravel().tolist())
