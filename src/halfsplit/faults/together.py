"""Several conductors at one place as one fault: a cable pulled out or cut, an accessory hanging."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from halfsplit.faults.crossings import solid
from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.grids import opened
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import LIVE_KEYS, Elements, Scene, make, survey
from halfsplit.wiring.effects import Bridged
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH, Element, Plan

NEAR_BOX = (1e-12, 5e-12)  # S, F from a hanging accessory's parts to its box: judgement
TOUCHING = 0.3  # share of cut cables whose ends touch: judgement


def _keys(elements: Elements) -> tuple[str, ...]:
    return tuple(dict.fromkeys(e.conductor for e in elements))


def cables_off(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each end of each run with all of its cores out of their terminals."""
    scene = survey(installation, plan)
    for (place, name), joints in scene.landings.items():
        run = scene.runs[name]
        if len(joints) < 2:
            continue
        yield make(
            "cable off", f"{place} {name}", _keys(joints), (place,),
            opened(*(j.id for j in joints)),
            scene.weigh("cable off", place, run=name, times=_access(scene, place)),
            tuple(j.id for j in joints), joints[0].circuit, place=place, run=name,
            other=run.end if place == run.start else run.start,
            a=scene.sides(joints[0])[0], b=scene.sides(joints[0])[1],
        )  # fmt: skip


def _access(scene: Scene, place: str) -> float:
    """Push-in terminals let go of a whole cable when it is pulled; others hardly do."""
    words = scene.history(place)
    return 3.0 if any("push" in word for word in words) else 1.0


def cables_cut(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each run cut through, its ends apart or touching on the supply's side."""
    scene = survey(installation, plan)
    for name, run in scene.runs.items():
        cores = scene.cores(name)
        if len(cores) < 2:
            continue
        steps = opened(*(core.id for core in cores))
        pair = _touching(cores)
        if pair is not None:
            ends = solid(pair[0].a, pair[1].a)
            apart = steps[0].effects
            steps = (
                Severity("ends apart", apart, 1.0 - TOUCHING),
                Severity("ends touching", (*apart, ends), TOUCHING),
            )
        yield make(
            "cable cut", name, _keys(cores), (run.start, run.end), steps,
            scene.weigh("cable cut", run.start, run.end, run=name, times=scene.metres(name)),
            tuple(core.id for core in cores), cores[0].circuit, place=run.end, run=name,
            a=cores[0].a, b=cores[0].b, **{"from": run.start, "to": run.end},
        )  # fmt: skip


def _touching(cores: Elements) -> tuple[Element, Element] | None:
    """A line core and what its cut end touches: neutral, else the protective core."""
    line = next((c for c in cores if c.conductor in (*LIVE_KEYS, "SL")), None)
    other = next((c for key in ("N", "E") for c in cores if c.conductor == key), None)
    return (line, other) if line and other else None


def accessories_off(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each accessory with every core off it; spliced cores carry the circuit on past it."""
    scene = survey(installation, plan)
    for name, point in scene.points.items():
        tails = [scene.elements.get(f"pigtail {name} {key}") for key in point.conductors]
        off = tuple(tail for tail in tails if tail is not None)
        if not off:
            # With one cable it is that cable's end, which is a fault of its own.
            here = [joints for (place, _), joints in scene.landings.items() if place == name]
            off = tuple(j for joints in here for j in joints) if len(here) > 1 else ()
        if len(off) > 1:
            yield make(
                "accessory off", name, _keys(off), (name,), _hanging(name, off),
                scene.weigh("accessory off", name), tuple(j.id for j in off),
                scene.circuits[name].name, place=name, a=off[0].a, b=off[0].b,
            )  # fmt: skip


def _hanging(name: str, off: Elements) -> tuple[Severity, ...]:
    """Every core off, the accessory near its box: nothing else would hold its own parts."""
    near = tuple(Bridged(f"{name}.{key}", EARTH, *NEAR_BOX) for key in _keys(off) if key != "E")
    return tuple(
        replace(step, effects=step.effects + near) for step in opened(*(j.id for j in off))
    )


def ring_conductors_off(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each conductor of a ring with both of its cores out of one terminal, at a point or board."""
    scene = survey(installation, plan)
    for circuit in installation.circuits:
        if circuit.shape != "ring":
            continue
        for place in (circuit.board, *(p.name for p in circuit.points)):
            for key in ("L", "N", "E"):
                joints = [j for j in scene.joints_at(place, key) if j.circuit == circuit.name]
                if len(joints) < 2:
                    continue
                yield make(
                    "ring conductor off", f"{circuit.name} {place} {key}", (key,), (place,),
                    opened(*(j.id for j in joints)),
                    scene.weigh("ring conductor off", place,
                                times=scene.joint_factor(joints[0])),
                    tuple(j.id for j in joints), circuit.name, place=place, own=circuit.name,
                    a=scene.sides(joints[0])[0], b=scene.sides(joints[0])[1],
                )  # fmt: skip


FAMILIES = (
    Family(
        "cable off", "Whole {cable} out of its terminals",
        "At {place}, all cores of {run} ({conductors}) are out of their terminals.",
        rate("cable off").words, ("open joint", "cable cut", "accessory off", "device off"),
        "Isolate, prove dead, open {place}: each core of {run} should not pull out by hand.",
        "Every core is landed again: continuity, polarity and insulation of that {cable}.",
        cables_off,
    ),
    Family(
        "cable cut", "{cable} cut through",
        "The {cable} from {from} to {to} is cut through: {conductors} are parted together.",
        rate("cable cut").words, ("broken core", "cable off", "short in cable"),
        "Isolate, prove dead: no core has continuity from {from} to {to}; from either end the "
        "insulation or capacitance says how far away the cut is.",
        "The {cable} is joined or replaced: continuity of every core, insulation between all, "
        "polarity.", cables_cut,
    ),
    Family(
        "accessory off", "Accessory off its cores",
        "At {place}, every core is off the accessory ({conductors}).",
        rate("accessory off").words, ("cable off", "open joint", "contact open"),
        "Isolate, prove dead, and look behind {place}.",
        "The accessory is connected again: continuity, polarity, insulation there and that the "
        "points beyond work.", accessories_off,
    ),
    Family(
        "ring conductor off", "Both cores of a ring conductor off",
        "At {place}, both {conductors} cores of {own} are out of their terminal.",
        rate("ring conductor off").words, ("open joint", "broken core", "pole open"),
        "Isolate, prove dead, open {place}: both cores are seen loose; end to end the conductor "
        "reads right when they are held together.",
        "Both cores are landed: ring continuity of every conductor, polarity, loop.",
        ring_conductors_off,
    ),
)  # fmt: skip
