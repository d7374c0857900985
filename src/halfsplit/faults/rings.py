"""Rings: joined across, ends mixed with another ring's, two rings joined.

A ring open on one conductor is an open joint or a broken core; a spur on a spur is how the
circuit is described. Regions without rings have none to enumerate.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, permutations, product

from halfsplit.faults.crossings import parted, solid
from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.grids import either, once
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import Scene, make, survey
from halfsplit.wiring.effects import Bridged, Effect
from halfsplit.wiring.model import Circuit, Installation
from halfsplit.wiring.plan import Element, Plan, node

EXTRA_OHMS = {"L": 0.037, "N": 0.037, "E": 0.06}  # five metres of 2.5/1.5 mm² (IEC 60228)
KEYS = ("L", "N", "E")


def _rings(installation: Installation) -> tuple[Circuit, ...]:
    return tuple(c for c in installation.circuits if c.shape == "ring")


def _on_ring(circuit: Circuit) -> tuple[str, ...]:
    """The ring's own points in order; a spur's point has one run only."""
    ends = [place for run in circuit.runs for place in (run.start, run.end)]
    return tuple(p.name for p in circuit.points if ends.count(p.name) >= 2)


def _tied(one: str, two: str) -> tuple[Bridged, ...]:
    """A length of cable between two points, all conductors."""
    return tuple(Bridged(node(one, k), node(two, k), 1.0 / EXTRA_OHMS[k]) for k in KEYS)


def joined_across(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each two ring points, not neighbours, with a cable between them."""
    scene = survey(installation, plan)
    for ring in _rings(installation):
        names = _on_ring(ring)
        beside = {frozenset((run.start, run.end)) for run in ring.runs}
        for one, two in combinations(names, 2):
            if frozenset((one, two)) not in beside:
                yield make(
                    "ring joined across", f"{one} with {two}", KEYS, (one, two),
                    once("joined", *_tied(one, two)), scene.weigh("ring joined across", one, two),
                    (), ring.name, place=one, other=two, a=node(one, "L"), b=node(two, "L"),
                )  # fmt: skip


def _ends(scene: Scene, ring: Circuit) -> tuple[tuple[Element, ...], ...]:
    """The joints at the board of each of the ring's ends."""
    return tuple(
        scene.landings[ring.board, run.name]
        for run in ring.runs
        if (ring.board, run.name) in scene.landings
    )


def ends_exchanged(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """One end of each of two rings in the other's way; line only, or line and neutral."""
    scene = survey(installation, plan)
    for one, two in combinations(_rings(installation), 2):
        if one.board != two.board:
            continue
        for (i, mine), (j, other) in product(
            enumerate(_ends(scene, one), 1), enumerate(_ends(scene, two), 1)
        ):
            line, both = (_mixed(scene, mine, other, keys) for keys in (("L",), ("L", "N")))
            if not line:
                continue
            steps: tuple[Severity, ...] = once("line only", *line)
            if both != line:
                steps = either(steps, once("line and neutral", *both))
            own, others = (f"{c.name} ({e[0].run})" for c, e in ((one, mine), (two, other)))
            yield make(
                "rings exchanged", f"{one.name} end {i} with {two.name} end {j}", ("L", "N"),
                (one.board,), steps, scene.weigh("rings exchanged", one.board),
                tuple(e.id for e in (*mine, *other)), one.name, place=one.board, own=own,
                other=others,
                a=scene.sides(mine[0])[0], b=scene.sides(other[0])[1],
            )  # fmt: skip


def _mixed(
    scene: Scene, mine: tuple[Element, ...], other: tuple[Element, ...], keys: tuple[str, ...]
) -> tuple[Effect, ...]:
    effects: list[Effect] = []
    for x, y in product(mine, other):
        if x.conductor != y.conductor or x.conductor not in keys:
            continue
        (end, terminal), (end2, terminal2) = scene.sides(x), scene.sides(y)
        if terminal != terminal2:
            effects += [parted(x.id), parted(y.id), solid(end, terminal2), solid(end2, terminal)]
    return tuple(effects)


def rings_joined(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each ring point tied to another ring, near its start or its end."""
    scene = survey(installation, plan)
    for one, two in permutations(_rings(installation), 2):
        there = _on_ring(two)
        if not there:
            continue
        meets = dict.fromkeys((there[0], there[-1]))
        for name in _on_ring(one):
            yield make(
                "rings joined", f"{name} with {two.name}", KEYS, (name,),
                either(*(once("joined", *_tied(name, other)) for other in meets)),
                scene.weigh("rings joined", name, times=len(there)), (), one.name, place=name,
                other=two.name, a=node(name, "L"), b=node(there[0], "L"),
            )  # fmt: skip


FAMILIES = (
    Family(
        "ring joined across", "Ring joined across",
        "A {cable} joins the ring across, from {place} to {other}.",
        rate("ring joined across").words, ("rings joined", "loose joint", "open joint"),
        "Cross-connected at the {board}, the readings at the points do not agree; split the ring "
        "at {place} and measure again.",
        "The extra {cable} is taken out: end-to-end and cross-connected readings of all three "
        "conductors.", joined_across,
    ),
    Family(
        "rings exchanged", "Ring ends exchanged",
        "At {place}, one end of {own} and one of {other} are in each other's ways.",
        rate("rings exchanged").words, ("rings joined", "lines joined", "lines exchanged"),
        "With either device off both rings stay live; isolate both, prove dead, and measure each "
        "ring end to end.",
        "The ends are put back: ring continuity of both circuits, polarity, loop.",
        ends_exchanged,
    ),
    Family(
        "rings joined", "Two rings joined",
        "The ring at {place} is joined to {other}.",
        rate("rings joined").words,
        ("ring joined across", "rings exchanged", "lines joined", "neutrals joined"),
        "With either device off both rings stay live; isolate both, prove dead: continuity "
        "between the two circuits.",
        "The rings are parted: ring continuity of both, insulation between them, loop.",
        rings_joined,
    ),
)  # fmt: skip
