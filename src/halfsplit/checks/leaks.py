"""Checks for what leaks or is joined where it should not be, asked where that is suspected."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.checks.check import Check
from halfsplit.checks.costs import OHMMETERS
from halfsplit.checks.looks import bridges
from halfsplit.checks.site import Site
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import Circuit, Run
from halfsplit.wiring.plan import Element

UNPLUGGED = Conditions(unplugged=("all",))
MOST_SPLITS = 2  # places worth a core parted on the way
SUSPECTED = 0.02  # belief in such causes from which these checks are worth working out


def leaks(site: Site, circuit: Circuit, parted: tuple[tuple[str, str], ...]) -> Iterator[Check]:
    """A ramp of the residual device, L and N joined to earth, the neutral parted from its bar, what
    lies beyond a core parted on the way.

    ``parted`` are (joint, core end) of the circuit's neutrals at its board.
    """
    yield from _split(site, circuit)
    yield from _ramp(site, circuit)
    yield from _joined(site, circuit)
    yield from _neutral(site, circuit, parted)


def leaking(site: Site) -> bool:
    """Whether something that leaks or joins is believed enough to be asked about."""
    return site.share(bridges) >= SUSPECTED


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


def _split(site: Site, circuit: Circuit) -> Iterator[Check]:
    """Parted on the way, where belief in what leaks is halved: what lies beyond, to the others."""
    beyond = _beyond(circuit)
    belief: dict[str, float] = {}
    for cause in site.believed:
        fault = cause.fault
        if fault and fault.circuit == circuit.name and bridges(fault):
            for place in fault.places:
                belief[place] = belief.get(place, 0.0) + cause.probability / len(fault.places)
    whole = sum(belief.values())
    cut = {
        (place, run): abs(sum(belief.get(x, 0.0) for x in far) - whole / 2)
        for (place, run), far in beyond.items()
        if place in site.points and site.behind(place) == "cover"
    }
    joints = {(e.at[0], e.conductor, e.run): e for e in site.plan.elements if e.kind == "joint"}
    best = sorted(cut, key=lambda key: (round(cut[key], 9), key))
    opened = [key for key in best[MOST_SPLITS:] if key[0] in site.state.open]
    for place, run in (*best[:MOST_SPLITS], *opened):
        mine = [joint for key in "LN" if (joint := joints.get((place, key, run)))]
        if len(mine) == 2 and (place, "E", run) in joints:
            yield from _past(site, circuit, mine, place, run)


def _beyond(circuit: Circuit) -> dict[tuple[str, str], set[str]]:
    """The places on the far side of each (place, run that leaves it), as the circuit is fed; round
    a ring to the board."""
    leaving: dict[str, list[Run]] = {}
    for run in circuit.runs:
        leaving.setdefault(run.start, []).append(run)

    def far(run: Run) -> set[str]:
        found = {run.end}
        for more in leaving.get(run.end, ()) if run.end != circuit.board else ():
            found |= far(more)
        return found

    return {(run.start, run.name): far(run) - {circuit.board} for run in circuit.runs}


def _past(
    site: Site, circuit: Circuit, joints: list[Element], place: str, run: str
) -> Iterator[Check]:
    """From cores parted from their terminals to what they should not touch: after a trip the line
    alone, by low voltage; else line and neutral together, to earth."""
    ends = [r.name for r in circuit.runs if circuit.board in (r.start, r.end)]
    around = [f"joint {circuit.board} {{}} {end}" for end in ends if circuit.shape == "ring"]
    line, neutral, earth = (f"{place}.{key}:{run}" for key in "LNE")
    tripped = circuit.name in site.tripped
    tester = site.tool(*OHMMETERS) if tripped else site.tool("insulation 250", "insulation 500")
    if not tester:
        return
    what, kind, link, to = "L+N-E", "megohms", (line, neutral), earth
    if tripped:
        what, kind, link, to = "L-N+E", "ohms", (neutral, earth), neutral
        joints = joints[:1]
    lifted = tuple(j.id for j in joints)
    lifted += tuple(end.format(j.conductor) for j in joints for end in around)
    conditions = Conditions(dead=True, unplugged=("all",), links=(link,), lifted=lifted)
    id = f"split {place} {run} {what}"
    reading = Reading(id, kind, line, to, instrument=tester, conditions=conditions,  # type: ignore[arg-type]
                      place=place)  # fmt: skip
    yield Check(id, "split", what, place, tester, reading, conditions, "cover", circuit.name)
