"""One value with its unit and how well it is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfsplit.quantity.printing import PRINTERS


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value with its unit and how well it is known.

    ``value`` is SI (``unit`` one of m, W, V, A, ohm, s, F, Hz, fraction) or a size (mm2, AWG);
    infinite when an instrument showed only "over range", NaN when ``unknown``. ``spread`` is the
    standard deviation of its natural logarithm: 0 exact, infinite when unknown. ``over`` and
    ``under`` mean the true value lies beyond ``value`` on that side. ``text`` is what was written.
    """

    value: float
    unit: str
    spread: float = 0.0
    over: bool = False
    under: bool = False
    text: str = ""
    unknown: bool = False

    @property
    def exact(self) -> bool:
        """Whether it was stated plainly, without "about", a limit or "unknown"."""
        return not (self.unknown or self.over or self.under) and self.spread == 0.0

    def __str__(self) -> str:
        if self.unknown:
            return "unknown"
        if self.over and math.isinf(self.value):
            return "over range"
        lead = "over " if self.over else "under " if self.under else ""
        if not lead and self.spread > 0.0:
            lead = "about "
        return lead + PRINTERS[self.unit](self.value)
