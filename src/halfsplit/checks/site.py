"""What is known of the site when the next check is chosen: places, tools, what was done already."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from types import MappingProxyType

from halfsplit.checks.costs import State
from halfsplit.checks.standing import as_taken, stood
from halfsplit.diagnosis.result import Cause, Diagnosis
from halfsplit.faults.fault import Fault
from halfsplit.instruments.catalogue import INSTRUMENTS, OTHER_TOOLS
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.layout import bar
from halfsplit.wiring.model import Circuit, Installation, Point
from halfsplit.wiring.plan import Plan, Spot, node

USUAL_TOOLS = (
    "multimeter",
    "low impedance",
    "two-pole",
    "plug tester",
    "test lamp",
    "continuity",
    "insulation 250",
    "insulation 500",
    "loop low",
    "clamp",
    "leakage clamp",
)
# What is in one case with what was named: common practice.
COMES_WITH = MappingProxyType(
    {
        "multimeter": ("meter ohms",),
        "two-pole load": ("two-pole",),
        "insulation 500": ("insulation 250",),
        "insulation 1000": ("insulation 500", "insulation 250"),
    }
)
NOT_OURS = frozenset({"origin", "source"})  # sealed: the network operator's
# Families in which the earth terminal may stand live with the main switch off, by their beginning.
LOST_SUPPLY = ("supply neutral", "combined conductor", "link missing")
MOST_PLACES = 14
MOST_CIRCUITS = 3
SPECK = 1e-6  # a cause believed less is asked about nowhere
BELIEVED = 1e-3  # a cause above this counts for safety and for where to look
EARTHED_OHMS = 5.0  # a protective conductor measured below this is continuous: judgement
LIMIT_OHMS = 1e6  # an insulation reading above this lets a device be closed again
NO_SHORT_OHMS = 1e3  # and where fixed equipment forbids one, a continuity reading above this


@dataclass(frozen=True, slots=True)
class Site:
    """Everything candidates and rules ask about.

    ``places`` are the spots worth a reading, those nearest the suspects first; ``belief`` by place;
    ``suspected`` the parts that a cause believed concerns;
    ``earthed`` places whose protective conductor was measured dead; ``tripped`` circuits behind a
    device that parted at once and have had no dead test since; ``alarm`` is heat, smell, shock or
    water reported and nothing proved dead since; ``lost_supply`` is the belief that the supply's
    neutral or combined conductor is lost or poor.
    """

    installation: Installation
    plan: Plan
    readings: tuple[Reading, ...]
    diagnosis: Diagnosis
    tools: tuple[str, ...]
    state: State
    sources: tuple[str, ...]
    places: tuple[Spot, ...]
    belief: dict[str, float]
    points: dict[str, Point]
    circuits: dict[str, Circuit]
    suspected: frozenset[str]
    earthed: frozenset[str]
    tripped: frozenset[str]
    alarm: bool
    lost_supply: float

    @property
    def believed(self) -> Iterator[Cause]:
        """The causes that anything is asked about, most believed first."""
        return takewhile(lambda cause: cause.probability >= SPECK, self.diagnosis.causes)

    @property
    def region(self) -> str:
        """The region, whose words and habits apply."""
        return self.installation.region

    def tool(self, *ids: str) -> str:
        """The first of these instruments that is at hand, "" for none."""
        return next((one for one in ids if one in self.tools), "")

    def circuit_of(self, place: str) -> Circuit | None:
        """The circuit a point is on; None for boards and the origin."""
        return self.circuits.get(place)

    def board_of(self, circuit: str) -> str:
        """The board a circuit starts from; the first board where it is not known."""
        boards = {c.name: c.board for c in self.installation.circuits}
        return boards.get(circuit, self.installation.boards[0].name)

    def neutral_bar(self, circuit: Circuit) -> str:
        """The node of a circuit's neutral at its board."""
        if "N" in circuit.device.poles or circuit.device.residual_amps:
            return node(circuit.board, "N", f"way {circuit.name}")
        board = next(b for b in self.installation.boards if b.name == circuit.board)
        return bar(board, circuit.name, "N")

    def home(self, circuit: Circuit, key: str) -> str:
        """The board's end of a conductor of a circuit: its way, bar or earth bar."""
        if key == "E":
            return node(circuit.board, "E")
        if key == "N":
            return self.neutral_bar(circuit)
        return node(circuit.board, key, f"way {circuit.name}")

    def share(self, which: Callable[[Fault], bool]) -> float:
        """Belief in causes of some sort."""
        return sum(c.probability for c in self.believed if c.fault is not None and which(c.fault))

    def suspected_circuits(self) -> tuple[Circuit, ...]:
        """The circuits most suspected, of those with a place worth a reading."""
        found = {c.name: c for s in self.places if (c := self.circuit_of(s.name))}
        belief = dict.fromkeys(found, 0.0)
        for cause in self.diagnosis.causes:
            if cause.fault and cause.fault.circuit in belief:
                belief[cause.fault.circuit] += cause.probability
        order = sorted(found, key=lambda name: -round(belief[name], 9))
        return tuple(found[name] for name in order[:MOST_CIRCUITS])

    def believing(self, causes: Sequence[Cause]) -> Site:
        """The same site with other beliefs."""
        order = sorted(causes, key=lambda cause: -round(cause.probability, 12))
        diagnosis = replace(self.diagnosis, causes=tuple(order))
        belief = _belief(diagnosis)
        return replace(
            self,
            diagnosis=diagnosis,
            places=_places(self.plan, diagnosis, belief, self.circuits),
            belief=belief,
            suspected=_suspected(diagnosis),
            lost_supply=_lost_supply(diagnosis),
        )

    def behind(self, place: str) -> str:
        """What must be opened to reach the terminals at a place: cover, floor, loft or sealed."""
        point = self.points.get(place)
        return "cover" if point is None or point.access == "plug" else point.access


