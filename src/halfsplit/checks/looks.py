"""Looks: checks that find a fault by seeing it, with the chance that they do (judgement).

Mends are looks too: what is made anew was it, or it was not.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Iterator, Sequence

from halfsplit.checks.check import Check
from halfsplit.checks.costs import KINDS
from halfsplit.checks.site import BELIEVED, NOT_OURS, Site
from halfsplit.faults.fault import Fault
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Added, Bridged, LoadChange, ReadingChange, StateChange

DEAD = Conditions(dead=True)
SEEN_AT_PLACE = 0.85  # a joint, contact or crossing in an opened box, looked at and tugged
SEEN_SLIGHT = 0.5  # the same where the added resistance is under an ohm
SEEN_IN_CABLE = 0.15  # damage to a cable between places, from either end
SEEN_LIVE = 0.4  # at a main switch's incoming side, which stays live: nothing is tugged
SEEN_STATE = 0.97  # a device or switch that stands open
SEEN_METER = 0.97
SEEN_ELSEWHERE = 0.95
OPEN_FROM = 0.005  # belief in a place from which opening it is worth considering
TRACED = 0.8  # a tone is lost at the break
WARM = 0.7  # a joint that heats is warm enough to see when there is load on it
MENDED_FROM = 0.02  # belief from which mending unseen is worth considering
PLAIN = ("heater", "filament", "motor")  # whose own resistance shows at the plug
LAMPS = ("filament", "led", "fluorescent")  # tried by another lamp in their place
OTHERS = "every other device and switch"  # than the one that is known to have tripped
VISIBLE = ("joint", "contact", "pole", "switch", "link")


def looks(site: Site) -> Iterator[Check]:
    """Looks at the devices, the instrument, appliances, and inside each suspected place.

    Those that have found nothing already are among them: their outcome is evidence too.
    """
    faults = [
        (c.fault, c.probability)
        for c in site.diagnosis.causes
        if c.fault and c.probability >= BELIEVED / 4
    ]
    states = tuple((f.id, SEEN_STATE) for f, _ in faults if _all(f, StateChange) and not _stuck(f))
    if states:
        told = any(r.kind == "trips" and r.seen != "holds" for r in site.readings)
        yield Check("look devices", "devices", OTHERS if told else "every device and switch",
                    _board(site), finds=states)  # fmt: skip
    meter = tuple((f.id, SEEN_METER) for f, _ in faults if _all(f, ReadingChange))
    if meter:
        yield Check("look meter", "meter", "the instrument", "", finds=meter)
    yield from _elsewhere(site, faults)
    yield from _opened(site, faults)
    yield from _mends(site, faults)
    yield from _traced(site, faults)
    yield from _warm(site, faults)


def _board(site: Site) -> str:
    return site.installation.boards[0].name


def _all(fault: Fault, kind: type | tuple[type, ...]) -> bool:
    return all(isinstance(e, kind) for s in fault.severities for e in s.effects)


def _stuck(fault: Fault) -> bool:
    return any(
        isinstance(e, StateChange) and e.state == "will not trip"
        for s in fault.severities
        for e in s.effects
    )


def remedies(site: Site) -> dict[str, Hashable]:
    """What would be done about each cause believed, by its id: where one would look, or whom to
    call."""
    loads = [load.id for load in site.plan.loads]
    return {
        cause.fault.id if cause.fault else "": _remedy(cause.fault, loads)
        for cause in site.believed
        if cause.probability >= BELIEVED
    }


def _remedy(fault: Fault | None, loads: Sequence[str]) -> Hashable:
    if fault is None:
        return "nothing"
    if _all(fault, ReadingChange):
        return "instrument"
    if _all(fault, StateChange):
        return "devices"
    if NOT_OURS & set(fault.places) or _tail(fault):
        return "operator"
    return _owner(fault, loads) or fault.places


def _owner(fault: Fault, loads: Iterable[str]) -> str:
    """The appliance a fault is in, or in whose flex; "" where it is in the wiring."""
    ids = tuple(loads)
    found = next((part for part in fault.parts if part in ids), "")
    flexes = (id for part in fault.parts for id in ids if part.startswith(f"flex {id} "))
    return found or next(flexes, "")


def _elsewhere(site: Site, faults: list[tuple[Fault, float]]) -> Iterator[Check]:
    """An appliance or a lamp tried where the supply is good; measured where it may be a short."""
    ids = {load.id: load for load in site.plan.loads if load.connected}
    plugged = {f"{p.name}/{x.name}" for p in site.points.values() for x in p.loads if x.plugged}
    mine: dict[str, list[Fault]] = {}
    for fault, _ in faults:
        owner = _owner(fault, ids)
        if owner and not _all(fault, StateChange):
            mine.setdefault(owner, []).append(fault)
    meter = site.tool(*KINDS["appliance"].tools)
    belief = {fault.id: p for fault, p in faults}
    for owner, own in mine.items():
        load = ids[owner]
        shorted = sum(belief[fault.id] for fault in own if bridges(fault))
        if owner in plugged and meter and shorted >= BELIEVED:  # before it is energised anywhere
            seen = [f for f in own if load.kind in PLAIN or bridges(f)]
            yield Check(f"appliance {owner}", "appliance", owner, load.place, meter, None,
                        AS_DESCRIBED, "plug", load.circuit,
                        tuple((fault.id, SEEN_ELSEWHERE) for fault in seen))  # fmt: skip
        lamp = load.kind in LAMPS and owner not in plugged
        if load.circuit not in site.tripped and (lamp or (owner in plugged and shorted < BELIEVED)):
            yield Check(f"elsewhere {owner}", "elsewhere", owner, load.place, access="plug",
                        circuit=load.circuit,
                        finds=tuple((fault.id, SEEN_ELSEWHERE) for fault in own))  # fmt: skip


def bridges(fault: Fault) -> bool:
    """Whether it joins what should be apart."""
    return any(isinstance(e, Bridged | LoadChange) for s in fault.severities for e in s.effects)


def _opened(site: Site, faults: list[tuple[Fault, float]]) -> Iterator[Check]:
    """Inside each suspected place, isolated: what a look and a tug would find there."""
    elements = {e.id: e for e in site.plan.elements}
    found: dict[str, list[tuple[str, float]]] = {}
    belief: dict[str, float] = {}
    for fault, probability in faults:
        for place in fault.places:
            at_place = any(
                elements[p].kind in VISIBLE and elements[p].at == (place,)
                for p in fault.parts
                if p in elements
            ) or (len(fault.places) == 1 and not _all(fault, StateChange))
            chance = SEEN_AT_PLACE if at_place and len(fault.places) == 1 else SEEN_IN_CABLE
            if _tail(fault):
                chance = SEEN_LIVE
            if _slight(fault):
                chance *= SEEN_SLIGHT
            found.setdefault(place, []).append((fault.id, chance))
            belief[place] = belief.get(place, 0.0) + probability * chance
    boards = {b.name for b in site.installation.boards}
    for place, finds in found.items():
        reachable = place in site.points or place in boards
        if belief[place] < OPEN_FROM or not reachable:
            continue
        yield Check(f"open {place}", "open", place, place, "", None, DEAD,
                    "board" if place in boards else "cover",
                    site.circuits[place].name if place in site.circuits else "",
                    tuple(finds))  # fmt: skip


def _tail(fault: Fault) -> bool:
    """Whether it is on the live side of the main switch: the operator isolates that."""
    return any(part.startswith("tail ") for part in fault.parts)


def _slight(fault: Fault) -> bool:
    ohms = [e.ohms for s in fault.severities for e in s.effects if isinstance(e, Added)]
    return bool(ohms) and max(ohms) < 1.0 and all(math.isfinite(x) for x in ohms)


def _traced(site: Site, faults: list[tuple[Fault, float]]) -> Iterator[Check]:
    """A tone on a broken conductor, followed along walls and floors to where it ends."""
    if not site.tool("tone tracer"):
        return
    mine: dict[tuple[str, str], list[tuple[str, float]]] = {}
    for fault, _ in faults:
        opens = any(
            isinstance(e, Added) and math.isinf(e.ohms) for s in fault.severities for e in s.effects
        )
        if opens and fault.circuit and len(fault.conductors) == 1:
            key = (fault.circuit, fault.conductors[0])
            mine.setdefault(key, []).append((fault.id, TRACED))
    for (circuit, conductor), finds in mine.items():
        yield Check(f"tone {circuit} {conductor}", "tone", conductor, site.board_of(circuit), "",
                    None, DEAD, "board", circuit, tuple(finds))  # fmt: skip


def _warm(site: Site, faults: list[tuple[Fault, float]]) -> Iterator[Check]:
    """A picture of heat: it shows the joints that the diagnosis finds to warm."""
    warm = {danger.place for danger in site.diagnosis.dangers if danger.kind == "heat"}
    if not site.tool("thermal camera") or not warm:
        return
    for place in sorted(warm & set(site.points)):
        finds = tuple((f.id, WARM) for f, _ in faults if f.places == (place,) and _heats(f))
        if finds:
            yield Check(f"thermal {place}", "thermal", place, place, "", None, AS_DESCRIBED,
                        "none", site.circuits[place].name, finds)  # fmt: skip


def _heats(fault: Fault) -> bool:
    """Whether it adds resistance that current may pass."""
    return any(
        isinstance(e, Added) and math.isfinite(e.ohms) for s in fault.severities for e in s.effects
    )


def _mends(site: Site, faults: list[tuple[Fault, float]]) -> Iterator[Check]:
    """What can be put right unseen: a place's joints, a cable; or is for somebody else to mend."""
    found: dict[tuple[str, str, str], list[tuple[str, float]]] = {}
    belief: dict[tuple[str, str, str], float] = {}
    runs = {run.name: run.start for c in site.installation.circuits for run in c.runs}
    ours = {*site.points, *(board.name for board in site.installation.boards)}
    for fault, probability in faults:
        run = dict(fault.detail).get("run", "")
        if NOT_OURS & set(fault.places) or _tail(fault):
            key = ("call", "the network operator", "")
        elif len(fault.places) == 1 and fault.places[0] in ours:
            if _all(fault, (StateChange, ReadingChange)):
                continue
            key = ("remake", fault.places[0], fault.places[0])
        elif len(fault.places) == 2 and run in runs:
            key = ("renew", run, runs[run])
        else:
            continue
        found.setdefault(key, []).append((fault.id, 1.0))
        belief[key] = belief.get(key, 0.0) + probability
    for (kind, what, where), finds in found.items():
        if belief[kind, what, where] < MENDED_FROM:
            continue
        access = {"call": "none"}.get(kind, "board" if where not in site.points else "cover")
        circuit = site.circuits[where].name if where in site.circuits else ""
        conditions = AS_DESCRIBED if kind == "call" else DEAD
        yield Check(f"{kind} {what}", kind, what, where, "", None, conditions, access, circuit,
                    tuple(finds))  # fmt: skip
