"""Devices and switches: off, tripped, poles that do not make, contacts that do not part."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfsplit.faults.fault import Family, Fault
from halfsplit.faults.grids import LOOSE, in_series, once, opened
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import make, survey
from halfsplit.wiring.effects import Bridged, StateChange
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan, Way

# What a device or switch may be found in: read by whoever settles the conditions as found.
ARC_TIMES = 3.0  # motors and electronics trip them with nothing wrong (judgement)
OPEN, WILL_NOT_TRIP = "open", "will not trip"


def _where(plan: Plan, way: Way) -> str:
    for e in plan.elements:
        if e.control == way.name and e.kind == "pole":
            return e.at[0]
    return way.circuit


def _off(installation: Installation, plan: Plan, outlets: bool) -> Iterator[Fault]:
    scene = survey(installation, plan)
    family = "outlet tripped" if outlets else "device off"
    arcs = _arc_devices(installation)
    for way in plan.ways:
        place = _where(plan, way)
        if (place in scene.points and way.residual_amps > 0) != outlets or not way.poles:
            continue
        if not all(scene.elements[pole].closed for pole in way.poles):
            continue  # described as open already
        poles = tuple(scene.elements[pole].conductor for pole in way.poles)
        yield make(
            family, way.name, poles, (place,), once("off or tripped", StateChange(way.name, OPEN)),
            scene.weigh(family, place, times=ARC_TIMES if way.name in arcs else 1.0), (way.name,),
            way.circuit, place=place, device=way.name,
        )  # fmt: skip


def _arc_devices(installation: Installation) -> set[str]:
    """The devices that also trip on what they take for arcing."""
    boards = (d for b in installation.boards for d in (b.main, *(g.device for g in b.groups)))
    ways = (c.device for c in installation.circuits)
    points = (p.device for p in installation.points() if p.device is not None)
    return {device.name for device in (*boards, *ways, *points) if device.arc}


def devices_off(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each device at a board, or a plain one at a point, found open."""
    return _off(installation, plan, False)


