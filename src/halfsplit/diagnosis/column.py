"""What one reading would be under every hypothesis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]


@dataclass(slots=True)
class Column:
    """One question under all H rows: by instrument (mean, noise, sure); or the chance of a sight.

    An instrument is keyed by its place among the alternatives of its question. ``behind`` (H,) is
    the impedance (ohm) that a voltage stands behind.
    """

    shown: list[tuple[Real, Real, Real]]
    behind: Real
    chance: Real
