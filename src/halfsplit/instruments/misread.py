"""How a reading may be wrong though the circuit is as supposed: slips, as data.

A small, structured chance. A plain Gaussian with a few misreads among the readings is sure of
itself and mostly wrong; too broad a slip costs on clean readings. All shares are judgement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]
How = Literal["factor", "wrong pair", "anything"]

SLIP_CHANCE = 0.02  # of one numeric reading being a slip: within the 1 to 3 % usually met


@dataclass(frozen=True, slots=True)
class Slip:
    """One way to slip: ``share`` of all slips of its kinds; ``factor`` times the figure meant.

    "wrong pair" takes the figure of another pair of terminals at the same place; "anything" is
    the flat remainder, log-uniform over ``SPAN`` of the kind.
    """

    id: str
    how: How
    kinds: tuple[str, ...]
    share: float
    words: str
    factor: float = 1.0


SPAN: dict[str, tuple[float, float]] = {
    "volts": (0.1, 700.0),
    "ohms": (0.01, 1e5),
    "megohms": (1e3, 1e9),
    "loop": (0.01, 2e3),
    "amps": (1e-4, 200.0),
    "ramp": (1e-3, 0.5),
}
"""What each kind of figure may be at all, SI."""

_NUMBERS = tuple(SPAN)
_WITH_PREFIX = ("ohms", "megohms", "amps", "ramp")
_PORTS = ("volts", "ohms", "megohms", "loop")

SLIPS: tuple[Slip, ...] = (
    Slip("tenfold high", "factor", _NUMBERS, 0.20, "a point misplaced: ten times too high", 10.0),
    Slip("tenfold low", "factor", _NUMBERS, 0.20, "a point misplaced: ten times too low", 0.1),
    Slip("unit high", "factor", _WITH_PREFIX, 0.10, "the wrong unit: a thousand times up", 1e3),
    Slip("unit low", "factor", _WITH_PREFIX, 0.10, "the wrong unit: a thousand times down", 1e-3),
    Slip("wrong pair", "wrong pair", _PORTS, 0.30, "taken at another pair of terminals"),
    Slip("anything", "anything", _NUMBERS, 0.15, "no relation to what was there"),
)


def slips(kind: str) -> tuple[tuple[Slip, float], ...]:
    """(slip, chance) for a reading of ``kind``; the chances add to ``SLIP_CHANCE``.

    Empty for what is seen or felt: those weigh by soft thresholds and a flat remainder instead.
    """
    able = [slip for slip in SLIPS if kind in slip.kinds]
    whole = sum(slip.share for slip in able)
    return tuple((slip, SLIP_CHANCE * slip.share / whole) for slip in able)


def anything_density(kind: str, value: ArrayLike) -> Real:
    """Density per unit of the flat remainder at ``value``: log-uniform over the kind's span.

    Nought outside it. Raises: KeyError for kinds without numbers.
    """
    low, high = SPAN[kind]
    value = np.asarray(value, dtype=np.float64)
    inside = (value >= low) & (value <= high)
    safe = np.where(inside, value, 1.0)
    return np.asarray(np.where(inside, 1 / (safe * math.log(high / low)), 0.0), dtype=np.float64)
