"""A site that is not quite what was written: longer, thinner, one point more, something left in."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from bench._trial_parts import scaled
from halfsplit.wiring.model import About, Circuit, Core, Installation, Load, Point, Run

LONGER = 0.25  # log spread of every length about what was written
THINNER = 0.12  # chance that a circuit's cable is a size other than written
SIZES = {2.5: (1.5, 4.0), 1.5: (1.0, 2.5), 1.0: (1.5,), 6.0: (4.0, 10.0), 3.31: (2.08,),
         2.08: (3.31,)}  # fmt: skip
LEFT_IN = 0.3  # chance of one appliance that nobody mentioned
MISSING = 0.15  # chance of a point that is not in the description
HIDDEN = "Hidden"
APPLIANCES = (("electronics", 60.0), ("electronics", 15.0), ("led", 5.0), ("heater", 900.0))


def unlike(
    written: Installation, random: Random
) -> tuple[Installation, dict[str, str], tuple[str, ...]]:
    """(the site, its names for parts that the description calls otherwise, what is unlike)."""
    words: list[str] = []
    circuits = [_stretched(circuit, random, words) for circuit in written.circuits]
    if random.random() < LEFT_IN:
        circuits = _left_in(circuits, random, words)
    alias: dict[str, str] = {}
    if random.random() < MISSING:
        circuits, alias = _one_more(circuits, random, words)
    return replace(written, circuits=tuple(circuits)), alias, tuple(words)


def _stretched(circuit: Circuit, random: Random, words: list[str]) -> Circuit:
    thin, pick = random.random() < THINNER, random.random()
    if thin:
        words.append("cable size")
    runs = []
    for run in circuit.runs:
        length = About(run.length.value * scaled(random, LONGER), run.length.spread)
        cores = tuple(_resized(core, pick) if thin else core for core in run.cores)
        runs.append(replace(run, length=length, cores=cores))
    return replace(circuit, runs=tuple(runs))


def _resized(core: Core, pick: float) -> Core:
    for size, others in SIZES.items():
        if abs(core.mm2 / size - 1) < 0.01:
            return replace(core, mm2=others[int(pick * len(others))])
    return core


def _left_in(circuits: list[Circuit], random: Random, words: list[str]) -> list[Circuit]:
    spots = [
        (k, p) for k, c in enumerate(circuits) for p in c.points
        if p.front and p.kind == "socket" and {"L", "N"} <= set(p.conductors)
    ]  # fmt: skip
    if not spots:
        return circuits
    k, point = random.choice(spots)
    kind, watts = random.choice(APPLIANCES)
    earthed = kind == "electronics" and "E" in point.conductors
    load = Load("left in", kind, About(watts), frame=earthed,
                filter_farads=2.2e-9 if earthed else 0.0)  # fmt: skip
    points = tuple(
        replace(p, loads=(*p.loads, load)) if p.name == point.name else p
        for p in circuits[k].points
    )
    words.append("left in")
    return [replace(c, points=points) if i == k else c for i, c in enumerate(circuits)]


def _one_more(
    circuits: list[Circuit], random: Random, words: list[str]
) -> tuple[list[Circuit], dict[str, str]]:
    """A socket in the middle of a run between two places, of which the description is silent."""
    able = [
        (k, run) for k, c in enumerate(circuits) for run in c.runs
        if c.shape in ("radial", "ring") and all(core.start == core.end for core in run.cores)
        and run.start != c.board and {"L", "N"} <= {core.start for core in run.cores}
    ]  # fmt: skip
    if not able:
        return circuits, {}
    k, run = random.choice(able)
    half = About(run.length.value / 2, run.length.spread)
    rest = f"{HIDDEN}–{run.end}"
    first = replace(run, end=HIDDEN, length=half)
    second = replace(run, name=rest, start=HIDDEN, length=half)
    runs: list[Run] = []
    for one in circuits[k].runs:
        runs += [first, second] if one.name == run.name else [one]
    keys = tuple(core.start for core in run.cores)
    circuit = circuits[k]
    points: list[Point] = []
    for point in circuit.points:
        if point.name == run.end:
            points.append(Point(HIDDEN, "socket", keys))
        points.append(point)
    if run.end == circuit.board:  # the way home of a ring
        points.append(Point(HIDDEN, "socket", keys))
    made = replace(circuit, runs=tuple(runs), points=tuple(points))
    alias = {}
    for key in keys:
        alias[f"{run.end}.{key}:{run.name}"] = f"{run.end}.{key}:{rest}"
        alias[f"joint {run.end} {key} {run.name}"] = f"joint {run.end} {key} {rest}"
    words.append("point missing")
    return [made if i == k else c for i, c in enumerate(circuits)], alias
