"""One kind of instrument: what it hangs on the circuit, how far its figure can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

Law = Literal["", "filament", "led"]
Duty = Literal["meter", "lamp", "source", "clamp", "loop", "ramp"]


@dataclass(frozen=True, slots=True)
class Instrument:
    """A kind of instrument.

    ``kinds`` are the kinds of reading it can give. ``r_in`` (Ω) with ``c_in`` (F) in parallel is
    what it connects; ``r_low`` to ``r_high`` is the band met among instruments of the kind
    (equal to ``r_in`` where there is no band to speak of). ``law`` names the lamp it is, with
    ``watts`` at ``rated`` volts; "" is a linear instrument. As a source it opens at ``test_volts``
    and limits at ``test_amps``. ``lead_ohms`` is what its leads add when nobody nulled them.

    ``accuracy`` (relative) and ``floor`` (in the unit read) are one sigma each; ``resolution`` is
    the last digit. Readings run from ``low`` to ``high``, above which it says over range.
    ``lit_at`` is the voltage across it at which half of observers call it lit, ``lit_spread`` the
    log standard deviation of that. ``bias`` is what it reads high by, on average, through a
    residual device, ``bias_sigma`` how unevenly. ``weight`` is its share among the instruments
    that may have given a reading of ``kinds[0]`` when nobody said which. ``does`` says what it
    does to the circuit; ``titles`` are the words per region; ``source`` where the figures are from.
    """

    id: str
    titles: tuple[tuple[str, str], ...]
    kinds: tuple[str, ...]
    duty: Duty
    does: str
    source: str
    r_in: float = math.inf
    r_low: float = 0.0
    r_high: float = 0.0
    c_in: float = 0.0
    law: Law = ""
    watts: float = 0.0
    rated: tuple[tuple[str, float], ...] = ()
    test_volts: float = 0.0
    test_amps: float = 0.0
    lead_ohms: float = 0.0
    accuracy: float = 0.0
    floor: float = 0.0
    resolution: float = 0.0
    low: float = 0.0
    high: float = math.inf
    lit_at: float = 0.0
    lit_spread: float = 0.0
    bias: float = 0.0
    bias_sigma: float = 0.0
    weight: float = 0.0

    def title(self, region: str = "uk") -> str:
        """Its name as said in ``region``; the first name where the region has none of its own."""
        return dict(self.titles).get(region, self.titles[0][1])

    def rated_volts(self, region: str = "uk") -> float:
        """Volts a lamp of this kind is made for in ``region``; 0 for anything else."""
        return dict(self.rated).get(region, self.rated[0][1] if self.rated else 0.0)

    @property
    def loads(self) -> bool:
        """Whether it draws enough (10 mA or more at 230 V) to disturb, liven or trip something."""
        if self.law or self.duty == "loop":
            return True
        return self.duty in ("meter", "lamp") and 230.0 / self.r_in >= 10e-3

    def variants(self) -> tuple[tuple[Instrument, float], ...]:
        """The kind as three members across its band of input resistance, with their shares.

        One member, share 1, where there is no band. The outer two stand a sixth of the band (on a
        log scale) inside its ends; the shares are those of an even spread.
        """
        if not 0 < self.r_low < self.r_high:
            return ((self, 1.0),)
        ratio = self.r_high / self.r_low
        return tuple(
            (replace(self, r_in=self.r_low * ratio**at, r_low=0.0, r_high=0.0), 1 / 3)
            for at in (1 / 6, 1 / 2, 5 / 6)
        )
