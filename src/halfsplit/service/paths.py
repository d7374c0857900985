"""Every way for current in the circuit under a cause, and the easiest path through a meter."""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halfsplit.diagnosis.result import Compared
from halfsplit.diagnosis.survey import Survey, survey
from halfsplit.faults.words import conductor_words, place_words
from halfsplit.instruments.reading import Reading
from halfsplit.quantity import ohms
from halfsplit.report.readings import told
from halfsplit.service.live import Worked, believed_effects, cause_of, work
from halfsplit.service.standing import Standing
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.model import Region
from halfsplit.wiring.plan import EARTH, Plan

FREE_OHMS = 1e3  # two nodes behind more than this stand apart
LEAST_TOLD = 5.0  # volts read: fewer are a drop along copper, which no single path tells
LEAST_VOLTS = 1e-6  # across a load: below this it says nothing about what the load lets through


@dataclass(frozen=True, slots=True)
class Edge:
    """A way for current between two nodes: its impedance, what it is, and where."""

    a: str
    b: str
    z: complex
    what: str
    owner: str


@dataclass(frozen=True, slots=True)
class Leg:
    """One core of a run that the path goes through: ``key`` where it starts, ``down`` along it."""

    run: str
    key: str
    down: bool


@dataclass(frozen=True, slots=True)
class Route:
    """The easiest path that closes through a meter, in words (``hops``) and as cores (``legs``).

    ``ends`` are the two terminals the meter is on, as (place, conductor key); ``passes`` what it
    has to get through besides copper, with the place ("" for a cable).
    """

    id: str
    reading: str
    hops: tuple[str, ...]
    passes: tuple[tuple[str, str], ...]
    legs: tuple[Leg, ...]
    ends: tuple[tuple[str, str], ...]
    ohms: str


@dataclass(frozen=True, slots=True)
class Looked:
    """A job with the cause looked at: its own effects, and those of a load nobody mentioned."""

    worked: Worked
    own: tuple[Effect, ...]
    beside: tuple[Effect, ...]

    def survey(self, conditions: Conditions) -> Survey:
        """Every terminal under the cause in those conditions."""
        return survey(self.worked.prepared, [self.own + self.beside], conditions)


def looked(now: Standing, cause: str) -> Looked:
    """The job as it stands with the cause looked at, the leading one when none is named."""
    worked = work(now)
    found = worked.diagnosis
    chosen = cause_of(found, cause) if cause else found.suspects[0].members[0]
    return Looked(worked, *believed_effects(worked, chosen))


def edges(at: Looked, there: Survey) -> tuple[Edge, ...]:
    """Every way for current, the cause's changes made, loads as they draw where ``there`` solved.

    A load's impedance is its solved volts over its solved amperes, so what it lets through at a
    few microamperes is not taken from its rating.
    """
    lowered = there.scene.lowered
    added = {e.element: e.ohms for e in at.own if isinstance(e, Added)}
    sources = {e.id for e in at.worked.prepared.plan.elements if e.kind == "source"}
    found = []
    for branch in lowered.network.branches:
        z = complex(branch.r, lowered.omega * branch.l) + added.get(branch.name, 0.0)
        if not math.isinf(z.real):
            what = "source" if branch.name in sources else "wire"
            found.append(Edge(branch.a, branch.b, z, what, branch.name))
    for coupling in at.worked.prepared.plan.couplings:
        y = complex(coupling.siemens, lowered.omega * coupling.farads)
        if y:
            found.append(Edge(coupling.a, coupling.b, 1 / y, coupling.kind, coupling.owner))
    volts, amps = there.answers.volts[0], there.answers.amps[0]
    for k, load in enumerate(lowered.loads):
        v, i = complex(volts[k]), complex(amps[k])
        if abs(v) > LEAST_VOLTS and i:
            found.append(Edge(load.a, load.b, v / i, "load", load.id))
    for effect, what in [(e, "contact") for e in at.own] + [(e, "unsaid") for e in at.beside]:
        if isinstance(effect, Bridged):
            y = complex(effect.siemens, lowered.omega * effect.farads)
            if y:
                z = 0j if math.isinf(effect.siemens) else 1 / y
                found.append(Edge(effect.a, effect.b, z, what, ""))
    return tuple(found)


def routes(now: Standing, cause: str = "", only: str = "") -> tuple[Route, ...]:
    """For each voltage read (or ``only`` one), the easiest closed path of its meter's current."""
    at = looked(now, cause)
    made = []
    for reading in at.worked.job.readings:
        if _told(reading) and only in ("", reading.id):
            found = _route(at, reading)
            if found is not None:
                made.append(found)
    return tuple(made)


def _told(reading: Reading) -> bool:
    live = reading.kind == "volts" and not reading.conditions.dead
    return live and reading.value is not None and reading.value >= LEAST_TOLD


def strangest(compared: Sequence[Compared]) -> str:
    """The reading whose path is worth drawing first: its volts moved most from what is sound."""
    moved = {
        item.reading.id: abs(item.predicted - item.sound)
        for item in compared
        if _told(item.reading) and item.predicted is not None and item.sound is not None
    }
    return max(moved, key=lambda id: moved[id], default="")


