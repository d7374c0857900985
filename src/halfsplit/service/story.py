"""Why a conductor that hangs free stands where it does: its divider in plain words.

Read off the circuit under the cause looked at. A divider is told only where it gives the volts that
the solver found; nothing is worded by the kind of fault.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from halfsplit.diagnosis.survey import Survey
from halfsplit.faults.words import joined
from halfsplit.quantity import ohms
from halfsplit.report.places import things
from halfsplit.service.paths import (
    FREE_OHMS,
    Edge,
    edges,
    key_words,
    looked,
    owner_words,
)
from halfsplit.service.standing import Standing
from halfsplit.wiring.conditions import AS_DESCRIBED
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import EARTH

AGREES = 0.12  # a divider is told where it gives the solved volts within this share
SHARE_TOLD = 0.04  # of the pull on a free conductor: smaller parts are left out of the words


@dataclass(frozen=True, slots=True)
class Divider:
    """A free conductor in words, and the volts that its pulls give beside those solved."""

    says: str
    gives: float
    solved: float


@dataclass(slots=True)
class _Copper:
    """Pieces of copper: node to piece, volts of a piece, its terminals, whether it hangs free."""

    piece: dict[str, str]
    at: dict[str, complex] = field(default_factory=dict)
    ends: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    free: set[str] = field(default_factory=set)


def dividers(now: Standing, cause: str = "") -> tuple[Divider, ...]:
    """For each conductor that hangs free: between what, through what, and the volts that gives."""
    at = looked(now, cause)
    there = at.survey(AS_DESCRIBED)
    found = edges(at, there)
    copper = _copper(found, there)
    inst = at.worked.job.installation
    told = (_divider(name, found, copper, inst) for name in copper.ends if name in copper.free)
    return tuple(divider for divider in told if divider is not None)


def _copper(found: Sequence[Edge], there: Survey) -> _Copper:
    copper = _Copper(_pieces(found))
    earth = copper.piece.get(EARTH, EARTH)
    copper.at[earth] = 0j
    held = there.ohms()[0] <= FREE_OHMS * 3
    bound = {earth}
    for k, terminal in enumerate(there.terminals):
        name = copper.piece.get(terminal.node, terminal.node)
        copper.at.setdefault(name, complex(there.v[0, k]))
        end = (terminal.place, terminal.conductor)
        if end not in copper.ends.setdefault(name, []):
            copper.ends[name].append(end)
        if held[k]:
            bound.add(name)
    copper.free = set(copper.ends) - bound
    return copper


def _pieces(found: Sequence[Edge]) -> dict[str, str]:
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
        if edge.what in ("wire", "contact", "unsaid") and abs(edge.z) < FREE_OHMS:
            parent[a] = b
    return {node: top(node) for node in list(parent)}


@dataclass(slots=True)
class _Pull:
    """What pulls a conductor towards one other piece of copper."""

    volts: complex
    siemens: complex = 0j
    by: dict[str, complex] = field(default_factory=dict)


def _divider(
    name: str, found: Sequence[Edge], copper: _Copper, inst: Installation
) -> Divider | None:
    pulls: dict[str, _Pull] = {}
    for edge in found:
        a, b = (copper.piece.get(node, node) for node in (edge.a, edge.b))
        if (a == name) == (b == name) or edge.z == 0:
            continue
        other = b if a == name else a
        if other not in copper.at:
            continue
        pull = pulls.setdefault(other, _Pull(copper.at[other]))
        pull.siemens += 1 / edge.z
        owner = owner_words(edge)
        pull.by[owner] = pull.by.get(owner, 0j) + 1 / edge.z
    total = sum((pull.siemens for pull in pulls.values()), 0j)
    if not total:
        return None
    gives = abs(sum(pull.siemens * pull.volts for pull in pulls.values()) / total)
    solved = abs(copper.at[name])
    if abs(gives - solved) > AGREES * max(solved, 5.0):
        return None
    strong = sorted(pulls.items(), key=lambda item: -abs(item[1].siemens))
    told = [item for item in strong if abs(item[1].siemens) >= SHARE_TOLD * abs(total)]
    return Divider(_sentence(name, told, solved, copper, inst), gives, solved)


def _sentence(
    name: str,
    told: Sequence[tuple[str, _Pull]],
    solved: float,
    copper: _Copper,
    inst: Installation,
) -> str:
    ends = copper.ends[name]
    what = things([(key, place) for place, key in ends], inst)
    one = len({key for _, key in ends}) == 1
    parts = [
        f"towards {_called(other, copper, inst)} at {abs(pull.volts):.0f} V through "
        f"{ohms(1 / abs(pull.siemens))} ({_mostly(pull.by)})"
        for other, pull in told
    ]
    alone = f"Little else holds {'it, so it stands' if one else 'them, so they stand'}"
    follows = "Between these it balances" if len(parts) > 1 else alone
    return (
        f"{what[:1].upper()}{what[1:]} {'is' if one else 'are'} joined to nothing by copper. "
        f"What pulls: {'; '.join(parts)}. {follows} at {solved:.0f} V."
    )


def _called(piece: str, copper: _Copper, inst: Installation) -> str:
    """A piece of copper by its conductors; one that hangs free with its places too."""
    ends = copper.ends.get(piece, [])
    if not ends:
        return "the ground itself"
    if piece in copper.free:
        return things([(key, place) for place, key in ends], inst)
    keys = dict.fromkeys(key for _, key in ends)
    return f"the {joined(tuple(key_words(key, inst.region) for key in keys))}"


def _mostly(by: Mapping[str, complex]) -> str:
    """The strongest owners of a pull, and how many more there are."""
    ordered = sorted(by, key=lambda owner: -abs(by[owner]))
    more = len(ordered) - 2
    return joined((*ordered[:2], f"{more} more") if more > 0 else tuple(ordered))
