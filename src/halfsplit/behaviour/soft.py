"""Soft thresholds: people and devices do not all turn over at exactly the same figure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Real = NDArray[np.float64]


def reached(value: ArrayLike, threshold: ArrayLike, spread: float) -> Real:
    """Chance that ``value`` passes a threshold spread by ``spread`` on a log scale (logistic).

    ``value`` of any shape, 0 or more, in the unit of ``threshold``; 0 never passes.
    """
    size = np.abs(np.asarray(value, dtype=np.float64))
    ratio = np.log(np.maximum(size, 1e-300) / np.asarray(threshold))
    return np.asarray(1 / (1 + np.exp(np.clip(-ratio / spread, -700, 700))), dtype=np.float64)


def within(value: ArrayLike, low: float, high: float, middle: float, spread: float) -> Real:
    """Chance that a threshold somewhere between ``low`` and ``high`` has been passed.

    Exactly 0 at ``low`` and below, exactly 1 from ``high``; between, a logistic about ``middle``
    with standard deviation ``spread``, cut off and scaled at both ends.
    """
    s = spread / 1.702  # the logistic nearest to a normal of that spread

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