def outlets_tripped(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each residual-current device at a point, found tripped."""
    return _off(installation, plan, True)


def hidden_devices(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """On each run but a ring's, a device nobody mentioned that has tripped: line and neutral part,
    the protective conductor does not."""
    scene = survey(installation, plan)
    for name, run in scene.runs.items():
        joints = scene.landings.get((run.start, name), ())
        live = tuple(j for j in joints if j.conductor != "E")
        if scene.ring(name) or not {"N"} < {j.conductor for j in live}:
            continue
        yield make(
            "hidden device tripped", name, tuple(j.conductor for j in live),
            (run.start, run.end), opened(*(j.id for j in live)),
            scene.weigh("hidden device tripped", run.start, run.end), (), live[0].circuit,
            place=run.start, run=name, **{"from": run.start, "to": run.end},
        )  # fmt: skip


def poles_open(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each pole that does not make though its device looks closed."""
    scene = survey(installation, plan)
    for e in scene.kind("pole"):
        if e.control and e.closed:
            yield make(
                "pole open", e.id, (e.conductor,), e.at, opened(e.id),
                scene.weigh("pole open", *e.at), (e.id,), e.circuit, place=e.at[0],
                device=e.control, a=e.a, b=e.b,
            )  # fmt: skip


def poles_burnt(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each pole or its terminal with resistance it should not have."""
    scene = survey(installation, plan)
    for e in scene.kind("pole"):
        if e.control and e.closed:
            yield make(
                "pole burnt", e.id, (e.conductor,), e.at, in_series(LOOSE, e.id),
                scene.weigh("pole burnt", *e.at), (e.id,), e.circuit, place=e.at[0],
                device=e.control, a=e.a, b=e.b,
            )  # fmt: skip


def residual_stuck(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each residual-current device that does not operate."""
    scene = survey(installation, plan)
    for way in plan.ways:
        if way.residual_amps > 0:
            place = _where(plan, way)
            yield make(
                "will not trip", way.name, (), (place,),
                once("stuck", StateChange(way.name, WILL_NOT_TRIP)),
                scene.weigh("will not trip", place), (way.name,), way.circuit, place=place,
                device=way.name,
            )  # fmt: skip


def switches_bridged(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each switch contact welded, or its two conductors in one terminal."""
    scene = survey(installation, plan)
    for e in scene.kind("switch"):
        yield make(
            "switch bridged", e.id, tuple(_keys(e.a, e.b)), e.at,
            once("joined", Bridged(e.a, e.b, math.inf)), scene.weigh("switch bridged", *e.at),
            (e.id,), e.circuit, place=e.at[0], device=e.control, a=e.a, b=e.b,
        )  # fmt: skip


def switches_stuck_open(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each switch contact that does not make in its position."""
    scene = survey(installation, plan)
    for e in scene.kind("switch"):
        yield make(
            "switch stuck open", e.id, tuple(_keys(e.a, e.b)), e.at, opened(e.id),
            scene.weigh("switch stuck open", *e.at), (e.id,), e.circuit, place=e.at[0],
            device=e.control, a=e.a, b=e.b,
        )  # fmt: skip


def switches_left(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each switch standing in another position than was said."""
    scene = survey(installation, plan)
    for name, point in scene.points.items():
        for switch in point.switches:
            for position in switch.positions:
                if position == switch.position:
                    continue
                yield make(
                    "switch left", f"{switch.name} {position}", (), (name,),
                    once(position, StateChange(switch.name, position)),
                    scene.weigh("switch left", name) / (len(switch.positions) - 1),
                    (), scene.circuits[name].name, place=name, device=switch.name, how=position,
                )  # fmt: skip


def _keys(*nodes: str) -> Iterator[str]:
    """The conductor keys of accessory terminals."""
    for name in nodes:
        yield name.rsplit(".", 1)[1].split(":", 1)[0]


FAMILIES = (
    Family(
        "device off", "Device off or tripped",
        "{device} at {place} is off or has tripped.", rate("device off").words,
        ("pole open", "supply line lost", "open joint"),
        "Look at it. If it tripped, dead tests come before any reclosing.",
        "Nothing was opened; what made it trip has still to be found.", devices_off,
    ),
    Family(
        "outlet tripped", "{rcd_outlet} tripped",
        "{device} at {place} has tripped, and all fed through it is dead.",
        rate("outlet tripped").words, ("open joint", "device off", "pole open"),
        "Look for its button at {place} behind furniture; unplug what it feeds, then one reset.",
        "Nothing was opened; if it trips again, leakage beyond it has to be found.",
        outlets_tripped,
    ),
    Family(
        "hidden device tripped", "A device nobody mentioned has tripped",
        "At {from} or on the way to {to}, a {rcd_outlet} or a fuse that nobody mentioned is off.",
        rate("hidden device tripped").words,
        ("outlet tripped", "open joint", "device off", "cable off"),
        "Look for one in the garage, cellar, bathroom, outside, behind things; press its button.",
        "Nothing was opened; if it trips again, leakage beyond it has to be found.",
        hidden_devices,
    ),
    Family(
        "pole open", "Pole does not make",
        "{device} at {place} looks closed, but its {conductors} pole does not make.",
        rate("pole open").words, ("open joint", "device off", "pole burnt"),
        "Read across the closed pole: supply volts stand across it with a load on; or dead, "
        "closed, it is open.",
        "The device is changed: its terminals, polarity, {earth} loop, trip test.", poles_open,
    ),
    Family(
        "pole burnt", "Pole or its terminal resistive",
        "The {conductors} pole of {device} at {place} has resistance.",
        rate("pole burnt").words, ("loose joint", "pole open"),
        "Volts across the closed pole under load; heat and smell.",
        "The device is changed and its conductors cut back: terminals, polarity, loop, trip test.",
        poles_burnt,
    ),
    Family(
        "will not trip", "{rcd} does not operate",
        "{device} at {place} does not operate on residual current.",
        rate("will not trip").words, ("strapped earth", "supply earth lost"),
        "Its own test button, then a ramp test: no operation at its rating.",
        "The device is changed: trip current and time, polarity.", residual_stuck,
    ),
    Family(
        "switch bridged", "Switch bridged or welded",
        "{device} at {place} joins {conductors} in every position.",
        rate("switch bridged").words, ("crossed between cables", "link left in", "switch left"),
        "Dead, with the switch off: its contact reads closed, with its cores on or off.",
        "The switch is changed or its cores put right: every position, polarity.",
        switches_bridged,
    ),
    Family(
        "switch stuck open", "Switch does not make",
        "{device} at {place} does not join {conductors}.",
        rate("switch stuck open").words, ("open joint", "switch left", "load off"),
        "Dead, with the switch on: its contact reads open.",
        "The switch is changed: every position, polarity.", switches_stuck_open,
    ),
    Family(
        "switch left", "Switch not where it was said to be",
        "{device} at {place} stands in position {how}.",
        rate("switch left").words, ("switch stuck open", "switch bridged", "load off"),
        "Look at it and work it.", "Nothing is disturbed.", switches_left,
    ),
)  # fmt: skip
