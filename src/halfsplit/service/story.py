"""Why a meter showed what it showed: a free conductor's divider, the path of the current.

Both are read off the circuit under the cause looked at. A divider is told only where it gives the
volts that the solver found; nothing is worded by the kind of fault.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halfsplit.diagnosis.survey import survey
from halfsplit.faults.words import conductor_words, joined, place_words
from halfsplit.quantity import ohms, volts
from halfsplit.report.readings import told
from halfsplit.service.answer import effects_of
from halfsplit.service.live import Worked, cause_of, work
from halfsplit.service.standing import Standing
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.lower import lower
from halfsplit.wiring.model import Region
from halfsplit.wiring.plan import EARTH, Plan

FREE_OHMS = 1e3  # two nodes behind more than this stand apart
AGREES = 0.12  # a divider is told where it gives the solved volts within this share
SHARE_TOLD = 0.04  # of the pull on a free conductor: smaller parts are left out of the words


@dataclass(frozen=True, slots=True)
class Edge:
    """A way for current between two nodes: its impedance, what it is, and where."""

    a: str
    b: str
    z: complex
    what: str
    owner: str


@dataclass(frozen=True, slots=True)
class Route:
    """The easiest path that closes through a meter: hops in words, and the terminals it passes."""

    id: str
    reading: str
    hops: tuple[str, ...]
    through: frozenset[tuple[str, str]]
    ohms: str


def edges(plan: Plan, effects: Sequence[Effect], conditions: Conditions) -> tuple[Edge, ...]:
    """Every way for current, the cause's changes made."""
    lowered = lower(plan, conditions)
    added = {e.element: e.ohms for e in effects if isinstance(e, Added)}
    found = []
    for branch in lowered.network.branches:
        z = complex(branch.r, lowered.omega * branch.l) + added.get(branch.name, 0.0)
        if not math.isinf(z.real):
            found.append(Edge(branch.a, branch.b, z, "wire", branch.name))
    for coupling in plan.couplings:
        y = complex(coupling.siemens, lowered.omega * coupling.farads)
        if y:
            found.append(Edge(coupling.a, coupling.b, 1 / y, coupling.kind, coupling.owner))
    for load in lowered.loads:
        z = complex(load.rated_volts**2 / max(load.watts, 0.1))
        found.append(Edge(load.a, load.b, z, "load", load.id))
    for effect in effects:
        if isinstance(effect, Bridged) and effect.siemens:
            z = 0j if math.isinf(effect.siemens) else complex(1 / effect.siemens)
            found.append(Edge(effect.a, effect.b, z, "contact", "the fault"))
    return tuple(found)


def _islands(found: Sequence[Edge]) -> dict[str, str]:
    """Node to the name of the piece of copper it belongs to."""
    parent: dict[str, str] = {}

    def top(node: str) -> str:
        parent.setdefault(node, node)
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for edge in found:
        a, b = top(edge.a), top(edge.b)
        if edge.what in ("wire", "contact") and abs(edge.z) < FREE_OHMS and not _source(edge):
            parent[a] = b
    return {node: top(node) for node in list(parent)}


def _source(edge: Edge) -> bool:
    return edge.owner.startswith("source ") and edge.owner.count(" ") == 1


def _chosen(now: Standing, cause: str) -> tuple[Worked, tuple[Effect, ...]]:
    worked = work(now)
    found = worked.diagnosis
    chosen = cause_of(found, cause) if cause else found.suspects[0].members[0]
    return worked, effects_of(chosen)


def dividers(now: Standing, cause: str = "") -> tuple[str, ...]:
    """For each conductor that hangs free: between what, through what, and the volts that gives."""
    worked, effects = _chosen(now, cause)
    plan, inst = worked.prepared.plan, worked.job.installation
    there = survey(worked.prepared, [effects], AS_DESCRIBED)
    found = edges(plan, effects, AS_DESCRIBED)
    island = _islands(found)
    at: dict[str, complex] = {island.get(EARTH, EARTH): 0j}
    members: dict[str, list[int]] = {}
    for k, terminal in enumerate(there.terminals):
        name = island.get(terminal.node, terminal.node)
        at.setdefault(name, complex(there.v[0, k]))
        members.setdefault(name, []).append(k)
    free = there.ohms()[0] > FREE_OHMS * 3
    said = []
    for name, inside in members.items():
        if not all(free[k] for k in inside):
            continue
        ends = sorted({(there.terminals[k].place, there.terminals[k].conductor) for k in inside})
        text = _divider(name, ends, found, island, at, inst.region)
        if text:
            said.append(text)
    return tuple(said)