def _route(at: Looked, reading: Reading) -> Route | None:
    plan, inst = at.worked.prepared.plan, at.worked.job.installation
    sources = [(e.a, e.b) for e in plan.elements if e.kind == "source"]
    found = edges(at, at.survey(reading.conditions))
    best = _closed(reading.a, reading.b, found, sources)
    if best is None:
        return None
    path, size = best
    words = told(reading, inst)
    hops, passes = _hops(path, inst.region)
    return Route(
        reading.id, f"{words.what} at {words.place}: {words.shown}", hops, passes,
        _legs(path, plan), tuple(_terminal(node) for node in (reading.a, reading.b)), ohms(size),
    )  # fmt: skip


Steps = list[tuple[Edge, bool]]
"""Edges one after another, each with whether it is gone through from its ``a`` to its ``b``."""


def _closed(
    a: str, b: str, found: Sequence[Edge], sources: Sequence[tuple[str, str]]
) -> tuple[Steps, float] | None:
    """The path from a source's live end to one terminal and from the other back, easiest of all."""
    graph: dict[str, list[tuple[str, Edge]]] = {}
    for edge in found:
        if edge.what != "source":
            graph.setdefault(edge.a, []).append((edge.b, edge))
            graph.setdefault(edge.b, []).append((edge.a, edge))
    best: tuple[Steps, float] | None = None
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
) -> tuple[Steps, float] | None:
    came: dict[str, tuple[str, Edge]] = {}
    done: dict[str, float] = {}
    queue: list[tuple[float, int, str, str, Edge | None]] = [(0.0, 0, start, "", None)]
    count = 0
    while queue:
        size, _, node, before, edge = heapq.heappop(queue)
        if node in done:
            continue
        done[node] = size
        if edge is not None:
            came[node] = (before, edge)
        if node == end:
            break
        for other, way in graph.get(node, ()):
            if other not in done:
                count += 1
                heapq.heappush(queue, (size + abs(way.z), count, other, node, way))
    if end not in done:
        return None
    path: Steps = []
    node = end
    while node != start:
        before, edge = came[node]
        path.append((edge, edge.a == before))
        node = before
    return path[::-1], done[end]


def _legs(path: Steps, plan: Plan) -> tuple[Leg, ...]:
    cores = {e.id: e for e in plan.elements if e.kind == "core"}
    found = []
    for edge, forward in path:
        core = cores.get(edge.owner)
        if core is not None:
            found.append(Leg(core.run, _terminal(core.a)[1], forward))
    return tuple(found)


def _terminal(node: str) -> tuple[str, str]:
    """(place, conductor key) of a node's name; a load's own ends belong to its place."""
    place, dot, rest = node.rpartition(".")
    if dot:
        return place, rest.partition(":")[0]
    return node.partition("/")[0], "frame" if node.endswith(":frame") else ""


def _terminals(edge: Edge) -> tuple[tuple[str, str], ...]:
    found = [_terminal(node) for node in (edge.a, edge.b) if "." in node]
    if len(found) == 2 and found[0][0] == "source":  # the star belongs to the conductor it feeds
        found[0] = ("source", found[1][1])
    return tuple(found)


def _hops(path: Steps, region: Region) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """The path in words: conductor and places run through, and what joins one to the next."""
    hops: list[str] = []
    passes: list[tuple[str, str]] = []
    key, places = "", list[str]()

    def close() -> None:
        if key and places and set(places) != {"origin"}:  # where names change and copper goes on
            once = list(dict.fromkeys(place_words(p, region) for p in places))
            ends = once[0] if len(once) == 1 else f"{once[0]} to {once[-1]}"
            hops.append(f"{key_words(key, region)}, {ends}")

    for edge, forward in path:
        if EARTH in (edge.a, edge.b) and edge.what == "wire":
            close()
            key, places = "", []
            hops.append("the ground itself")
        elif edge.what == "wire" and abs(edge.z) < FREE_OHMS:
            for place, own in _terminals(edge)[:: 1 if forward else -1]:
                if own != key:
                    close()
                    key, places = own, []
                places.append(place)
        else:
            close()
            key, places = "", []
            words = f"{owner_words(edge)} ({ohms(abs(edge.z))})"
            passes.append((_terminal(edge.a)[0] if edge.what != "insulation" else "", words))
            hops.append(f"through {words}")
    close()
    return tuple(dict.fromkeys(hops)), tuple(dict.fromkeys(passes))


def key_words(key: str, region: Region) -> str:
    """A conductor in words; an earthed frame is metalwork."""
    return "metalwork" if key == "frame" else conductor_words(key, region)


def owner_words(edge: Edge) -> str:
    """What an edge that is not copper is."""
    place, _, load = edge.owner.partition("/")
    if edge.what == "insulation":
        return f"the insulation of the cable {edge.owner}"
    if edge.what == "filter":
        return f"the filter of {load} at {place}"
    if edge.what == "load":
        return f"{load} at {place}"
    if edge.what == "unsaid":
        return "something in use that nobody mentioned"
    return "the fault itself" if edge.what == "contact" else edge.owner