def look_round(
    installation: Installation,
    plan: Plan,
    readings: Sequence[Reading],
    diagnosis: Diagnosis,
    tools: Sequence[str] = (),
    state: State | None = None,
    sources: Sequence[str] = (),
) -> Site:
    """The site as its description, readings and suspects show it.

    Without a ``state`` what lasts is taken from the readings' conditions, in their order.
    """
    points = {p.name: p for c in installation.circuits for p in c.points}
    circuits = {p.name: c for c in installation.circuits for p in c.points}
    belief = _belief(diagnosis)
    named = [one for one in tools if one in INSTRUMENTS or one in OTHER_TOOLS]
    at_hand = dict.fromkeys([*named, *(more for one in named for more in COMES_WITH.get(one, ()))])
    return Site(
        installation,
        plan,
        tuple(readings),
        diagnosis,
        tuple(at_hand) or USUAL_TOOLS,
        stood(as_taken(readings), plan) if state is None else state,
        tuple(sources),
        _places(plan, diagnosis, belief, circuits),
        belief,
        points,
        circuits,
        _suspected(diagnosis),
        _earthed(readings, frozenset(b.name for b in installation.boards)),
        _tripped(readings, plan, installation.circuits),
        diagnosis.alarm and not (state is not None and state.isolated) and not _proved(readings),
        _lost_supply(diagnosis),
    )


def _lost_supply(diagnosis: Diagnosis) -> float:
    """Belief that the supply's neutral or combined conductor is lost or poor."""
    lost = (c for c in diagnosis.causes if c.fault and c.fault.family.startswith(LOST_SUPPLY))
    return sum(cause.probability for cause in lost)


def _belief(diagnosis: Diagnosis) -> dict[str, float]:
    """Belief that the fault is at each place."""
    found: dict[str, float] = {}
    for cause in diagnosis.causes:
        places = cause.fault.places if cause.fault else ()
        for place in places:
            found[place] = found.get(place, 0.0) + cause.probability / len(places)
    return found


def _suspected(diagnosis: Diagnosis) -> frozenset[str]:
    """Parts that mending some believed cause would disturb."""
    return frozenset(
        part
        for cause in diagnosis.causes
        if cause.fault and cause.probability >= BELIEVED
        for part in cause.fault.parts
    )


