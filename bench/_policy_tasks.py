"""Abstract search problems for the bench of policies: drawn at random, nothing of the trade in
them but that conditions last and that walking takes time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfsplit.checks.policy import Real, Task

LIVE, DEAD, EITHER = 0, 1, 2
WALK, ISOLATE, ENERGISE = 1.0, 5.0, 2.0
LOST = 60.0
SLIP = 0.03  # a measurement comes out as another outcome
SEEN = 0.95  # a look that slips may allow sees what is there

State = tuple[int, int]  # where one stands, and whether it is isolated


@dataclass(frozen=True)
class Walked:
    """Prices of an abstract problem: own minutes, a walk, and a change between live and dead."""

    own: Real
    place: NDArray[np.intp]
    needs: NDArray[np.intp]

    def minutes(self, state: State) -> Real:
        """(A,) minutes of every action."""
        at, mode = state
        walk = np.where((self.place != at) & (self.place >= 0), WALK, 0.0)
        turn = np.where((self.needs == DEAD) & (mode == LIVE), ISOLATE, 0.0)
        turn += np.where((self.needs == LIVE) & (mode == DEAD), ENERGISE, 0.0)
        return np.asarray(self.own + walk + turn, dtype=np.float64)

    def after(self, state: State, action: int) -> State:
        """Where one stands then, and whether isolated."""
        place, need = int(self.place[action]), int(self.needs[action])
        return (state[0] if place < 0 else place, state[1] if need == EITHER else need)


START: State = (0, LIVE)


def drawn(rng: np.random.Generator, count: int, checks: int, slips: bool) -> Task[State]:
    """A problem of ``count`` suspects and ``checks`` measurements, with a look at each place.

    Half of the measurements part the suspects at a point, as a volt reading along a circuit does;
    the others part them at random in two or three.
    """
    places = max(count // 2, 2)
    at = np.sort(rng.integers(1, places + 1, count))
    belief = rng.dirichlet(np.full(count, 0.8))
    tables, own, place, needs = [], [], [], []
    for k in range(checks):
        where = int(rng.integers(0, places + 1))
        if k % 2 == 0:
            shown = (at > where).astype(int)
            shown = np.where((at == where) & (rng.random(count) < 0.5), 1, shown)
        else:
            shown = rng.integers(0, rng.integers(2, 4), count)
        tables.append(np.eye(3)[shown])
        own.append(float(np.exp(rng.normal(0.5, 0.7))))
        place.append(where if rng.random() < 0.85 else -1)
        needs.append(int(rng.choice([LIVE, DEAD, EITHER], p=[0.45, 0.4, 0.15])))
    measured = len(tables)
    for where in np.unique(at):
        found = (at == where).astype(float) * (SEEN if slips else 1.0)
        tables.append(np.stack([found, 1 - found, 0 * found], axis=1))
        own.append(float(np.exp(rng.normal(1.9, 0.5))))
        place.append(int(where))
        needs.append(DEAD)
    chance = np.stack(tables)
    if slips:
        chance[:measured] = slipped(chance[:measured])
    ends = np.arange(len(tables)) >= measured
    prices = Walked(np.array(own), np.array(place), np.array(needs))
    return Task(belief, np.arange(count), chance, ends, prices, np.full(count, LOST))


def slipped(chance: Real) -> Real:
    """Tables in which every outcome that an action has may come out as another of its own."""
    has = chance.sum(axis=1, keepdims=True) > 0
    others = np.maximum(has.sum(axis=2, keepdims=True) - 1, 1)
    return np.asarray(
        np.where(has, chance * (1 - SLIP) + (1 - chance) * SLIP / others, 0.0), dtype=np.float64
    )
