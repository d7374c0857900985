"""Crossed conductors: at a run's end, at one accessory only, between two cables, at a plug."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, product

from halfsplit.faults.fault import Family, Fault
from halfsplit.faults.grids import once
from halfsplit.faults.rates import pair_factor, rate
from halfsplit.faults.scene import LIVE_KEYS, Scene, make, survey
from halfsplit.faults.words import joined
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.model import Board, Circuit, Installation
from halfsplit.wiring.plan import Element, Plan, node


def solid(a: str, b: str) -> Bridged:
    """A solid connection between two nodes."""
    return Bridged(a, b, math.inf)


def parted(element: str) -> Added:
    """An element open."""
    return Added(element, math.inf)


def swapped(x: tuple[Element, str, str], y: tuple[Element, str, str]) -> tuple[Effect, ...]:
    """Two conductors landed on each other's terminals: two opens and two solid bridges.

    Each is (joint, moving end, terminal). Where both moving ends share a terminal (one bar) there
    is nothing to cross and the result is empty.
    """
    (joint, end, terminal), (joint2, end2, terminal2) = x, y
    if terminal == terminal2 or end == end2:
        return ()
    return (parted(joint.id), parted(joint2.id), solid(end, terminal2), solid(end2, terminal))


def _crossed(
    scene: Scene, family: str, row: str, place: str, one: Element, two: Element, times: float = 1.0
) -> Iterator[Fault]:
    first, second = ((j, *scene.sides(j)) for j in (one, two))
    effects = swapped(first, second)
    if not effects or one.conductor == two.conductor:
        return
    weight = pair_factor(one.conductor, two.conductor) * times
    yield make(
        family, f"{one.id} with {two.id}", (one.conductor, two.conductor), (place,),
        once("crossed", *effects), scene.weigh(row, place, run=one.run, times=weight),
        (one.id, two.id), one.circuit, place=place, run=one.run, other=two.run,
        how=f"the cable {one.run}", a=first[1], b=second[2],
    )  # fmt: skip


# A whole circuit crossed at its board is noticed the day it is energised, which may be today:
# judgement.
AT_HOME = 0.3


def _at_home(scene: Scene, board: str, circuit: str = "") -> float:
    return float(AT_HOME ** scene.untouched(board, circuit))


def crossed_at_run_ends(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each pair of cores of each run, exchanged at either end: it and all beyond are crossed;
    and line with neutral of every circuit of a board, or of its tails, by one mistake."""
    scene = survey(installation, plan)
    for (place, run), joints in scene.landings.items():
        home = place == scene.runs[run].start and place not in scene.points
        for one, two in combinations(joints, 2):
            yield from _crossed(
                scene, "crossed at run end", "crossed at run end", place, one, two,
                _at_home(scene, place, one.circuit) if home else 1.0,
            )  # fmt: skip
    for board in installation.boards:
        yield from _crossed_board(scene, board)


def _crossed_board(scene: Scene, board: Board) -> Iterator[Fault]:
    """Line with neutral, of all circuits on one line of a board and of all of them; of its tails.

    Whoever takes one colour for the other does so at every way.
    """
    by_line: dict[str, list[Circuit]] = {}
    for circuit in scene.installation.circuits:
        if circuit.board == board.name and len(circuit.legs) == 1:
            by_line.setdefault(circuit.legs[0][1], []).append(circuit)
    sets = list(by_line.values())
    if len(sets) > 1:
        sets.append([circuit for some in sets for circuit in some])
    for circuits in sets:
        pairs = [pair for circuit in circuits for pair in _ends_at_board(scene, circuit)]
        names = tuple(dict.fromkeys(one[0].circuit for one, _ in pairs))
        if len(names) > 1:
            yield _all_crossed(scene, board, pairs, f"the circuits {joined(names)}")
    tails = {e.conductor: (e, e.a, e.b) for e in scene.kind("joint")
             if e.id.startswith("tail ") and e.at == (board.name,)}  # fmt: skip
    for key in LIVE_KEYS:
        if key in tails:
            yield _all_crossed(scene, board, [(tails[key], tails["N"])], "the tails")