def _places(
    plan: Plan, diagnosis: Diagnosis, belief: dict[str, float], circuits: dict[str, Circuit]
) -> tuple[Spot, ...]:
    """Points on the circuits that are suspected, where suspects sit and next to them first."""
    suspected: dict[str, float] = {}
    for cause in diagnosis.causes:
        if cause.fault and cause.fault.circuit:
            name = cause.fault.circuit
            suspected[name] = suspected.get(name, 0.0) + cause.probability
    if not suspected:
        suspected = {c.name: 1.0 for c in circuits.values()}
    worth: dict[str, float] = {}
    for spot in plan.spots:
        if spot.name not in circuits or spot.access == "sealed":
            continue
        share = suspected.get(spot.circuit, 0.0)
        worth[spot.name] = belief.get(spot.name, 0.0) + 0.02 * share
        if not spot.downstream:
            worth[spot.name] += 0.2 * share  # an end tells of everything before it
    spots = {s.name: s for s in plan.spots}
    order = sorted(worth, key=lambda name: -round(worth[name], 9))
    kept = [name for name in order if worth[name] > 1e-4][:MOST_PLACES] or order[:MOST_PLACES]
    return tuple(spots[name] for name in kept)


def _proved(readings: Sequence[Reading]) -> bool:
    return any(r.kind == "proved dead" and r.seen == "dead" for r in readings)


def _earthed(readings: Sequence[Reading], boards: frozenset[str]) -> frozenset[str]:
    """Places whose protective conductor was measured continuous to a board, dead.

    Either with a wandering lead, or with a link from earth to another conductor at the board.
    """
    found = set()
    for r in readings:
        if r.kind != "ohms" or r.value is None or r.bound == ">" or r.value > EARTHED_OHMS:
            continue
        (p, a), (q, b) = _split(r.a), _split(r.b)
        linked = any(_split(x)[0] in boards and _split(x)[1] == "E"
                     for link in r.conditions.links for x in link)  # fmt: skip
        if a == b == "E" and (p in boards) != (q in boards):
            found |= {p, q} - boards
        elif linked and p == q and "E" in (a, b):
            found.add(p)
    return frozenset(found)


def _split(end: str) -> tuple[str, str]:
    place, _, rest = end.rpartition(".")
    return place, rest.partition(":")[0]


def _tripped(
    readings: Sequence[Reading], plan: Plan, circuits: Sequence[Circuit]
) -> frozenset[str]:
    """Circuits behind a device that parted at once, without good dead tests since."""
    names = {r.of for r in readings if r.kind == "trips" and r.seen in ("at once", "trips")}
    parted = [way for way in plan.ways if way.name in names]
    if "" in names or any(not way.name for way in parted):
        parted = [way for way in plan.ways if way.circuit]
    return frozenset(
        circuit.name
        for way in parted
        for circuit in circuits
        if circuit.name in (*way.covers, way.circuit)
        if not _apart(circuit, readings, plan, ("E",) if way.kind == "rcd" else ("N", "E"))
    )


def _apart(
    circuit: Circuit, readings: Sequence[Reading], plan: Plan, others: Sequence[str]
) -> bool:
    """Whether every line of a circuit was measured apart from these conductors, dead."""
    spots = {s.name: s.circuit for s in plan.spots}
    lines = [key for key, _ in circuit.legs]
    pairs: set[frozenset[str]] = set()
    for r in readings:
        ends = [_split(end) for end in (r.a, r.b)]
        mine = {spots.get(place, "") for place, _ in ends}
        mine |= {end.partition(":way ")[2] for end in (r.a, r.b)}
        parted = any(
            f" {key} " in joint for joint in r.conditions.lifted for key, _ in circuit.legs
        )
        if circuit.name not in mine or parted or not _good(r):
            continue
        keys = [{key} for _, key in ends]
        for link in r.conditions.links:
            joined = {_split(end)[1] for end in link}
            keys = [one | joined if one & joined else one for one in keys]
        pairs |= {frozenset((a, b)) for a in keys[0] for b in keys[1]}
    there = {core.start for run in circuit.runs for core in run.cores}
    return all({a, b} in pairs for a in lines for b in others if b in there)


def _half(r: Reading, lines: Sequence[str]) -> bool:
    """Whether a line was parted for it, so that it saw a part of the circuit."""
    return any(f" {key} " in joint for joint in r.conditions.lifted for key in lines)


def _good(r: Reading) -> bool:
    """Whether a dead test finds two conductors apart: insulated, or not continuous."""
    if not r.conditions.dead or r.value is None or r.bound == "<":
        return False
    least = {"megohms": LIMIT_OHMS, "ohms": NO_SHORT_OHMS}.get(r.kind, math.inf)
    return r.bound == ">" or r.value >= least
