"""Checks under load, asked where a tired joint is suspected: what it drops, here and across it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfsplit.checks.check import Check
from halfsplit.checks.site import Site
from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added
from halfsplit.wiring.model import Circuit
from halfsplit.wiring.plan import node

HEATER_WATTS = (2000.0, 1000.0, 500.0)  # as much as the circuit's device carries
SUSPECTED = 0.02
MOST_JOINTS = 6
FROM = 0.02  # belief in a place from which its joints are worth a drop of their own


def loaded(site: Site, circuit: Circuit) -> Iterator[Check]:
    """Volts at plugs and across joints with a heater at the end of the circuit."""
    end = next(
        (s.name for s in site.places
         if s.circuit == circuit.name and s.front and not s.downstream
         and {"L", "N"} <= set(s.conductors)),
        "",
    )  # fmt: skip
    if end:
        most = 0.8 * circuit.device.amps * site.plan.volts
        watts = next((w for w in HEATER_WATTS if w <= most), HEATER_WATTS[-1])
        conditions = Conditions(unplugged=("all",), added=((end, "heater", watts),))
        yield from _at_plugs(site, circuit, conditions)
        yield from _across(site, circuit, conditions)


def tiring(site: Site) -> bool:
    """Whether a tired joint is believed enough to be asked about."""
    return site.share(_tired) >= SUSPECTED


def _tired(fault: Fault) -> bool:
    """Whether it adds some resistance and no break."""
    ohms = [
        e.ohms
        for s in fault.severities
        for e in s.effects
        if isinstance(e, Added) and e.when != "dead"
    ]
    return bool(ohms) and all(math.isfinite(x) for x in ohms)


def _at_plugs(site: Site, circuit: Circuit, conditions: Conditions) -> Iterator[Check]:
    meter = site.tool("multimeter", "two-pole")
    for spot in site.places if meter else ():
        if spot.circuit != circuit.name or not spot.front or not {"L", "N"} <= set(spot.conductors):
            continue
        id = f"volts {spot.name} L-N load"
        a, b = (node(spot.name, key, "front") for key in ("L", "N"))
        reading = Reading(id, "volts", a, b, instrument=meter, conditions=conditions,
                          place=spot.name)  # fmt: skip
        yield Check(id, "volts under load", "L-N", spot.name, meter, reading, conditions, "plug",
                    circuit.name)  # fmt: skip


def _across(site: Site, circuit: Circuit, conditions: Conditions) -> Iterator[Check]:
    """Millivolts from a core to the terminal it enters: live, behind an opened cover."""
    meter = site.tool("millivolts")
    joints = [
        e
        for e in site.plan.elements
        if e.kind == "joint" and e.circuit == circuit.name and e.id in site.suspected
        if e.at[0] in site.points and site.belief.get(e.at[0], 0.0) >= FROM
    ]
    for e in joints[:MOST_JOINTS] if meter else ():
        id = f"drop {e.id}"
        reading = Reading(id, "volts", e.a, e.b, instrument=meter, conditions=conditions,
                          place=e.at[0])  # fmt: skip
        yield Check(id, "drop", e.conductor, e.at[0], meter, reading, conditions, "cover",
                    circuit.name)  # fmt: skip
