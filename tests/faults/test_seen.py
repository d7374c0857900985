"""No fault is idle: each can be seen by some voltage, current or resistance, live or dead."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.network import I, V
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Effect, ReadingChange, StateChange
from halfsplit.wiring.plan import EARTH
from tests.faults.houses import EVERY
from tests.faults.solving import Bench, bench

WHAT_IS_SEEN = 1e-3  # V, A, or a thousandth of a dead resistance


def look(house: Bench, effects: tuple[Effect, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Every potential and current, and the impedance at each."""
    nodes = sorted({n for e in house.plan.elements for n in (e.a, e.b)} - {EARTH})
    closed = [e.id for e in house.plan.elements if e.id not in house.lowered.open]
    values, own = house.solve(effects, *(V(n, EARTH) for n in nodes), *(I(e) for e in closed))
    return np.array(values), np.array(own)


@pytest.mark.parametrize("named", ["radial", "american", "barn"])
def test_every_fault_can_be_seen(named: str) -> None:
    """At its mildest or its worst, each fault moves something an instrument could show."""
    moods = (Conditions(), Conditions(dead=True), Conditions(wet=True, warm=True))
    houses = [bench(EVERY[named], when) for when in moods]
    sound = [look(house, ()) for house in houses]
    idle = []
    for fault in houses[0].faults.values():
        moved = 0.0
        for severity in (fault.severities[0], fault.severities[-1]):
            if any(isinstance(e, StateChange | ReadingChange) for e in severity.effects):
                moved = 1.0
            for house, (values, own) in zip(houses, sound, strict=True):
                if moved < WHAT_IS_SEEN:
                    v, z = look(house, severity.effects)
                    ohms = np.abs(z - own) / (np.abs(own) + 1e-3)
                    moved = max(moved, float(np.abs(v - values).max()), float(ohms.max()))
        if moved < WHAT_IS_SEEN:
            idle.append(fault.id)
    assert idle == []
