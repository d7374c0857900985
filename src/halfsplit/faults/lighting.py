"""Lighting: the switch in the neutral, and lights wired in series."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from halfsplit.faults.crossings import parted, solid
from halfsplit.faults.fault import Family, Fault
from halfsplit.faults.grids import once
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import LIVE_KEYS, Scene, isolate, make, survey
from halfsplit.wiring.effects import Effect
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Element, LoadPort, Plan, node

LAMPS = ("filament", "led", "fluorescent")


def switched_neutrals(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each switch that is fed from line, fed from neutral instead; its lamps have line for good."""
    scene = survey(installation, plan)
    for place, point in scene.points.items():
        for switch in point.switches:
            feeds = {c.a for c in switch.contacts if c.a in LIVE_KEYS}
            for feed in sorted(feeds):
                goes = tuple(c.b for c in switch.contacts if c.a == feed)
                effects = _in_neutral(scene, place, feed, goes)
                if effects:
                    yield make(
                        "switched neutral", f"{switch.name} at {place}", (feed, "N"), (place,),
                        once("in the neutral", *effects), scene.weigh("switched neutral", place),
                        tuple(j.id for j in scene.joints_at(place, feed)),
                        scene.circuits[place].name, place=place, device=switch.name,
                        a=node(place, feed), b=node(place, "N"),
                    )  # fmt: skip


def _in_neutral(scene: Scene, place: str, feed: str, goes: tuple[str, ...]) -> tuple[Effect, ...]:
    """Effects that put a switch's feed on neutral and its lamps' neutral side on line; or none."""
    lamps = _served(scene, {node(place, key) for key in goes})
    if not lamps:
        return ()
    swap = _Swap(scene, place, feed, tuple(dict.fromkeys(lamp.place for lamp in lamps)))
    for lamp in swap.lamps:
        if not swap.liven(lamp):
            return ()
    return tuple(swap.effects) if swap.feed_from_neutral() else ()


def _served(scene: Scene, reached: set[str]) -> list[LoadPort]:
    """Loads on the switched conductors that begin at these nodes."""
    ways = [
        e
        for e in scene.plan.elements
        if e.kind in ("joint", "core", "switch", "flex", "link", "contact")
        and not ({_key(e.a), _key(e.b)} & {"L", "L1", "L2", "L3", "N", "E"})
    ]
    grew = True
    while grew:
        more = {n for e in ways if (e.a in reached) != (e.b in reached) for n in (e.a, e.b)}
        grew = not more <= reached
        reached = reached | more
    return [load for load in scene.plan.loads if load.a in reached or load.b in reached]


def _key(name: str) -> str:
    """The conductor key of a node, "" for a load's own."""
    end = name.rsplit(".", 1)[-1] if "." in name else ""
    return end.split(":", 1)[0]


