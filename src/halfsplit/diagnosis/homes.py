"""Where nobody knows which circuit feeds a point: the installations it may be.

A point that may be on several circuits is taken off the one it is drawn on, whose cables close up
behind it, and hung on the end of another that has its conductors; from the board itself where
that other feeds nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from halfsplit.wiring.model import About, Circuit, Installation, Point, Run

MOST_HOMES = 5  # installations beside the one drawn that are worth their time


def homes(installation: Installation) -> tuple[Installation, ...]:
    """The installation as drawn, then with each unsure point, or all of them, on another circuit.

    Alike likely: judgement. A place that would leave a cable end bare, or want a conductor that is
    not there, is left out.
    """
    unsure = [p for p in installation.points() if p.may_be_on]
    sets: list[Sequence[Point]] = [[p] for p in unsure]
    sets += [some for k in range(2, len(unsure) + 1) for some in combinations(unsure, k)][::-1]
    found = [installation]
    for some in sets:
        for name in dict.fromkeys(name for p in some for name in p.may_be_on):
            moved = _all_on(installation, [p for p in some if name in p.may_be_on], name)
            if moved is not None and moved not in found:
                found.append(moved)
    return tuple(found[: MOST_HOMES + 1])


def unsure_runs(installation: Installation) -> Iterator[Run]:
    """Cables that stand otherwise on other circuits: their ends are not to be claimed."""
    unsure = [p for p in installation.points() if p.may_be_on]
    names = {p.name for p in unsure}
    concerned = {name for p in unsure for name in p.may_be_on}
    for circuit in installation.circuits:
        if concerned & {circuit.name} or names & {p.name for p in circuit.points}:
            yield from circuit.runs


def _all_on(installation: Installation, points: Sequence[Point], name: str) -> Installation | None:
    moved: Installation | None = installation
    for point in points:
        moved = _moved(moved, point, name) if moved is not None else None
    return moved


def _moved(installation: Installation, point: Point, name: str) -> Installation | None:
    """The point on the circuit of that name; None where the wiring as drawn forbids it."""
    own = next(c for c in installation.circuits if point in c.points)
    other = next((c for c in installation.circuits if c.name == name), None)
    left = _without(own, point)
    if other is None or left is None or other is own:
        return None
    feed = next(run for run in own.runs if run.end == point.name)
    keys = {core.end for core in feed.cores}
    here = next((p.name for p in reversed(other.points) if keys <= {*p.conductors}), "")
    if not here and (other.points or keys - {*(k for k, _ in other.legs), "N", "E"}):
        return None
    start = here or other.board
    cores = tuple(replace(core, start=core.end) for core in feed.cores)
    run = replace(feed, name=f"{start}–{point.name}", start=start, cores=cores)
    joined = replace(other, runs=(*other.runs, run), points=(*other.points, point))
    return installation.with_circuit(left).with_circuit(joined)


def _without(circuit: Circuit, point: Point) -> Circuit | None:
    """The circuit with its cables joined past the point; None where they would not meet."""
    into = [run for run in circuit.runs if run.end == point.name]
    out = [run for run in circuit.runs if run.start == point.name]
    if len(into) != 1 or len(out) > 1 or circuit.shape == "ring":
        return None
    runs = [run for run in circuit.runs if run not in (*into, *out)]
    if out:
        if [core.end for core in into[0].cores] != [core.start for core in out[0].cores]:
            return None
        past = _past(into[0], out[0])
        runs.insert(circuit.runs.index(into[0]), past)
    points = tuple(p for p in circuit.points if p != point)
    return replace(circuit, runs=tuple(runs), points=points)


def _past(into: Run, out: Run) -> Run:
    cores = tuple(
        replace(core, start=before.start)
        for before, core in zip(into.cores, out.cores, strict=True)
    )
    length = About(into.length.value + out.length.value, max(into.length.spread, out.length.spread))
    name = f"{into.start}–{out.end}"
    return replace(out, name=name, start=into.start, length=length, cores=cores)
