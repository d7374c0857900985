"""Checks for what leaks or is joined where it should not be, asked where that is suspected."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.checks.check import Check
from halfsplit.checks.site import Site
from halfsplit.faults.fault import Fault
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Bridged, LoadChange
from halfsplit.wiring.model import Circuit

UNPLUGGED = Conditions(unplugged=("all",))
SUSPECTED = 0.02  # belief in such causes from which these checks are worth working out


def leaks(site: Site, circuit: Circuit, parted: tuple[tuple[str, str], ...]) -> Iterator[Check]:
    """A ramp of the residual device, L and N joined to earth, the neutral parted from its bar.

    ``parted`` are (joint, core end) of the circuit's neutrals at its board.
    """
    yield from _ramp(site, circuit)
    yield from _joined(site, circuit)
    yield from _neutral(site, circuit, parted)


def leaking(site: Site) -> bool:
    """Whether something that leaks or joins is believed enough to be asked about."""
    return site.share(_bridges) >= SUSPECTED


def _bridges(fault: Fault) -> bool:
    return any(isinstance(e, Bridged | LoadChange) for s in fault.severities for e in s.effects)


def _ramp(site: Site, circuit: Circuit) -> Iterator[Check]:
    """What the device needs besides what leaks already, everything out."""
    tester = site.tool("ramp")
    spots = [s for s in site.places if s.circuit == circuit.name and s.front]
    ways = [w for w in site.plan.ways if w.residual_amps and circuit.name in (*w.covers, w.circuit)]
    if not tester or not spots:
        return
    for way in ways:
        place = spots[0].name
        id = f"ramp {way.name}"
        reading = Reading(id, "ramp", of=way.name, instrument=tester, conditions=UNPLUGGED,
                          place=place)  # fmt: skip
        yield Check(id, "ramp", "L-E", place, tester, reading, UNPLUGGED, "plug", circuit.name)


def _joined(site: Site, circuit: Circuit) -> Iterator[Check]:
    """Line and neutral joined, to earth, at 250 V: everything may stay in."""
    tester = site.tool("insulation 250")
    lines = [k for k, _ in circuit.legs]
    if not tester or site.region == "na" or len(lines) != 1 or circuit.shape == "ring":
        return
    line, neutral, earth = (site.home(circuit, k) for k in (lines[0], "N", "E"))
    conditions = Conditions(dead=True, links=((line, neutral),))
    id = f"insulation {circuit.name} joined"
    reading = Reading(id, "megohms", line, earth, instrument=tester, conditions=conditions,
                      place=circuit.board)  # fmt: skip
    yield Check(id, "joined insulation", f"{lines[0]}+N-E", circuit.board, tester, reading,
                conditions, "board", circuit.name)  # fmt: skip


def _neutral(site: Site, circuit: Circuit, parted: tuple[tuple[str, str], ...]) -> Iterator[Check]:
    """The circuit's neutral lifted, to its bar: what joins them is borrowed, or to earth."""
    meter = site.tool("continuity", "meter ohms")
    if not meter or len(parted) != 1:
        return
    conditions = Conditions(dead=True, unplugged=("all",), lifted=(parted[0][0],))
    id = f"parted {circuit.name} N"
    reading = Reading(id, "ohms", parted[0][1], site.neutral_bar(circuit), instrument=meter,
                      conditions=conditions, place=circuit.board)  # fmt: skip
    yield Check(id, "parted", "N", circuit.board, meter, reading, conditions, "board",
                circuit.name)  # fmt: skip
