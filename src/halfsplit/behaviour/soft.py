"""Soft thresholds: people and devices do not all turn over at exactly the same figure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]


LOGISTIC = 1.702  # the logistic nearest to a normal of one sigma is that much steeper


@dataclass(frozen=True, slots=True)
class Lean:
    """Who or what has its own threshold: ``z`` sigma above the usual one, whatever it is asked.

    ``alike`` is the share of the thresholds' variance that stays the same from one time to the
    next; without any it is anybody, and every time another. ``share`` is its place among all.
    """

    z: float = 0.0
    alike: float = 0.0
    share: float = 0.5

    @property
    def shift(self) -> float:
        """Sigma by which its thresholds are higher."""
        return self.z * math.sqrt(self.alike)

    @property
    def narrow(self) -> float:
        """What is left of the spread from one time to the next."""
        return math.sqrt(1 - self.alike)


ANYBODY = Lean()
# Five equal parts of all, by the middle of each, drawn out to a variance of one.
_MIDDLES = ((0.1, -1.463), (0.3, -0.599), (0.5, 0.0), (0.7, 0.599), (0.9, 1.463))


def leans(alike: float) -> tuple[Lean, ...]:
    """Anybody, then a few that stand for all, each as likely."""
    return (ANYBODY, *(Lean(z, alike, share) for share, z in _MIDDLES))


LEANS = 1 + len(_MIDDLES)


def reached(value: ArrayLike, threshold: ArrayLike, spread: float, lean: Lean = ANYBODY) -> Real:
    """Chance that ``value`` passes a threshold spread by ``spread`` on a log scale (logistic).

    ``value`` of any shape, 0 or more, in the unit of ``threshold``; 0 never passes. ``lean`` says
    whose threshold it is.
    """
    size = np.abs(np.asarray(value, dtype=np.float64))
    ratio = np.log(np.maximum(size, 1e-300) / np.asarray(threshold))
    steps = (ratio / spread - LOGISTIC * lean.shift) / lean.narrow
    return np.asarray(1 / (1 + np.exp(np.clip(-steps, -700, 700))), dtype=np.float64)


def within(value: ArrayLike, low: float, high: float, middle: float, spread: float) -> Real:
    """Chance that a threshold somewhere between ``low`` and ``high`` has been passed.

    Exactly 0 at ``low`` and below, exactly 1 from ``high``; between, a logistic about ``middle``
    with standard deviation ``spread``, cut off and scaled at both ends.
    """
    s = spread / LOGISTIC

    def rise(at: Real) -> Real:
        return np.asarray(1 / (1 + np.exp(np.clip((middle - at) / s, -700, 700))))

    size = np.clip(np.abs(np.asarray(value, dtype=np.float64)), low, high)
    ends = rise(np.array([low, high]))
    return np.asarray((rise(size) - ends[0]) / (ends[1] - ends[0]), dtype=np.float64)


def ladder(steps: Sequence[Real]) -> Real:
    """Chances (..., k + 1) of stopping below each of k steps in turn, and of passing them all.

    ``steps`` are the chances of passing each, given that those before were passed; so the result
    adds to 1 whatever their spreads.
    """
    passed = np.ones_like(np.asarray(steps[0], dtype=np.float64))
    shares = []
    for step in steps:
        shares.append(passed * (1 - step))
        passed = passed * step
    shares.append(passed)
    return np.stack(shares, axis=-1)
