"""Every check that the installation and the tools allow; which are safe is decided later."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from halfsplit.checks.asks import asks
from halfsplit.checks.check import Check
from halfsplit.checks.leaks import UNPLUGGED, leaking, leaks
from halfsplit.checks.loaded import loaded, tiring
from halfsplit.checks.looks import looks
from halfsplit.checks.rings import rings
from halfsplit.checks.site import Site
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.model import Circuit
from halfsplit.wiring.plan import EARTH, Spot, node

DEAD = Conditions(dead=True, unplugged=("all",))
LAMP_WATTS = 60.0
MOST_LOADS = 6
LOST_FROM = 0.01  # belief in a lost supply neutral from which it is measured to true earth
JOINTS_FROM = 0.01  # belief in a place from which its joints are worth a check of their own


def candidates(site: Site) -> tuple[Check, ...]:
    """All checks, each once, without those already done."""
    done = {_key(r) for r in site.readings}
    kinds = {r.kind for r in site.readings}
    found: dict[str, Check] = {}
    for check in _all(site):
        reading = check.reading
        if reading is not None and reading.kind in kinds and _key(reading) in done:
            continue
        if check.id in site.state.looked:
            continue
        found.setdefault(check.id, check)
    return tuple(found.values())


def _all(site: Site) -> Iterator[Check]:
    yield from looks(site)
    yield from asks(site)
    yield from _holds(site)
    yield from _to_earth(site)
    lamp = _lamp_beyond(site)
    for spot in site.places:
        yield from _live(site, spot, lamp)
        yield from _dead(site, spot)
    leaky, tired = leaking(site), tiring(site)
    for circuit in site.suspected_circuits():
        yield from _joints(site, circuit.board, circuit)
        if leaky or circuit.name in site.tripped:
            yield from _insulation(site, circuit)
        yield from _clamps(site, circuit)
        yield from _board_volts(site, circuit)
        yield from rings(site, circuit)
        if leaky:
            yield from leaks(site, circuit, tuple(_neutral_joints(site, circuit)))
        if tired:
            yield from loaded(site, circuit)


def _key(reading: Reading) -> tuple[object, ...]:
    """What makes two readings the same: terminals, conditions, and whether it loads them."""
    ends = frozenset((reading.a, reading.b))
    loads = reading.instrument in ("low impedance", "two-pole load")
    # Ends out of their terminals are the same ends, whatever else is lifted with them.
    conditions = "lifted" if reading.conditions.lifted else reading.conditions.key()
    return (reading.kind, ends, frozenset(reading.conductors), reading.of, conditions, loads)


def line_keys(spot: Spot) -> tuple[str, ...]:
    """Line conductors at a place, a switched line last."""
    plain = [k for k in spot.conductors if k.startswith("L")]
    return (*plain, *(k for k in spot.conductors if k.startswith("SL")))


def terminal(spot: Spot, key: str) -> str:
    """The node a probe reaches: the front contact where a plug goes, else the terminal."""
    return node(spot.name, key, "front" if spot.front else "")


def pairs(spot: Spot) -> tuple[tuple[str, str], ...]:
    """Pairs worth a reading: each line to neutral and earth, neutral to earth, line to line."""
    lines = line_keys(spot)
    back = [k for k in ("N", "E") if k in spot.conductors]
    found = [(line, b) for line in lines[:3] for b in back]
    if len(back) == 2:
        found.append(("N", "E"))
    return (*found, *combinations([k for k in lines if k.startswith("L")], 2))


def _lamp_beyond(site: Site) -> Conditions | None:
    """Everything out but one lamp at the end of the circuit most suspected."""
    for spot in site.places:
        lines = {"L", "L1", "SL", "L2"} & set(spot.conductors)
        if spot.front and not spot.downstream and "N" in spot.conductors and lines:
            return Conditions(unplugged=("all",), added=((spot.name, "filament", LAMP_WATTS),))
    return None


def _live(site: Site, spot: Spot, lamp: Conditions | None) -> Iterator[Check]:
    plug = spot.front
    kind, access = ("volts", "plug") if plug else ("open volts", "cover")
    meter = site.tool("multimeter", "two-pole", "moving coil")
    low = site.tool("low impedance", "two-pole load")
    ways = [AS_DESCRIBED, UNPLUGGED]
    if lamp is not None and lamp.added[0][0] and spot.circuit == _of(site, lamp.added[0][0]):
        ways.append(lamp)
    for a, b in pairs(spot):
        for number, conditions in enumerate(ways):
            if meter:
                yield _port(kind, spot, a, b, "volts", meter, conditions, access, f"{number}")
        if low and plug:
            yield _port("loaded volts", spot, a, b, "volts", low, AS_DESCRIBED, access, "low")
    loop = site.tool("loop low", "loop")
    if loop and plug and "E" in spot.conductors and line_keys(spot):
        yield _port("loop", spot, line_keys(spot)[0], "E", "loop", loop, UNPLUGGED, access, "")
    if plug and site.tool("plug tester") and {"N", "E"} <= set(spot.conductors):
        yield Check(
            f"lamps {spot.name}", "lamps", "plug-in tester", spot.name, "plug tester",
            Reading(f"lamps {spot.name}", "lamps", of=spot.name, instrument="plug tester",
                    place=spot.name), AS_DESCRIBED, access, spot.circuit,
        )  # fmt: skip


def _to_earth(site: Site) -> Iterator[Check]:
    """The protective conductor to an independent earth, where the supply's neutral is in doubt."""
    meter = site.tool("multimeter", "two-pole")
    spot = next((s for s in site.plan.spots if s.front and "E" in s.conductors), None)
    if not meter or spot is None or site.lost_supply < LOST_FROM:
        return
    id = f"earth volts {spot.name}"
    reading = Reading(id, "volts", terminal(spot, "E"), EARTH, instrument=meter, place=spot.name)
    yield Check(id, "earth volts", "E-earth", spot.name, meter, reading, AS_DESCRIBED, "plug",
                spot.circuit)  # fmt: skip