class _Swap:
    """Collects the effects of feeding a switch from neutral and its lamps from line."""

    def __init__(self, scene: Scene, place: str, feed: str, lamps: tuple[str, ...]) -> None:
        self.scene, self.place, self.feed, self.lamps = scene, place, feed, lamps
        self.effects: list[Effect] = []
        self.neutral: dict[str, str] = {}  # where the neutral is found once a lamp left it
        self.line = node(place, feed)
        self.at_switch = "N" in scene.points[place].conductors
        if self.at_switch:
            effects, self.line, _ = isolate(scene, place, feed)
            self.effects += effects

    def liven(self, lamp: str) -> bool:
        """Move a lamp's neutral side to line, here or where its neutral core starts."""
        scene = self.scene
        fed_on = tuple(n for n in self.lamps if n != lamp and not self._has_line(n))
        if self._has_line(lamp):
            keep = tuple(
                r for r, run in scene.runs.items() if run.start == lamp and run.end in fed_on
            )
            effects, net, _ = isolate(scene, lamp, "N", keep)
            self.neutral[lamp] = net
            line = self.line if lamp == self.place else node(lamp, self.feed)
            self.effects += [*effects, solid(node(lamp, "N"), line)]
            return bool(effects)
        at = lamp
        for _ in self.scene.runs:  # back along the neutral to where the line is beside it
            far = self._far(at, "N")
            if far is None:
                return False
            joint, end = far
            at = joint.at[0]
            if at in self.lamps:
                return True  # it follows the lamp it is fed from
            if at == self.place or (at in scene.points and self._has_line(at)):
                line = self.line if at == self.place else node(at, self.feed)
                self.effects += [parted(joint.id), solid(end, line)]
                return True
        return False

    def feed_from_neutral(self) -> bool:
        """Put the switch's feed on neutral, at the switch or where its feed starts."""
        if self.at_switch:
            neutral = self.neutral.get(self.place, node(self.place, "N"))
            self.effects.append(solid(node(self.place, self.feed), neutral))
            return True
        far = self._far(self.place, self.feed)
        if far is None:
            return False
        joint, end = far
        origin = joint.at[0]
        if origin not in self.scene.points or "N" not in self.scene.points[origin].conductors:
            return False
        neutral = self.neutral.get(origin, node(origin, "N"))
        self.effects += [parted(joint.id), solid(end, neutral)]
        return True

    def _has_line(self, place: str) -> bool:
        return self.feed in self.scene.points[place].conductors

    def _far(self, place: str, key: str) -> tuple[Element, str] | None:
        """The joint, and the core's end, at the place that the core of ``key`` here comes from."""
        for joint in self.scene.joints_at(place, key):
            here = self.scene.sides(joint)[0]
            core = next(c for c in self.scene.cores(joint.run) if here in (c.a, c.b))
            there = core.a if core.b == here else core.b
            run = self.scene.runs[joint.run]
            origin = run.start if run.end == place else run.end
            for far in self.scene.landings.get((origin, joint.run), ()):
                if there in (far.a, far.b):
                    return far, there
        return None


def lamps_in_series(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each two neighbouring lights with the second fed from the first one's neutral side."""
    scene = survey(installation, plan)
    keys = {e.b: e.conductor for e in scene.kind("flex")}
    for circuit in installation.circuits:
        fixed = {point.name for point in circuit.points if not point.front}
        lamps = [load for load in plan.loads if load.place in fixed and load.kind in LAMPS]
        for one, two in pairwise(lamps):
            fed = keys.get(two.a, "")
            if one.place == two.place or not fed or keys.get(one.b) != "N":
                continue
            left, _, parts = isolate(scene, one.place, "N")
            right, _, more = isolate(scene, two.place, fed)
            if left and right:
                middle = solid(node(one.place, "N"), node(two.place, fed))
                yield make(
                    "lamps in series", f"{one.id} with {two.id}", ("N", fed),
                    (one.place, two.place), once("in series", *left, *right, middle),
                    scene.weigh("lamps in series", one.place, two.place), (*parts, *more),
                    circuit.name, place=one.place, other=two.place, load=one.id,
                    a=node(one.place, "N"), b=node(two.place, fed),
                )  # fmt: skip


FAMILIES = (
    Family(
        "switched neutral", "Switch in the neutral",
        "{device} at {place} parts the neutral, not the {line}: its lamps stay live when off.",
        rate("switched neutral").words,
        ("crossed at run end", "crossed between cables", "switch bridged"),
        "Switched off, the lamp's terminals both stand at {line} against an independent {earth}; "
        "prove dead at the {board}, not at the switch, before touching.",
        "The switch is moved to the {line}: polarity at the switch and every lamp it serves, "
        "continuity.", switched_neutrals,
    ),
    Family(
        "lamps in series", "Lights wired in series",
        "The lights at {place} and {other} are wired one after the other.",
        rate("lamps in series").words, ("loose joint", "supply voltage", "supply neutral poor"),
        "Taking one lamp out puts both out; each has part of the supply across it.",
        "The lights are reconnected: polarity, continuity, each lamp alone.", lamps_in_series,
    ),
)  # fmt: skip