End = tuple[Element, str, str]  # (joint, moving end, terminal)


def _ends_at_board(scene: Scene, circuit: Circuit) -> Iterator[tuple[End, End]]:
    """Line and neutral of each run of a circuit where it lands at its board."""
    for run in circuit.runs:
        joints = {j.conductor: j for j in scene.landings.get((circuit.board, run.name), ())}
        line, neutral = joints.get(circuit.legs[0][0]), joints.get("N")
        if line is not None and neutral is not None:
            yield (line, *scene.sides(line)), (neutral, *scene.sides(neutral))


def _all_crossed(scene: Scene, board: Board, pairs: list[tuple[End, End]], what: str) -> Fault:
    effects = tuple(effect for pair in pairs for effect in swapped(*pair))
    one, two = pairs[0]
    keys = tuple(dict.fromkeys((*(line[0].conductor for line, _ in pairs), "N")))
    return make(
        "crossed at run end", f"{board.name} {'-'.join(keys)} of {what}", keys, (board.name,),
        once("crossed", *effects),
        scene.weigh("crossed at run end", board.name, times=_at_home(scene, board.name)),
        tuple(end[0].id for pair in pairs for end in pair), place=board.name, how=what,
        a=one[1], b=two[2],
    )  # fmt: skip


def crossed_between_cables(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """At lighting points and switches: cores of two cables on each other's terminals."""
    scene = survey(installation, plan)
    for name, point in scene.points.items():
        if not (point.switches or {"SL", "T1"} & set(point.conductors)):
            continue
        here = [joints for (place, _), joints in scene.landings.items() if place == name]
        for one_cable, two_cable in combinations(here, 2):
            for one, two in product(one_cable, two_cable):
                if "E" not in (one.conductor, two.conductor):
                    yield from _crossed(
                        scene, "crossed between cables", "crossed between cables", name, one, two
                    )


def _moved(
    scene: Scene, place: str, onto: dict[str, str]
) -> tuple[tuple[Effect, ...], tuple[str, ...]]:
    """Every core of some conductors on other terminals of its place: (effects, joints parted)."""
    effects: list[Effect] = []
    parts: list[str] = []
    for key, other in onto.items():
        for joint in scene.joints_at(place, key):
            effects += [parted(joint.id), solid(scene.sides(joint)[0], node(place, other))]
            parts.append(joint.id)
    return tuple(effects), tuple(parts)


def _two_ways(scene: Scene) -> Iterator[tuple[str, str, str, str]]:
    """(place, common, strapper, strapper) of each switch with one common and two strappers."""
    for name, point in scene.points.items():
        for switch in point.switches:
            ends = [{c.a, c.b} for c in switch.contacts]
            common = set.intersection(*ends) if len(ends) == 2 else set()
            if len(common) == 1 and len(set.union(*ends)) == 3:
                one, two = sorted(set.union(*ends) - common)
                yield name, common.pop(), one, two


def switch_terminals_mixed(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """All three cores of a two-way switch moved round; or, at two switches alike, the common
    exchanged with a strapper. (A single exchange is a pair of crossed cores.)"""
    scene = survey(installation, plan)
    switches = list(_two_ways(scene))
    for place, common, one, two in switches:
        for a, b in ((one, two), (two, one)):
            effects, parts = _moved(scene, place, {common: a, a: b, b: common})
            yield _mixed_up(scene, (place,), (common, a, b), effects, parts,
                            "all three moved round, each to the next one's")  # fmt: skip
    for first, second in combinations(switches, 2):
        if scene.circuits[first[0]] is not scene.circuits[second[0]] or first[0] == second[0]:
            continue
        for a, b in product(first[2:], second[2:]):
            left, parts = _moved(scene, first[0], {first[1]: a, a: first[1]})
            right, more = _moved(scene, second[0], {second[1]: b, b: second[1]})
            yield _mixed_up(
                scene, (first[0], second[0]), (first[1], a, second[1], b), (*left, *right),
                (*parts, *more), f"common with strapper, and likewise at {second[0]}",
            )  # fmt: skip


def _mixed_up(
    scene: Scene, places: tuple[str, ...], keys: tuple[str, ...], effects: tuple[Effect, ...],
    parts: tuple[str, ...], how: str,
) -> Fault:  # fmt: skip
    first = places[0]
    return make(
        "switch terminals mixed", f"{' and '.join(places)} {' '.join(keys)}", keys, places,
        once("mixed up", *effects),
        scene.weigh("switch terminals mixed", *places, times=1.0 if len(places) == 1 else 0.5),
        parts, scene.circuits[first].name, place=first, how=how, a=node(first, keys[0]),
        b=node(first, keys[1]),
    )  # fmt: skip


def crossed_fronts(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each pair of conductors exchanged at one accessory only; the points beyond are right."""
    scene = survey(installation, plan)
    fronts: dict[str, list[Element]] = {}
    for e in plan.elements:
        if e.kind == "contact" or (e.id.startswith("pigtail ") and not scene.points[e.at[0]].front):
            fronts.setdefault(e.at[0], []).append(e)
    for place, contacts in fronts.items():
        for one, two in combinations(contacts, 2):
            effects = swapped((one, one.b, one.a), (two, two.b, two.a))
            weight = pair_factor(one.conductor, two.conductor)
            yield make(
                "crossed front", f"{place} {one.conductor}-{two.conductor}",
                (one.conductor, two.conductor), (place,), once("crossed", *effects),
                scene.weigh("crossed front", place, times=weight), (one.id, two.id), one.circuit,
                place=place, a=one.b, b=two.a,
            )  # fmt: skip


def crossed_flexes(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """At the plug of an earthed appliance: the protective conductor with line or neutral."""
    scene = survey(installation, plan)
    flexes: dict[str, list[Element]] = {}
    for e in scene.kind("flex"):
        flexes.setdefault(e.b.rsplit(":", 1)[0], []).append(e)
    for load, cords in flexes.items():
        earth = next((c for c in cords if c.b.endswith(":frame")), None)
        for cord in cords if earth else ():
            if earth is None or cord is earth:
                continue
            effects = swapped((cord, cord.b, cord.a), (earth, earth.b, earth.a))
            yield make(
                "crossed flex", f"{load} {cord.conductor}-{earth.conductor}",
                (cord.conductor, earth.conductor), cord.at, once("crossed", *effects),
                scene.weigh("crossed flex", *cord.at), (cord.id, earth.id), cord.circuit,
                place=cord.at[0], load=load, a=cord.b, b=earth.a,
            )  # fmt: skip


def strapped_earths(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """An outlet's earth contact strapped to its neutral, none arriving; plain and reversed."""
    scene = survey(installation, plan)
    for name, point in scene.points.items():
        if not point.front or not {"N", "E"} <= set(point.conductors):
            continue
        line = next((key for key in LIVE_KEYS if key in point.conductors), "")
        earth, neutral = (f"front {name} {key}" for key in ("E", "N"))
        if line == "" or earth not in scene.elements or neutral not in scene.elements:
            continue
        strap = (
            parted(earth),
            solid(node(name, "E", "front"), node(name, "N", "front")),
        )
        reverse = swapped(
            *(
                (e, e.b, e.a)
                for e in (scene.elements[f"front {name} {line}"], scene.elements[neutral])
            )
        )
        plain, both = ("N", "E"), (line, "N", "E")
        for how, keys, effects, share in (
            ("plain", plain, strap, 0.75),
            ("reversed", both, strap + reverse, 0.25),
        ):
            yield make(
                "strapped earth", f"{name} {how}", keys,
                (name,), once(how, *effects), scene.weigh("strapped earth", name, times=share),
                (earth, neutral), scene.circuits[name].name, place=name, how=how,
                a=node(name, "N", "front"), b=node(name, "E", "front"),
            )  # fmt: skip


def links_left_in(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """An outlet with two live conductors whose link between the halves was not broken off."""
    scene = survey(installation, plan)
    for name, point in scene.points.items():
        lives = [key for key in point.conductors if key in LIVE_KEYS or key == "SL"]
        if point.switches or not point.front or len(lives) < 2:
            continue
        for one, two in combinations(lives, 2):
            a, b = node(name, one), node(name, two)
            yield make(
                "link left in", f"{name} {one}-{two}", (one, two), (name,),
                once("joined", solid(a, b)), scene.weigh("link left in", name),
                tuple(j.id for key in (one, two) for j in scene.joints_at(name, key)),
                scene.circuits[name].name, place=name, a=a, b=b,
            )  # fmt: skip


FAMILIES = (
    Family(
        "crossed at run end",
        "Crossed cores at a cable end",
        "{conductors} of {how} are exchanged at {place}: {a} is on the terminal of the other, so "
        "{place} and all beyond it are crossed.",
        rate("crossed at run end").words,
        ("crossed front", "open joint", "strapped earth", "supply reversed"),
        "Isolate, prove dead: long-lead continuity of each conductor from the {board} to {place}. "
        "Live, each against an independent {earth} at a front.",
        "The cores are put back: polarity and continuity at {place} and at every point beyond.",
        crossed_at_run_ends,
    ),
    Family(
        "crossed front",
        "Crossed at one accessory",
        "{conductors} are exchanged at the accessory at {place} only; the points beyond are right.",
        rate("crossed front").words,
        ("crossed at run end", "strapped earth", "open joint"),
        "Only {place} reads crossed: the next point fed through it reads right.",
        "The accessory is reconnected: polarity and continuity at {place}.",
        crossed_fronts,
    ),
    Family(
        "crossed between cables",
        "Cores of two cables exchanged",
        "At {place}, {conductors} of the {cable}s {run} and {other} are on each other's terminals.",
        rate("crossed between cables").words,
        ("switched neutral", "switch bridged", "crossed at run end"),
        "Work the switches through every position and read the lamp's terminals in each.",
        "The cores are put back: every switch position, polarity, continuity.",
        crossed_between_cables,
    ),
    Family(
        "switch terminals mixed",
        "Two-way switch terminals mixed up",
        "At {place}, {conductors} are on each other's switch terminals: {how}.",
        rate("switch terminals mixed").words,
        ("crossed between cables", "switch bridged", "switch stuck open"),
        "Work both switches through all four positions and note each; isolate, prove dead, and "
        "see which core each common terminal holds.",
        "The cores are put back: all switch positions, polarity, continuity.",
        switch_terminals_mixed,
    ),
    Family(
        "crossed flex",
        "Plug wired wrongly",
        "{conductors} are exchanged in the plug of {load} at {place}.",
        rate("crossed flex").words,
        ("line to frame", "neutral to frame", "crossed front"),
        "Unplug it: the outlet reads right, and continuity from plug to frame is on the wrong pin.",
        "The plug is rewired: continuity of the {cpc}, insulation of the appliance.",
        crossed_flexes,
    ),
    Family(
        "strapped earth",
        "Neutral strapped to {earth} at an outlet",
        "At {place} the {earth} contact is strapped to neutral instead of a {cpc} ({how}).",
        rate("strapped earth").words,
        ("crossed front", "short at point", "crossed at run end"),
        "A plug tester passes it. Isolate, prove dead, and part the neutral: {earth} continuity "
        "goes with it; or open the box and look.",
        "A {cpc} is brought, or the outlet made one without: continuity, polarity, loop.",
        strapped_earths,
    ),
    Family(
        "link left in",
        "Link between the halves left in",
        "At {place} the link between {conductors} was not broken off.",
        rate("link left in").words,
        ("switch bridged", "lines joined", "short at point"),
        "Isolate, prove dead, disconnect: continuity between the two halves' terminals.",
        "The link is broken off or the {socket} changed: both feeds apart, polarity.",
        links_left_in,
    ),
)