def _of(site: Site, place: str) -> str:
    circuit = site.circuit_of(place)
    return circuit.name if circuit else ""


def _port(
    kind: str,
    spot: Spot,
    a: str,
    b: str,
    reads: str,
    instrument: str,
    conditions: Conditions,
    access: str,
    tag: str,
) -> Check:
    id = f"{kind} {spot.name} {a}-{b} {tag}".rstrip()
    reading = Reading(id, reads, terminal(spot, a), terminal(spot, b), instrument=instrument,  # type: ignore[arg-type]
                      conditions=conditions, place=spot.name)  # fmt: skip
    return Check(id, kind, f"{a}-{b}", spot.name, instrument, reading, conditions, access,
                 spot.circuit)  # fmt: skip


def _dead(site: Site, spot: Spot) -> Iterator[Check]:
    """Continuity from the board to a place: a wandering lead, or a link at the board."""
    meter, circuit = site.tool("continuity", "meter ohms"), site.circuit_of(spot.name)
    if not meter or circuit is None:
        return
    access = "plug" if spot.front else "cover"
    starts = {
        core.start for run in circuit.runs if run.start == circuit.board for core in run.cores
    }
    for key in spot.conductors:
        if key not in starts:
            continue
        id = f"lead {spot.name} {key}"
        reading = Reading(id, "ohms", site.home(circuit, key), terminal(spot, key),
                          instrument=meter, conditions=DEAD, place=spot.name)  # fmt: skip
        yield Check(id, "lead", key, spot.name, meter, reading, DEAD, access, circuit.name)
    if site.region != "na" and circuit.shape != "ring":
        yield from _linked(site, spot, circuit, meter, access)
    if spot.access != "sealed":
        yield from _joints(site, spot.name, circuit)


def _linked(site: Site, spot: Spot, circuit: Circuit, meter: str, access: str) -> Iterator[Check]:
    line = next((k for k in ("L", "L1") if k in spot.conductors), "")
    for other in ("E", "N"):
        if not line or other not in spot.conductors:
            continue
        link = (site.home(circuit, line), site.home(circuit, other))
        conditions = Conditions(dead=True, unplugged=("all",), links=(link,))
        yield _port("link", spot, line, other, "ohms", meter, conditions, access, "")


def _joints(site: Site, place: str, circuit: Circuit) -> Iterator[Check]:
    """Across each joint of an opened place, from the core to the terminal it should meet."""
    meter = site.tool("continuity", "meter ohms")
    if not meter or site.belief.get(place, 0.0) < JOINTS_FROM:
        return
    access = "cover" if place in site.points else "board"
    for e in site.plan.elements:
        mine = e.circuit in ("", circuit.name) and e.kind == "joint" and e.at == (place,)
        if mine and e.id in site.suspected and "origin." not in e.a:
            id = f"across {e.id}"
            reading = Reading(id, "ohms", e.a, e.b, instrument=meter, conditions=DEAD, place=place)
            yield Check(id, "joint", e.conductor, place, meter, reading, DEAD, access, circuit.name)


