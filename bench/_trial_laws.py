"""What loads truly draw: i = y(|v|) v.

Our own forms: a filament's current goes as V^0.54 and levels off cold; what has a rectifier draws
little below a threshold and a nearly steady current above it; a motor draws more as it stalls.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Protocol

from bench._trial_net import Draw

EXPONENT = 0.46  # of a filament's resistance against its voltage
COLD = 0.1  # of its hot resistance
BLEED_OHMS = 1e6
ACROSS_FARADS_PER_W = 1e-7 / 60.0
LAG = {"motor": math.tan(math.acos(0.75)), "fluorescent": math.tan(math.acos(0.5))}
CORRECTED = math.tan(math.acos(0.9))
STALL, STALLED_MORE, STALL_POWER = 0.45, 5.0, 2.2
THRESHOLD: Mapping[str, tuple[float, int]] = MappingProxyType(
    {"led": (0.30, 8), "electronics": (0.35, 8), "fluorescent": (0.65, 12)}
)
LED_FARADS = 1e-9


@dataclass(frozen=True, slots=True)
class Fixed:
    """What a load draws beside its law: ohms and farads in parallel (0 farads none)."""

    ohms: float = math.inf
    farads: float = 0.0


class Curve(Protocol):
    """Siemens against the volts across."""

    def at(self, volts: float) -> float:
        """Siemens at so many volts, r.m.s. or direct."""
        ...


@dataclass(frozen=True, slots=True)
class Filament:
    """g ((x² + s)/(1 + s))^-half, x = volts over rated: level where it is cold."""

    g: float
    rated: float
    square: float

    def at(self, volts: float) -> float:
        """Siemens at so many volts."""
        warm = ((volts / self.rated) ** 2 + self.square) / (1 + self.square)
        return self.g * math.exp(-EXPONENT / 2 * math.log(warm))


@dataclass(frozen=True, slots=True)
class Knee:
    """per u^(n-1)/(1 + u^n), u = volts over the threshold: little below, steady amperes above."""

    per: float
    threshold: float
    n: int

    def at(self, volts: float) -> float:
        """Siemens at so many volts."""
        u = min(volts / self.threshold + 1e-9, 1e6)
        return float(self.per * u ** (self.n - 1) / (1 + u**self.n))


@dataclass(frozen=True, slots=True)
class Stall:
    """g (1 + more/(1 + u^n)): a motor draws more the further it is held back."""

    g: float
    threshold: float

    def at(self, volts: float) -> float:
        """Siemens at so many volts."""
        u = volts / self.threshold + 1e-9
        return float(self.g * (1 + STALLED_MORE / (1 + u**STALL_POWER)))


@dataclass(frozen=True, slots=True)
class Law:
    """``curve`` turned by ``phase`` (None: nothing), and what stands beside it whatever happens."""

    curve: Curve | None = None
    phase: complex = 1 + 0j
    fixed: Fixed = field(default_factory=Fixed)


def law_of(draw: Draw, hertz: float, thresholds: Mapping[str, float]) -> Law:
    """A load's law at ``hertz``; ``thresholds`` scale by load the usual ones (1 as usual)."""
    hot = draw.rated**2 / draw.watts
    if draw.kind == "heater":
        return Law(fixed=Fixed(ohms=hot))
    if draw.kind == "filament":
        root = COLD ** (2 / EXPONENT)
        return Law(Filament(1 / hot, draw.rated, root / (1 - root)))
    if draw.kind == "motor":
        return _motor(draw, hot, hertz)
    return _knee(draw, hertz, thresholds.get(draw.id, 1.0))


def _motor(draw: Draw, hot: float, hertz: float) -> Law:
    lag = LAG["motor"]
    if hertz == 0:
        size = (1 / hot) * (1 - 1j * lag) * (1 + STALLED_MORE)
        return Law(fixed=Fixed(ohms=0.5 * (1 / size).real))
    rated = 1 + STALLED_MORE / (1 + STALL**-STALL_POWER)
    return Law(Stall(1 / hot / rated, draw.rated * STALL), phase=1 - 1j * lag)


def _knee(draw: Draw, hertz: float, factor: float) -> Law:
    usual, n = THRESHOLD[draw.kind]
    knee = usual * factor
    omega = 2 * math.pi * hertz
    bleed = BLEED_OHMS if draw.kind != "led" else math.inf
    amps = max(draw.watts / draw.rated - (draw.rated / bleed), 0.0) * (1 + knee**n)
    # Direct volts look to a rectifier like the peak of an r.m.s. one √2 smaller.
    volts = draw.rated * knee * (1.0 if hertz else math.sqrt(2))
    amps /= 1.0 if hertz else math.sqrt(2)
    phase, farads = 1 + 0j, 0.0
    if hertz and draw.kind == "fluorescent":
        lag = LAG["fluorescent"]
        phase, farads = 1 - 1j * lag, draw.watts / draw.rated**2 * (lag - CORRECTED) / omega
    elif hertz and draw.kind == "electronics":
        farads = min(max(ACROSS_FARADS_PER_W * draw.watts, 5e-9), 4.7e-7)
    elif hertz:
        farads = LED_FARADS
    return Law(Knee(amps / volts, volts, n), phase, Fixed(bleed, farads))
