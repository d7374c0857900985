"""What loads truly draw, as behavioural sources of the simulator: i = y(|v|) v.

Our own forms: a filament's current goes as V^0.54 and levels off cold; what has a rectifier draws
little below a threshold and a nearly steady current above it; a motor draws more as it stalls.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

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
    henry: float = math.inf


@dataclass(frozen=True, slots=True)
class Law:
    """``g``: siemens as an expression of ``{m}``, volts across; ``phase`` turns what it draws."""

    g: str = ""
    phase: complex = 1 + 0j
    fixed: Fixed = field(default_factory=Fixed)


def law_of(draw: Draw, hertz: float, thresholds: Mapping[str, float]) -> Law:
    """A load's law at ``hertz``; ``thresholds`` scale by load the usual ones (1 as usual)."""
    hot = draw.rated**2 / draw.watts
    if draw.kind == "heater":
        return Law(fixed=Fixed(ohms=hot))
    if draw.kind == "filament":
        half = EXPONENT / 2
        root = COLD ** (1 / half)
        square = root / (1 - root)
        warm = f"(({{m}}*{{m}}/{draw.rated**2!r}+{square!r})/{1 + square!r})"
        return Law(g=f"({1 / hot!r}*{warm}^({-half!r}))")
    if draw.kind == "motor":
        return _motor(draw, hot, hertz)
    return _knee(draw, hertz, thresholds.get(draw.id, 1.0))


def _motor(draw: Draw, hot: float, hertz: float) -> Law:
    lag = LAG["motor"]
    if hertz == 0:
        size = (1 / hot) * (1 - 1j * lag) * (1 + STALLED_MORE)
        return Law(fixed=Fixed(ohms=0.5 * (1 / size).real))
    rated = 1 + STALLED_MORE / (1 + STALL**-STALL_POWER)
    u = f"({{m}}/{draw.rated * STALL!r}+1e-9)"
    return Law(
        g=f"({1 / hot / rated!r}*(1+{STALLED_MORE!r}/(1+{u}^{STALL_POWER!r})))", phase=1 - 1j * lag
    )


def _knee(draw: Draw, hertz: float, factor: float) -> Law:
    usual, n = THRESHOLD[draw.kind]
    knee = usual * factor
    omega = 2 * math.pi * hertz
    bleed = BLEED_OHMS if draw.kind != "led" else math.inf
    amps = max(draw.watts / draw.rated - (draw.rated / bleed), 0.0) * (1 + knee**n)
    volts = draw.rated * knee * (1.0 if hertz else math.sqrt(2))
    # Direct volts look to a rectifier like the peak of an r.m.s. one √2 smaller.
    per = amps / volts
    u = f"({{m}}/{volts!r}+1e-9)"
    phase, farads = 1 + 0j, 0.0
    if hertz and draw.kind == "fluorescent":
        lag = LAG["fluorescent"]
        phase, farads = 1 - 1j * lag, draw.watts / draw.rated**2 * (lag - CORRECTED) / omega
    elif hertz and draw.kind == "electronics":
        farads = min(max(ACROSS_FARADS_PER_W * draw.watts, 5e-9), 4.7e-7)
    elif hertz:
        farads = LED_FARADS
    return Law(f"({per!r}*{u}^{n - 1}/(1+{u}^{n}))", phase, Fixed(bleed, farads))
