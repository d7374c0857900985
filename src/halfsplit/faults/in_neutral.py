"""A switch or a device in the neutral: what it feeds stays live when it is off."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.faults.crossings import parted, solid
from halfsplit.faults.fault import Family, Fault
from halfsplit.faults.grids import once
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import LIVE_KEYS, Scene, far_end, isolate, make, survey
from halfsplit.wiring.effects import Effect
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import LoadPort, Plan, node


def switched_neutrals(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each switch, and each single-pole device at a point, that parts neutral instead of line."""
    scene = survey(installation, plan)
    for place, point in scene.points.items():
        for switch in point.switches:
            feeds = {c.a for c in switch.contacts if c.a in LIVE_KEYS}
            for feed in sorted(feeds):
                goes = tuple(c.b for c in switch.contacts if c.a == feed)
                effects = _in_neutral(scene, place, feed, goes)
                if effects:
                    parts = tuple(j.id for j in scene.joints_at(place, feed))
                    yield _fault(scene, place, switch.name, feed, effects, parts)
        device = point.device
        if device is not None and "N" not in device.poles and "N" in point.conductors:
            for feed in (key for key in device.poles if key in point.conductors):
                effects, parts = _device_in_neutral(scene, place, feed)
                if effects:
                    yield _fault(scene, place, device.name, feed, effects, parts)


def _fault(
    scene: Scene, place: str, device: str, feed: str, effects: tuple[Effect, ...],
    parts: tuple[str, ...],
) -> Fault:  # fmt: skip
    return make(
        "switched neutral", f"{device} at {place}", (feed, "N"), (place,),
        once("in the neutral", *effects), scene.weigh("switched neutral", place), parts,
        scene.circuits[place].name, place=place, device=device, a=node(place, feed),
        b=node(place, "N"),
    )  # fmt: skip


def _in_neutral(scene: Scene, place: str, feed: str, goes: tuple[str, ...]) -> tuple[Effect, ...]:
    """Effects that put a switch's feed on neutral and its lamps' neutral side on line; or none."""
    lamps = _served(scene, {node(place, key) for key in goes})
    if not lamps:
        return _outlets_in_neutral(scene, place, feed, goes)
    swap = _Swap(scene, place, feed, tuple(dict.fromkeys(lamp.place for lamp in lamps)))
    for lamp in swap.lamps:
        if not swap.liven(lamp):
            return ()
    return tuple(swap.effects) if swap.feed_from_neutral() else ()


def _outlets_in_neutral(
    scene: Scene, place: str, feed: str, goes: tuple[str, ...]
) -> tuple[Effect, ...]:
    """A switch that cables go on from: their line cores joined straight to the line that comes,
    their neutral cores on the switch, which is fed from neutral; none where no neutral is."""
    onward = [(key, joint) for key in goes for joint in scene.joints_at(place, key)]
    if not onward or "N" not in scene.points[place].conductors:
        return ()
    effects, line, _ = isolate(scene, place, feed)
    if not effects:
        return ()
    found = [*effects, solid(node(place, feed), node(place, "N"))]
    for key, joint in onward:
        beside = scene.landings.get((place, joint.run), ())
        neutral = next((j for j in beside if j.conductor == "N"), None)
        if neutral is None:
            return ()
        found += [parted(joint.id), solid(scene.sides(joint)[0], line)]
        found += [parted(neutral.id), solid(scene.sides(neutral)[0], node(place, key))]
    return tuple(found)


def _device_in_neutral(
    scene: Scene, place: str, feed: str
) -> tuple[tuple[Effect, ...], tuple[str, ...]]:
    """Line and neutral exchanged on both sides of a device, so that only its pole moves.

    Returns (effects, parts disturbed).
    """
    exchange = {
        node(place, key, part): node(place, other, part)
        for part in ("line", "", "splice")
        for key, other in ((feed, "N"), ("N", feed))
    }
    effects: list[Effect] = []
    parts: list[str] = []
    sides = [(j, *scene.sides(j)) for key in (feed, "N") for j in scene.joints_at(place, key)]
    sides += [
        (e, e.b, e.a) for e in scene.kind("contact", "flex") if e.at == (place,)
    ]  # fmt: skip
    for element, end, terminal in sides:
        if terminal in exchange:
            effects += [parted(element.id), solid(end, exchange[terminal])]
            parts.append(element.id)
    return tuple(effects), tuple(parts)


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
            far = far_end(scene, at, "N")
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
        far = far_end(self.scene, self.place, self.feed)
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


FAMILIES = (
    Family(
        "switched neutral", "Switch or device in the neutral",
        "{device} at {place} parts the neutral, not the {line}: what it feeds stays live when off.",
        rate("switched neutral").words,
        ("crossed at run end", "crossed between cables", "switch bridged"),
        "Switched off, both terminals of what it feeds stand at {line} against an independent "
        "{earth}; prove dead at the {board}, not at the switch, before touching.",
        "The switch or device is moved to the {line}: polarity there and at all that it feeds, "
        "continuity.", switched_neutrals,
    ),
)  # fmt: skip
