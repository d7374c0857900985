"""What was counted in an opened box: cables, cores, and cores that end in nothing.

The plan says how many there are; a fault that has every core of a cable off may have taken that
cable out of sight, and one that leaves a core on nothing leaves it loose.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import Added, Bridged, Effect
from halfsplit.wiring.plan import Element, Plan

MISCOUNTED = 0.1  # of counts, off by one oftener than by two: judgement
OUT_OF_SIGHT = 0.5  # of cables that are off, or cut: judgement
FOUND_LOOSE = 0.8  # of cores that end in nothing, once the box is open: judgement
SPARE = 0.02  # of conductors at a place with a spare core nobody drew: judgement


class Box:
    """The cores that reach one place, and all else that is joined to anything there."""

    def __init__(self, plan: Plan, place: str) -> None:
        here = [e for e in plan.elements if place in e.at]
        cores = [e for e in here if e.kind == "core"]
        self.joints = {e.id: e for e in here if e.kind == "joint"}
        ends = {e.a: e for e in cores if e.at[0] == place}
        self.ends: dict[str, Element] = ends | {e.b: e for e in cores if e.at[-1] == place}
        self.others = [e for e in here if e.kind not in ("core", "joint")]
        self.ids = {e.id for e in here}
        self.nodes = {node for e in here for node in (e.a, e.b)}

    def chance(self, reading: Reading, effects: Sequence[Effect]) -> float:
        """Chance of what is said to have been counted, with these effects in the circuit."""
        effects = [e for e in effects if self._here(e)]
        off = {e.element for e in effects if isinstance(e, Added) and math.isinf(e.ohms)}
        if reading.seen == "loose":
            there = any(self._loose(key, effects, off) for key in reading.conductors)
            return FOUND_LOOSE if there else SPARE
        wanted = [
            end for end in self.ends
            if not reading.conductors or _key(end) in reading.conductors
        ]  # fmt: skip
        seen = [end for end in wanted if not self._gone(end, off)]
        count = int(reading.value or 0)
        sizes = [_runs(self.ends, ends) if reading.seen == "cables" else len(ends)
                 for ends in (wanted, seen)]  # fmt: skip
        share = OUT_OF_SIGHT if sizes[0] != sizes[1] else 0.0
        return (1 - share) * _counted(count, sizes[0]) + share * _counted(count, sizes[1])

    def _here(self, effect: Effect) -> bool:
        """Whether it parts something at this place, or joins something to it solidly."""
        if isinstance(effect, Bridged):
            return math.isinf(effect.siemens) and bool(self.nodes & {effect.a, effect.b})
        return isinstance(effect, Added) and effect.element in self.ids

    def _gone(self, end: str, off: set[str]) -> bool:
        """Whether all cores of that core's cable are off here, or parted."""
        run = self.ends[end].run
        alike = [e for e in self.ends if self.ends[e].run == run]
        return len(alike) > 1 and all(
            self.ends[e].id in off or any(j.id in off for j in self._joints(e)) for e in alike
        )

    def _joints(self, end: str) -> list[Element]:
        return [j for j in self.joints.values() if end in (j.a, j.b)]

    def _loose(self, key: str, effects: Sequence[Effect], off: set[str]) -> bool:
        """Whether a core of this conductor is joined to nothing at the place."""
        ties = [(e.a, e.b) for e in (*self.joints.values(), *self.others) if e.id not in off]
        ties += [(e.a, e.b) for e in effects if isinstance(e, Bridged) and math.isinf(e.siemens)]
        used = {n for e in self.others if e.id not in off for n in (e.a, e.b)}
        for end in self.ends:
            if _key(end) == key and self.ends[end].id not in off:
                joined = _joined(end, ties) - {end}
                if not joined & (used | self.ends.keys()) and not any("." not in n for n in joined):
                    return True
        return False


def _key(end: str) -> str:
    return end.rpartition(".")[2].partition(":")[0]


def _runs(cores: dict[str, Element], ends: Iterable[str]) -> int:
    return len({cores[end].run for end in ends})


def _joined(node: str, ties: Sequence[tuple[str, str]]) -> set[str]:
    """Every node that is joined to this one by ties alone."""
    found, waiting = {node}, [node]
    while waiting:
        here = waiting.pop()
        beside = {a if b == here else b for a, b in ties if here in (a, b)} - found
        found |= beside
        waiting += beside
    return found


def _counted(said: int, there: int) -> float:
    """Chance of a count: right, or off by one, by two in halves."""
    return 1 - MISCOUNTED if said == there else MISCOUNTED * 0.5 ** (abs(said - there) + 1)
