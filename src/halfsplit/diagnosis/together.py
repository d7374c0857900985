"""Several ways it may be wired, each diagnosed, as one answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from halfsplit.diagnosis.orders import plain_name, role, told_apart
from halfsplit.diagnosis.result import Cause, Danger, Diagnosis
from halfsplit.faults.fault import Fault
from halfsplit.wiring.model import Installation

Role = tuple[object, ...]
NOTHING = "nothing wrong"


@dataclass(frozen=True, slots=True)
class Part:
    """One way: the belief in it, the installation wired so, and its diagnosis."""

    weight: float
    installation: Installation
    found: Diagnosis


@dataclass(frozen=True, slots=True)
class Blend:
    """Causes of all ways under the names of the first; ``groups`` are those of each suspect."""

    causes: tuple[Cause, ...]
    groups: tuple[tuple[Cause, ...], ...]
    leader: Diagnosis  # of the way that believes the leading suspect most


def blend(parts: Sequence[Part], faults: Sequence[Fault]) -> Blend:
    """Weigh the parts together; ``faults`` are those of the first way, whose names are used."""
    total: dict[str, float] = {}
    best: dict[str, tuple[float, Cause]] = {}
    mass: dict[Role, dict[str, float]] = {}
    for part in parts:
        for cause in part.found.causes:
            name, weight = _name(cause, part), part.weight * cause.probability
            total[name] = total.get(name, 0.0) + weight
            if weight > best.get(name, (-1.0, cause))[0]:
                best[name] = (weight, cause)
        for suspect in part.found.suspects:
            mine = mass.setdefault(_role(suspect.members[0], part), {})
            for member in suspect.members:
                name = _name(member, part)
                mine[name] = mine.get(name, 0.0) + part.weight * member.probability
    known = {plain_name(f, parts[0].installation): f for f in faults}
    alike = {_likeness(f): f for f in reversed(faults) if f.circuit or f.members}
    causes: dict[str, Cause] = {}
    kept: dict[str, str] = {}
    for name, (_, cause) in best.items():
        fault = cause.fault
        if fault is not None:
            fault = known.get(name) or alike.get(_likeness(fault), fault)
        id = fault.id if fault else NOTHING
        kept[name] = id
        before = causes.get(id)
        more = total[name] + (before.probability if before else 0.0)
        causes[id] = replace(before or cause, fault=fault, probability=more)
    return _grouped(causes, kept, mass, parts)


def _likeness(fault: Fault) -> Role:
    """What a fault shares with that of another way which differs in the names of runs alone."""
    return fault.family, fault.conductors, fault.places, fault.circuit


def _grouped(
    causes: dict[str, Cause],
    kept: dict[str, str],
    mass: dict[Role, dict[str, float]],
    parts: Sequence[Part],
) -> Blend:
    renamed: dict[Role, dict[str, float]] = {}
    for key, names in mass.items():
        mine = renamed.setdefault(key, {})
        for name, weight in names.items():
            mine[kept[name]] = mine.get(kept[name], 0.0) + weight
    groups: dict[Role, list[Cause]] = {}
    for id, key in told_apart(renamed).items():
        groups.setdefault(key, []).append(causes[id])
    ranked = sorted(groups.items(), key=lambda g: -sum(c.probability for c in g[1]))
    ordered = tuple(
        tuple(sorted(some, key=lambda c: -round(c.probability, 12))) for _, some in ranked
    )
    every = tuple(sorted(causes.values(), key=lambda c: -round(c.probability, 12)))
    return Blend(every, ordered, _leader(ranked[0][0] if ranked else (), parts))


def _leader(key: Role, parts: Sequence[Part]) -> Diagnosis:
    """The diagnosis of the way that believes most in the leading suspect, and leads with it."""

    def belief(part: Part) -> float:
        for number, suspect in enumerate(part.found.suspects):
            if _role(suspect.members[0], part) == key:
                return part.weight * suspect.probability / (1 + number)
        return 0.0

    return max(parts, key=belief).found


def _name(cause: Cause, part: Part) -> str:
    return plain_name(cause.fault, part.installation) if cause.fault else NOTHING


def _role(cause: Cause, part: Part) -> Role:
    return role(cause.fault, part.installation) if cause.fault else (NOTHING,)


def all_dangers(parts: Sequence[Part]) -> tuple[Danger, ...]:
    """The dangers of every way: the worst figures, the belief in all together."""
    found: dict[tuple[str, str, str], Danger] = {}
    for part in parts:
        for danger in part.found.dangers:
            key = (danger.place, danger.conductor, danger.kind)
            chance, before = part.weight * danger.chance, found.get(key)
            worst = danger if before is None or danger.volts > before.volts else before
            found[key] = replace(worst, chance=chance + (before.chance if before else 0.0))
    order = {"shock": 0, "heat": 1, "unearthed": 2}
    return tuple(sorted(found.values(), key=lambda d: (order[d.kind], -d.chance)))
