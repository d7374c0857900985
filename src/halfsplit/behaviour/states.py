"""Every way a circuit may stand once its devices have acted, each with its chance.

Trips are discrete states solved in their order; where there is more than one consistent state, all
are given. There are two causes: a current inside a device's band, which this device may hold and
the next of its kind may not; and two devices in series that both would act, of which the quicker
wins and spares the other.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from halfsplit.behaviour.trips import overload_class, residual_trip, typical_seconds
from halfsplit.wiring.plan import Way

Real = NDArray[np.float64]
Solve = Callable[[frozenset[str]], tuple[ArrayLike, ArrayLike]]

RACE = 2.0  # the surer the quicker one wins, by this power of the ratio of times: judgement
SURE = 1e-6  # a chance this near to 0 or 1 is taken as settled


@dataclass(frozen=True, slots=True)
class TripState:
    """One consistent end: the devices that have parted, in the order of the ways; its chance."""

    parted: tuple[str, ...]
    chance: float


def acting(way: Way, amps: ArrayLike, residual_amps: ArrayLike, soon: bool = True) -> Real:
    """Chance that a device parts on these currents: within seconds, or ``soon`` False at all."""
    classes = overload_class(way, amps)
    by_current = classes[..., : 2 if soon else 3].sum(axis=-1)
    by_leak = residual_trip(way, residual_amps)
    return np.asarray(1 - (1 - by_current) * (1 - by_leak), dtype=np.float64)


def undecided(
    ways: tuple[Way, ...], amps: ArrayLike, residual_amps: ArrayLike
) -> NDArray[np.bool_]:
    """Where (...,) more than one end is possible: some device may act or hold, or two race.

    ``amps`` and ``residual_amps`` are (..., W).
    """
    size, leak = np.asarray(amps, dtype=np.float64), np.asarray(residual_amps, dtype=np.float64)
    chance = np.stack([acting(w, size[..., k], leak[..., k]) for k, w in enumerate(ways)], axis=-1)
    torn = (chance > 0.01) & (chance < 0.99)
    return np.asarray(torn.any(axis=-1) | ((chance > 0.01).sum(axis=-1) > 1))


def trip_states(
    ways: tuple[Way, ...], solve: Solve, soon: bool = True, least: float = 0.01
) -> tuple[TripState, ...]:
    """All ends with a chance of ``least`` or more, likeliest first; the chances add to 1.

    ``solve`` gives, for a set of devices that have parted, (amperes (W,), residual amperes (W,))
    through each way. A device that held a current holds it again: each has one threshold, unknown
    but the same throughout, so what it bore before narrows what it will bear.
    """
    ends: dict[frozenset[str], float] = {}
    todo = [_Branch(frozenset(), 1.0, (0.0,) * len(ways), (1.0,) * len(ways))]
    while todo:
        branch = todo.pop()
        amps, leaks = (np.asarray(x, dtype=np.float64) for x in solve(branch.parted))
        for after in _after(ways, branch, amps, leaks, soon):
            if after.parted == branch.parted:
                ends[after.parted] = ends.get(after.parted, 0.0) + after.chance
            elif after.chance > SURE:
                todo.append(after)
    kept = {parted: chance for parted, chance in ends.items() if chance >= least}
    total = sum(kept.values())
    named = [
        TripState(tuple(w.name for w in ways if w.name in parted), chance / total)
        for parted, chance in kept.items()
    ]
    return tuple(sorted(named, key=lambda state: (-state.chance, state.parted)))


@dataclass(frozen=True, slots=True)
class _Branch:
    """Devices parted so far, its chance, and within what bounds each device's threshold lies.

    A threshold is a share: the device acts where its chance of acting is above it.
    """

    parted: frozenset[str]
    chance: float
    low: tuple[float, ...]
    high: tuple[float, ...]


def _after(
    ways: tuple[Way, ...], branch: _Branch, amps: Real, leaks: Real, soon: bool
) -> list[_Branch]:
    """What may come next: each device that may part first, or none and the branch is an end."""
    able = [k for k, way in enumerate(ways) if way.name not in branch.parted]
    chance = {k: float(acting(ways[k], amps[k], leaks[k], soon)) for k in able}
    acts = {k: _within(chance[k], branch.low[k], branch.high[k]) for k in able}
    torn = [k for k in able if SURE < acts[k] < 1 - SURE]
    sure = [k for k in able if acts[k] >= 1 - SURE]
    found: list[_Branch] = []
    for choice in product((False, True), repeat=len(torn)):
        weight = branch.chance
        low, high = list(branch.low), list(branch.high)
        for k, does in zip(torn, choice, strict=True):
            weight *= acts[k] if does else 1 - acts[k]
            low[k], high[k] = (low[k], chance[k]) if does else (chance[k], high[k])
        racing = sure + [k for k, does in zip(torn, choice, strict=True) if does]
        bounds = tuple(low), tuple(high)
        if not racing:
            found.append(_Branch(branch.parted, weight, *bounds))
        for k, share in _race([(k, ways[k]) for k in racing], amps, leaks):
            found.append(_Branch(branch.parted | {ways[k].name}, weight * share, *bounds))
    return found


def _within(chance: float, low: float, high: float) -> float:
    """Chance that a threshold spread evenly from ``low`` to ``high`` lies below ``chance``."""
    if high - low < SURE:
        return float(chance > low)
    return min(max((chance - low) / (high - low), 0.0), 1.0)


def _race(racing: list[tuple[int, Way]], amps: Real, leaks: Real) -> list[tuple[int, float]]:
    """The share in which each device that would act does so first."""
    speeds = [
        max(float(typical_seconds(way, amps[k], leaks[k])), 1e-4) ** -RACE + 1e-30
        for k, way in racing
    ]
    total = sum(speeds)
    return [(k, speed / total) for (k, _), speed in zip(racing, speeds, strict=True)]
