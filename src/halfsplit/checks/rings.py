"""Checks that only a ring allows: its ends split, one leg at a time; the share each leg carries."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.checks.check import Check
from halfsplit.checks.site import Site
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.model import Circuit, Run
from halfsplit.wiring.plan import Spot, node

LEG_PLACES = 4  # places worth a reading from one end of a split ring


def rings(site: Site, circuit: Circuit) -> Iterator[Check]:
    """End to end, from one end to a place, and the current of each leg; not in North America."""
    ends = [r for r in circuit.runs if circuit.board in (r.start, r.end)]
    if circuit.shape != "ring" or len(ends) != 2 or site.region == "na":
        return
    yield from _legs_clamped(site, circuit, ends)
    meter = site.tool("continuity", "meter ohms")
    if not meter:
        return
    lifted = tuple(f"joint {circuit.board} {key} {run.name}" for key in "LNE" for run in ends)
    yield from _end_to_end(circuit, ends, meter, Conditions(dead=True, lifted=lifted))
    out = Conditions(dead=True, unplugged=("all",), lifted=lifted)
    places = [s for s in site.places if s.circuit == circuit.name and s.front]
    for spot in places[:LEG_PLACES]:
        yield from _from_one_end(circuit, ends, meter, out, spot)


def _end_to_end(
    circuit: Circuit, ends: list[Run], meter: str, conditions: Conditions
) -> Iterator[Check]:
    for key in ("L", "N", "E"):
        a, b = (node(circuit.board, key, run.name) for run in ends)
        id = f"ring {circuit.name} {key}"
        reading = Reading(id, "ohms", a, b, instrument=meter, conditions=conditions,
                          place=circuit.board)  # fmt: skip
        yield Check(id, "ring", key, circuit.board, meter, reading, conditions, "board",
                    circuit.name)  # fmt: skip


def _from_one_end(
    circuit: Circuit, ends: list[Run], meter: str, conditions: Conditions, spot: Spot
) -> Iterator[Check]:
    """Each conductor from each end of the split ring to a place: one leg at a time."""
    for run in ends:
        for key in (k for k in ("L", "N", "E") if k in spot.conductors):
            id = f"leg {spot.name} {key} {run.name}"
            reading = Reading(id, "ohms", node(circuit.board, key, run.name),
                              node(spot.name, key, "front"), instrument=meter,
                              conditions=conditions, place=spot.name)  # fmt: skip
            yield Check(id, "leg", key, spot.name, meter, reading, conditions, "plug",
                        circuit.name)  # fmt: skip


def _legs_clamped(site: Site, circuit: Circuit, ends: list[Run]) -> Iterator[Check]:
    clamp = site.tool("leakage clamp", "clamp")
    for run in ends if clamp else ():
        for key in ("L", "N"):
            id = f"clamp {circuit.name} {key} {run.name}"
            reading = Reading(id, "amps", conductors=(f"core {run.name} {key}",), instrument=clamp,
                              conditions=AS_DESCRIBED, place=circuit.board)  # fmt: skip
            yield Check(id, "leg clamp", key, circuit.board, clamp, reading, AS_DESCRIBED,
                        "board", circuit.name)  # fmt: skip
