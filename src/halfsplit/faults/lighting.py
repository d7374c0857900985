"""Lighting: lights wired in series, and a light on the permanent line past its switch."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from halfsplit.faults.crossings import parted, solid
from halfsplit.faults.fault import Family, Fault
from halfsplit.faults.grids import once
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import LIVE_KEYS, Scene, far_end, isolate, make, survey
from halfsplit.faults.words import joined
from halfsplit.wiring.effects import Effect
from halfsplit.wiring.model import Circuit, Installation
from halfsplit.wiring.plan import LoadPort, Plan, node

LAMPS = ("filament", "led", "fluorescent")
STRINGS = (2, 3, 4)  # lights in a row that somebody may have strung together, or all of them:
LONGEST_STRING = 8  # a longer one hardly glows, so nobody leaves it so
PART_OF_STRING = 0.3  # three and more, but not all: judgement


def _lights(plan: Plan, circuit: Circuit) -> list[LoadPort]:
    """What is fixed at each light of a circuit, one load to a place, in order."""
    fixed = {p.name: p.kind for p in circuit.points if not p.front}
    lights = (
        load for load in plan.loads
        if load.place in fixed and (load.kind in LAMPS or fixed[load.place] == "light")
    )  # fmt: skip
    return list({load.place: load for load in reversed(list(lights))}.values())[::-1]


def lamps_in_series(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each two or more lights in a row, every one fed from the neutral side of the one before."""
    scene = survey(installation, plan)
    for circuit in installation.circuits:
        lights = _lights(plan, circuit)
        for i, j in combinations(range(len(lights) + 1), 2):
            string = lights[i:j]
            whole = len(string) == len(lights) <= LONGEST_STRING
            if len(string) not in STRINGS and not (whole and len(string) > 1):
                continue
            effects, parts = _strung(scene, string)
            if not effects:
                continue
            places = tuple(load.place for load in string)
            yield make(
                "lamps in series", " with ".join(load.id for load in string), ("N",), places,
                once("in series", *effects),
                scene.weigh("lamps in series", *places,
                            times=1.0 if whole or len(string) == 2 else PART_OF_STRING),
                parts, circuit.name, place=places[0], how=joined(places), load=string[0].id,
                a=node(places[0], "N"), b=string[1].a,
            )  # fmt: skip


def _strung(scene: Scene, string: list[LoadPort]) -> tuple[tuple[Effect, ...], tuple[str, ...]]:
    """(effects, joints parted) of a string of lights in series; none where one cannot be."""
    effects: list[Effect] = []
    parts: list[str] = []
    for one, two in pairwise(string):
        back, fed = (scene.fed_by(end) for end in (one.b, two.a))
        if back != "N" or not fed:
            return (), ()
        left, _, off = isolate(scene, one.place, "N")
        right, _, more = isolate(scene, two.place, fed)
        if not left or not right:
            return (), ()
        effects += [*left, *right, solid(node(one.place, "N"), node(two.place, fed))]
        parts += [*off, *more]
    return tuple(effects), tuple(parts)


def on_permanent_lines(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each switched light with its line on the permanent one, its switch left with nothing."""
    scene = survey(installation, plan)
    for circuit in installation.circuits:
        for load in _lights(plan, circuit):
            if scene.fed_by(load.a) != "SL":
                continue
            effects, line, parts = _past_switch(scene, load)
            if effects:
                yield make(
                    "light on permanent line", load.id, ("SL",), (load.place,),
                    once("past its switch", *effects),
                    scene.weigh("light on permanent line", load.place), parts, circuit.name,
                    place=load.place, load=load.id, a=load.a, b=line,
                )  # fmt: skip


def _past_switch(scene: Scene, load: LoadPort) -> tuple[tuple[Effect, ...], str, tuple[str, ...]]:
    """Effects, the permanent line it sits on, joints parted: at the light, else at its switch."""
    here = next((k for k in scene.points[load.place].conductors if k in LIVE_KEYS), "")
    if here:
        line, flex = node(load.place, here), f"flex {load.id} SL"
        return (parted(flex), solid(load.a, line)), line, (flex,)
    far = far_end(scene, load.place, "SL")
    if far is None:
        return (), "", ()
    joint, end = far
    origin = scene.points.get(joint.at[0])
    live = next((k for k in origin.conductors if k in LIVE_KEYS), "") if origin else ""
    if not live or origin is None:
        return (), "", ()
    line = node(origin.name, live)
    return (parted(joint.id), solid(end, line)), line, (joint.id,)


FAMILIES = (
    Family(
        "lamps in series", "Lights wired in series",
        "The lights at {how} are wired one after the other.",
        rate("lamps in series").words, ("loose joint", "supply voltage", "supply neutral poor"),
        "Taking one lamp out puts them all out; each has part of the supply across it.",
        "The lights are reconnected: polarity, continuity, each lamp alone.", lamps_in_series,
    ),
    Family(
        "light on permanent line", "Light past its switch",
        "{load} at {place} is on the permanent {line}, at {b}: its switch does nothing.",
        rate("light on permanent line").words,
        ("switch bridged", "crossed between cables", "switch left"),
        "Work the switch: the light stays on while the volts on the switched conductor come and "
        "go, or nothing is found on it.",
        "The light is put on the switched {line}: every switch position, polarity.",
        on_permanent_lines,
    ),
)  # fmt: skip
