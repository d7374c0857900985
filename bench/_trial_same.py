"""Which causes are one: no reading that an electrician may take tells them apart.

Worked out by the bench from the simulator alone: what each load does, what trips, volts at every
place as described and with everything out, there with a meter that loads and without; continuity
from the board to every terminal; insulation between the conductors of each circuit. Two outcomes
are one where they differ by less than a quarter of what such a reading resolves (a total variation
under a tenth between two normals). Ghost voltages do not count: what hangs free is compared with a
light load on it, since nobody knows the capacitances that decide it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations

from bench._trial_meters import trip_word
from bench._trial_parts import EARTH, Shunt
from bench._trial_settle import Unsolved
from bench._trial_site import Site
from halfsplit.faults.fault import Fault
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect, ReadingChange
from halfsplit.wiring.plan import Plan

RESOLVED = 0.25
VOLT_SHARE, OHM_SHARE, OHM_FLOOR = 0.012, 0.05, 0.03
LIGHT_OHMS, LOAD_OHMS = 10e3, 3500.0
LIVE, OUT = Conditions(), Conditions(unplugged=("all",))
DEAD = Conditions(dead=True, unplugged=("all",))
Outcome = tuple[str, float | str]
Stage = Callable[[Site], Iterator[Outcome]]


@dataclass(frozen=True)
class Sameness:
    """Compares causes with the true one on the same site."""

    site: Site
    _true: dict[Stage, list[Outcome]] = field(default_factory=dict)

    def same(self, effects: tuple[Effect, ...]) -> bool:
        """Whether no allowed check parts these effects from what is truly wrong."""
        true = self.site.wrong.effects
        if any(isinstance(e, ReadingChange) for e in (*effects, *true)):
            return effects == true  # an instrument is proved on its own
        other = replace(self.site, wrong=replace(self.site.wrong, effects=effects), _known={})
        try:
            for stage in (_live, _continuity, _loaded, _insulation):
                if stage not in self._true:
                    self._true[stage] = list(stage(self.site))
                pairs = zip(self._true[stage], stage(other), strict=True)
                if not all(alike(a, b, self.site.parts.plan.volts) for a, b in pairs):
                    return False
        except Unsolved:
            return False
        return True


def fitted(fault: Fault | None, likeliest: str, true: tuple[Effect, ...]) -> tuple[Effect, ...]:
    """A cause's effects, its size that of what is truly wrong where both are of one sort."""
    if fault is None:
        return ()
    step = next((s for s in fault.severities if s.name == likeliest), fault.severities[0])
    ohms = [e.ohms for e in true if isinstance(e, Added)]
    siemens = [e.siemens for e in true if isinstance(e, Bridged)]
    found: list[Effect] = []
    for effect in step.effects:
        graded = len(fault.severities) > 1
        if graded and isinstance(effect, Added) and len(ohms) == 1 and math.isfinite(ohms[0]):
            found.append(replace(effect, ohms=ohms[0]))
        elif graded and isinstance(effect, Bridged) and len(siemens) == 1 and effect.siemens:
            found.append(replace(effect, siemens=siemens[0]))
        else:
            found.append(effect)
    return tuple(found)


def on_site(effects: tuple[Effect, ...], alias: Mapping[str, str]) -> tuple[Effect, ...]:
    """Effects in the site's names, where the description calls its parts otherwise."""
    found: list[Effect] = []
    for effect in effects:
        if isinstance(effect, Added):
            found.append(replace(effect, element=alias.get(effect.element, effect.element)))
        elif isinstance(effect, Bridged):
            a, b = alias.get(effect.a, effect.a), alias.get(effect.b, effect.b)
            found.append(replace(effect, a=a, b=b))
        else:
            found.append(effect)
    return tuple(found)


def alike(one: Outcome, other: Outcome, volts: float) -> bool:
    """Whether two outcomes of one check cannot be told apart."""
    kind, a = one
    b = other[1]
    if isinstance(a, str) or isinstance(b, str):
        return a == b
    if kind == "volts":
        return abs(a - b) <= RESOLVED * VOLT_SHARE * volts
    if kind == "megohms":
        a, b = min(a, 5e8), min(b, 5e8)
        return abs(math.log(max(a, 1e4) / max(b, 1e4))) <= RESOLVED * 0.5
    a, b = min(a, 2e3), min(b, 2e3)
    return abs(a - b) <= RESOLVED * (OHM_SHARE * max(a, b) + OHM_FLOOR)


def places(plan: Plan) -> Iterator[tuple[str, list[str]]]:
    """Every place with the nodes that a probe reaches there."""
    for spot in plan.spots:
        if spot.name != "origin":
            part = ":front" if spot.front else ""
            yield spot.name, [f"{spot.name}.{key}{part}" for key in spot.conductors]


def _live(site: Site) -> Iterator[Outcome]:
    reached = [nodes for _, nodes in places(site.parts.plan)]
    light = [Shunt(node, EARTH, 1 / LIGHT_OHMS) for nodes in reached for node in nodes]
    for conditions in (LIVE, OUT):
        found = site.found(conditions)
        for way in site.parts.plan.ways:
            yield "word", trip_word(found, way.name)
        draws = {draw.id: draw for draw in found.net.draws}
        for load in site.parts.plan.loads:
            draw = draws.get(load.id)
            yield "word", f"{draw.kind} {draw.watts:.0f} W" if draw else "draws nothing"
            yield "volts", abs(found.volts.between(load.a, load.b)) if draw else 0.0
        volts = site.found(conditions, light).volts
        for nodes in reached:
            for node in nodes:
                yield "volts", abs(volts.at(node))
            for a, b in combinations(nodes, 2):
                yield "volts", abs(volts.between(a, b))


def _loaded(site: Site) -> Iterator[Outcome]:
    pairs = [pair for _, nodes in places(site.parts.plan) for pair in combinations(nodes, 2)]
    for volts, ohms in site.ports(OUT, pairs):
        yield "volts", abs(volts / (1 + ohms / LOAD_OHMS))


def homes(plan: Plan) -> dict[tuple[str, str], str]:
    """By circuit and conductor, the terminal at its board."""
    boards = {spot.name for spot in plan.spots if spot.kind == "board"}
    found: dict[tuple[str, str], str] = {}
    for e in plan.elements:
        if e.kind == "joint" and e.run and e.at[0] in boards:
            terminal = e.b if e.a.endswith(f":{e.run}") else e.a
            found.setdefault((e.circuit, e.conductor), terminal)
    return found


def _continuity(site: Site) -> Iterator[Outcome]:
    plan = site.parts.plan
    home, pairs = homes(plan), []
    for spot in plan.spots:
        part = ":front" if spot.front else ""
        for key in spot.conductors:
            start = home.get((spot.circuit, key))
            if start and spot.kind != "board":
                pairs.append((start, f"{spot.name}.{key}{part}"))
    for _, ohms in site.ports(DEAD, pairs):
        yield "ohms", abs(ohms)


def _insulation(site: Site) -> Iterator[Outcome]:
    home = homes(site.parts.plan)
    pairs: list[tuple[str, str]] = []
    for circuit in dict.fromkeys(name for name, _ in home):
        pairs += combinations([node for (name, _), node in home.items() if name == circuit], 2)
    for _, ohms in site.ports(DEAD, pairs):
        yield "megohms", abs(ohms)
