"""Danger that was there and was not shown: conductors and metalwork above 50 V."""

from __future__ import annotations

from collections.abc import Iterator

from bench._trial_parts import EARTH, Shunt
from bench._trial_site import Site
from halfsplit.diagnosis.result import Danger
from halfsplit.wiring.conditions import AS_DESCRIBED

LIMIT_VOLTS = 50.0
FELT_AMPS = 0.5e-3  # what a person begins to feel: IEC 60479-1
BODY_OHMS = 2000.0
LINES = ("L", "L1", "L2", "L3", "SL", "SL1", "SL2", "T1", "T2")


def truly_live(site: Site) -> Iterator[tuple[str, str]]:
    """(place, conductor) above 50 V to true earth that would be felt, what is live anyway left out.

    "frame" is an appliance's metalwork.
    """
    plan = site.parts.plan
    found = site.found(AS_DESCRIBED)
    nodes = []
    for spot in plan.spots:
        part = ":front" if spot.front else ""
        if spot.name != "origin":
            nodes += [(spot.name, key, f"{spot.name}.{key}{part}") for key in spot.conductors]
    nodes += [(x.place, "frame", x.frame) for x in plan.loads if x.frame and x.connected]
    for place, key, node in nodes:
        if key in LINES or abs(found.volts.at(node)) <= LIMIT_VOLTS:
            continue
        person = Shunt(node, EARTH, 1 / BODY_OHMS)
        if abs(site.found(AS_DESCRIBED, [person]).volts.at(node)) >= FELT_AMPS * BODY_OHMS:
            yield place, key


def missed(
    live: list[tuple[str, str]], dangers: tuple[Danger, ...], known: frozenset[str]
) -> tuple[str, ...]:
    """What is live and shown as safe, among the places that the description knows."""
    shown = {(d.place, d.conductor) for d in dangers if d.kind == "shock"}
    return tuple(f"{p}.{k}" for p, k in live if p in known and (p, k) not in shown)
