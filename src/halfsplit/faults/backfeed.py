"""Fed from elsewhere too: a second source or a lead nobody isolated, a line from before the main
switch."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.faults.fault import Family, Fault
from halfsplit.faults.grids import either, once
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import LIVE_KEYS, make, survey
from halfsplit.wiring.effects import Bridged, StateChange
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan, node

LEAD_OHMS = 0.3  # some metres of flexible cable and its plugs (judgement)


def backfeeds(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each other source that is said to be off, feeding its board all the same."""
    scene = survey(installation, plan)
    for source in installation.sources:
        if source.on:
            continue
        poles = [e for e in scene.kind("pole") if e.control == source.isolator]
        yield make(
            "backfeed", source.name, tuple(e.conductor for e in poles), (source.board,),
            once("feeding", StateChange(source.isolator, "closed")),
            scene.weigh("backfeed", source.board), tuple(e.id for e in poles),
            place=source.board, device=source.name, a=poles[0].a, b=poles[0].b,
        )  # fmt: skip


def second_feeds(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each circuit joined, at its first or last point, to a line from before the main switch."""
    scene = survey(installation, plan)
    for circuit in installation.circuits:
        fed = [(p, k) for p in circuit.points for k in p.conductors if k in LIVE_KEYS]
        board = next(b for b in installation.boards if b.name == circuit.board)
        if not fed or board.fed_by:
            continue
        steps = []
        for point, key in dict.fromkeys((fed[0], fed[-1])):
            leg = dict(circuit.legs).get(key, circuit.legs[0][1])
            joins = [Bridged(f"origin.{leg}", node(point.name, key), 1.0 / LEAD_OHMS)]
            if "N" in point.conductors:
                joins.append(Bridged("origin.N", node(point.name, "N"), 1.0 / LEAD_OHMS))
            steps += [once(f"line only at {point.name}", *joins[:1])]
            if len(joins) > 1:
                steps += [once(f"line and neutral at {point.name}", *joins)]
        point, key = fed[-1]
        yield make(
            "second feed", circuit.name, (key,), tuple(dict.fromkeys((fed[0][0].name, point.name))),
            either(*steps), scene.weigh("second feed", point.name), (), circuit.name,
            place=point.name, own=circuit.name, a=node(point.name, key),
            b=f"origin.{dict(circuit.legs).get(key, circuit.legs[0][1])}",
        )  # fmt: skip


FAMILIES = (
    Family(
        "backfeed", "Another source feeds in",
        "{device} feeds {place} though it is said to be off or isolated.",
        rate("backfeed").words, ("second feed", "lines joined", "device off"),
        "With the main switch off the bars at {place} are still live. Isolate {device} at its own "
        "isolation point, prove dead, and lock it off.",
        "Its isolation point and interlock are put right: that each source alone isolates, its own "
        "neutral link, polarity.", backfeeds,
    ),
    Family(
        "second feed", "Circuit fed from elsewhere too",
        "{own} is fed a second time, by {conductors} from elsewhere than its own device.",
        rate("second feed").words, ("lines joined", "rings joined", "backfeed"),
        "With its device off, or the main switch, {own} stays live. Treat it as live until every "
        "feed is found, isolated and proved dead.",
        "The second feed is taken out: dead with its own device off, polarity, {rcd}s.",
        second_feeds,
    ),
)  # fmt: skip
