"""Mends that were tried and did not help: what they renewed is all but cleared."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from halfsplit.faults.fault import Fault
from halfsplit.faults.rates import RATES, TRIED
from halfsplit.faults.scene import Scene
from halfsplit.wiring.history import Part, Tried, tried

# The groups of rates, or families, that renewing a part puts right.
RENEWS: dict[Part, frozenset[str]] = {
    "joint": frozenset({"joint"}),
    "accessory": frozenset({"joint", "contact", "device"}),
    "device": frozenset({"device"}),
    "cable": frozenset({"core", "insulation"}),
    "load": frozenset({"appliance", "load off"}),
    "electrode": frozenset({"electrode poor"}),
    "link": frozenset({"link missing"}),
    "supply": frozenset({"supply"}),
    "board": frozenset({"joint", "device"}),
}
_AT_BOARD: tuple[Part, ...] = ("device", "board")
_AT_ORIGIN: tuple[Part, ...] = ("electrode", "link", "supply")


def less_renewed(scene: Scene) -> Callable[[Fault], Fault]:
    """Gives a fault back with what is left of its rate, after all that was renewed in vain."""
    inst = scene.installation
    house = _said(inst.history)
    by_circuit = {c.name: _said(c.history) for c in inst.circuits}
    at = {p.name: _said(p.history) for p in inst.points()}
    at |= {b.name: _said(b.history) for b in inst.boards}
    at["origin"] = _said(inst.supply.history)
    runs = {name: _said(run.exposed) for name, run in scene.runs.items()}
    boards = {board.name for board in inst.boards}
    if not any((house, *by_circuit.values(), *at.values(), *runs.values())):
        return lambda fault: fault

    def clears(fault: Fault) -> bool:
        where = set(fault.places)
        near = [t for place in fault.places for t in at.get(place, ()) if t.part != "cable"]
        near += [t for t in runs.get(dict(fault.detail).get("run", ""), ()) if t.part == "cable"]
        for t in (*house, *by_circuit.get(fault.circuit, ())):
            if t.part in _AT_BOARD:
                near += [t] * (where <= boards)
            elif t.part in _AT_ORIGIN:
                near += [t] * (where == {"origin"})
            elif t.many and where <= scene.points.keys():
                near.append(t)
        return any(_renewed(t, fault) for t in near)

    return lambda fault: replace(fault, rate=fault.rate * TRIED) if clears(fault) else fault


def _said(texts: Iterable[str]) -> tuple[Tried, ...]:
    return tuple(found for text in texts if (found := tried(text)) is not None)


def _renewed(what: Tried, fault: Fault) -> bool:
    row = RATES[fault.family]
    named = not what.conductors or set(fault.conductors) <= set(what.conductors)
    return named and bool({row.group, row.id} & RENEWS[what.part])