def _divider(
    name: str, ends: Sequence[tuple[str, str]], found: Sequence[Edge],
    island: Mapping[str, str], at: Mapping[str, complex], region: Region,
) -> str:  # fmt: skip
    pulls: dict[int, tuple[complex, complex, dict[str, complex]]] = {}
    total, weighted = 0j, 0j
    for edge in found:
        a, b = island.get(edge.a, edge.a), island.get(edge.b, edge.b)
        if (a == name) == (b == name) or edge.z == 0:
            continue
        other = b if a == name else a
        if other not in at:
            continue
        y, v = 1 / edge.z, at[other]
        total += y
        weighted += y * v
        level = round(abs(v))
        was = pulls.get(level, (0j, v, {}))
        owner = _by(edge)
        by = {**was[2], owner: was[2].get(owner, 0j) + y}
        pulls[level] = (was[0] + y, v, by)
    if not total or len(pulls) < 2:
        return ""
    gives, solved = abs(weighted / total), abs(at[name])
    if abs(gives - solved) > AGREES * max(solved, 5.0):
        return ""
    parts = []
    for y, v, by in sorted(pulls.values(), key=lambda item: -abs(item[1])):
        if abs(y) >= SHARE_TOLD * abs(total):
            parts.append(f"{volts(abs(v))} through {ohms(1 / abs(y))} ({_mostly(by)})")
    if len(parts) < 2:
        return ""
    places = joined(tuple(place_words(place, region) for place, _ in ends))
    keys = joined(tuple(_key_words(key, region) for _, key in ends))
    one = len({key for _, key in ends}) == 1
    return (
        f"The {keys} at {places} {'is' if one else 'are'} joined to nothing by copper, and pulled "
        f"towards {', and towards '.join(parts)}. Between these the balance is {volts(solved)}."
    )


def _mostly(by: Mapping[str, complex]) -> str:
    """The strongest owners of a pull, and how many more there are."""
    ordered = sorted(by, key=lambda owner: -abs(by[owner]))
    more = len(ordered) - 2
    return joined((*ordered[:2], f"{more} more") if more > 0 else tuple(ordered))


def _key_words(key: str, region: Region) -> str:
    return "metalwork" if key == "frame" else conductor_words(key, region)


def _by(edge: Edge) -> str:
    if edge.what == "insulation":
        return f"the cable {edge.owner}"
    if edge.what == "filter":
        place, _, load = edge.owner.partition("/")
        return f"the filter of {load} at {place}"
    if edge.what == "load":
        place, _, load = edge.owner.partition("/")
        return f"{load} at {place}"
    return "the fault itself" if edge.what == "contact" else edge.owner


def routes(now: Standing, cause: str = "") -> tuple[Route, ...]:
    """For each voltage read, the easiest closed path of the meter's current through the circuit."""
    worked, effects = _chosen(now, cause)
    plan, region = worked.prepared.plan, worked.job.installation.region
    sources = [e for e in plan.elements if e.kind == "source"]
    made = []
    for reading in worked.job.readings:
        if reading.kind != "volts" or reading.conditions.dead or not sources:
            continue
        found = edges(plan, effects, reading.conditions)
        best = _closed(reading.a, reading.b, found, [(s.a, s.b) for s in sources])
        if best is None:
            continue
        path, size = best
        hops = _hops(path, region)
        through = frozenset(place_key for edge in path for place_key in _terminals(edge))
        words = told(reading, worked.job.installation)
        line = f"{words.what} at {words.place}: {words.shown}"
        made.append(Route(reading.id, line, hops, through, ohms(size)))
    return tuple(made)


def _closed(
    a: str, b: str, found: Sequence[Edge], sources: Sequence[tuple[str, str]]
) -> tuple[list[Edge], float] | None:
    """The path from a source's live end to one terminal and from the other back, easiest of all."""
    graph: dict[str, list[tuple[str, Edge]]] = {}
    for edge in found:
        if not _source(edge):
            graph.setdefault(edge.a, []).append((edge.b, edge))
            graph.setdefault(edge.b, []).append((edge.a, edge))
    best: tuple[list[Edge], float] | None = None
    for star, live in sources:
        for first, second in ((a, b), (b, a)):
            out, back = _easiest(graph, live, first), _easiest(graph, second, star)
            if out is None or back is None:
                continue
            size = out[1] + back[1]
            if best is None or size < best[1]:
                best = ([*out[0], *back[0]], size)
    return best


def _easiest(
    graph: Mapping[str, list[tuple[str, Edge]]], start: str, end: str
) -> tuple[list[Edge], float] | None:
    done: set[str] = set()
    queue: list[tuple[float, int, str, list[Edge]]] = [(0.0, 0, start, [])]
    count = 0
    while queue:
        size, _, node, path = heapq.heappop(queue)
        if node == end:
            return path, size
        if node in done:
            continue
        done.add(node)
        for other, edge in graph.get(node, ()):
            if other not in done:
                count += 1
                step = [*path, edge]
                heapq.heappush(queue, (size + abs(edge.z), count, other, step))
    return None


def _terminals(edge: Edge) -> tuple[tuple[str, str], ...]:
    found = []
    for node in (edge.a, edge.b):
        place, dot, rest = node.rpartition(".")
        if dot:
            found.append((place, rest.partition(":")[0]))
    if len(found) == 2 and found[0][0] == "source":  # the star belongs to the conductor it feeds
        found[0] = ("source", found[1][1])
    return tuple(found)


def _hops(path: Sequence[Edge], region: Region) -> tuple[str, ...]:
    """The path in words: conductor and places run through, then what joins one to the next."""
    hops: list[str] = []
    key, places = "", list[str]()

    def close() -> None:
        if key and places:
            once = list(dict.fromkeys(place_words(p, region) for p in places))
            ends = once[0] if len(once) == 1 else f"{once[0]} to {once[-1]}"
            hops.append(f"{_key_words(key, region)}, {ends}")

    for edge in path:
        if edge.what == "wire" and abs(edge.z) < FREE_OHMS:
            for place, own in _terminals(edge):
                if own != key:
                    close()
                    key, places = own, []
                places.append(place)
        else:
            close()
            key, places = "", []
            hops.append(f"through {_by(edge)} ({ohms(abs(edge.z))})")
    close()
    return tuple(dict.fromkeys(hops))