def _insulation(site: Site, circuit: Circuit) -> Iterator[Check]:
    """Between the circuit's conductors at its way, everything out."""
    keys = [k for k, _ in circuit.legs]
    starts = {
        core.start for run in circuit.runs if run.start == circuit.board for core in run.cores
    }
    home = {k: site.home(circuit, k) for k in (*keys, "N", "E") if k in starts}
    lifted = _neutral_joints(site, circuit)
    if len(lifted) > 1 and circuit.shape != "ring":
        home.pop("N", None)  # several neutrals leave the board: no one end to test from
    meter = site.tool("continuity", "meter ohms")
    if meter and {"N", "E"} <= set(home) and len(keys) == 1:
        yield _any_short(circuit, meter, home[keys[0]], home["N"], home["E"])
    for a, b in combinations(home, 2):
        conditions, ends = DEAD, (home[a], home[b])
        if "N" in (a, b) and lifted:
            parted = tuple(joint for joint, _ in lifted)
            conditions = Conditions(dead=True, unplugged=("all",), lifted=parted)
            ends = (lifted[0][1] if a == "N" else home[a], lifted[0][1] if b == "N" else home[b])
        low = "insulation 250" if {a, b} == {"L", "N"} else "insulation 500"
        tester = site.tool(low, "insulation 500", "insulation 250")
        for kind, reads, tool in (("insulation", "megohms", tester), ("between", "ohms", meter)):
            if tool:
                id = f"{kind} {circuit.name} {a}-{b}"
                reading = Reading(id, reads, *ends, instrument=tool, conditions=conditions,  # type: ignore[arg-type]
                                  place=circuit.board)  # fmt: skip
                yield Check(id, kind, f"{a}-{b}", circuit.board, tool, reading, conditions,
                            "board", circuit.name)  # fmt: skip


def _any_short(circuit: Circuit, meter: str, line: str, neutral: str, earth: str) -> Check:
    """By low voltage from the line at its way to neutral and earth joined: any short in the wiring,
    and by its ohms how far along."""
    conditions = Conditions(dead=True, unplugged=("all",), links=((neutral, earth),))
    id = f"between {circuit.name} L-N+E"
    reading = Reading(id, "ohms", line, neutral, instrument=meter, conditions=conditions,
                      place=circuit.board)  # fmt: skip
    return Check(id, "between", "L-N+E", circuit.board, meter, reading, conditions, "board",
                 circuit.name)  # fmt: skip


def _board_volts(site: Site, circuit: Circuit) -> Iterator[Check]:
    """Live, at the board: before the main switch, after it, after the circuit's own device."""
    meter = site.tool("two-pole", "multimeter", "moving coil")
    if not meter:
        return
    mine, leg = circuit.legs[0]
    board, neutral = circuit.board, site.neutral_bar(circuit)
    stages = (
        ("before the main switch", node(board, leg, "in"), node(board, "N", "in")),
        ("after the main switch", node(board, leg), node(board, "N")),
        (f"after {circuit.device.name}", site.home(circuit, mine), neutral),
    )
    for what, a, b in stages:
        id = f"board volts {board} {what}"
        reading = Reading(id, "volts", a, b, instrument=meter, conditions=AS_DESCRIBED, place=board)
        yield Check(id, "board volts", what, board, meter, reading, AS_DESCRIBED, "board",
                    circuit.name)  # fmt: skip


def _neutral_joints(site: Site, circuit: Circuit) -> list[tuple[str, str]]:
    """(joint, core end) of the circuit's neutrals at its board: lifted for an insulation test."""
    if "N" in circuit.device.poles:
        return []
    return [
        (f"joint {circuit.board} N {run.name}", node(circuit.board, "N", run.name))
        for run in circuit.runs
        for place, key in ((run.start, "start"), (run.end, "end"))
        if place == circuit.board and any(getattr(core, key) == "N" for core in run.cores)
    ]


def _clamps(site: Site, circuit: Circuit) -> Iterator[Check]:
    clamp = site.tool("leakage clamp", "clamp")
    runs = [r for r in circuit.runs if r.start == circuit.board]
    if not clamp or circuit.shape == "ring" or len(runs) != 1:
        return
    cores = {core.start: f"core {runs[0].name} {core.start}" for core in runs[0].cores}
    lines = [k for k in cores if k.startswith("L")]
    sets: list[tuple[str, ...]] = [(k,) for k in (*lines, "N", "E") if k in cores]
    if "N" in cores:
        sets.append((*lines, "N"))
    for keys in sets:
        id = f"clamp {circuit.name} {'+'.join(keys)}"
        reading = Reading(id, "amps", conductors=tuple(cores[k] for k in keys), instrument=clamp,
                          conditions=AS_DESCRIBED, place=circuit.board)  # fmt: skip
        yield Check(id, "clamp", "+".join(keys), circuit.board, clamp, reading, AS_DESCRIBED,
                    "board", circuit.name)  # fmt: skip


def _holds(site: Site) -> Iterator[Check]:
    """Whether a device that has parted holds with one thing out, or with everything out."""
    named = {r.of for r in site.readings if r.kind == "trips" and r.seen != "holds"}
    for way in site.plan.ways:
        if way.name not in named:
            continue
        behind = {*way.covers, way.circuit}
        loads = [x.id for x in site.plan.loads if x.circuit in behind and x.connected]
        for out in ("all", *loads[:MOST_LOADS]):
            id = f"holds {way.name} without {out}"
            conditions = Conditions(unplugged=(out,))
            reading = Reading(id, "trips", of=way.name, conditions=conditions)
            board = site.board_of(way.circuit or next(iter(way.covers), ""))
            yield Check(id, "holds", f"{way.name} without {out}", board, "", reading, conditions,
                        "none", way.circuit or next(iter(way.covers), ""))  # fmt: skip
