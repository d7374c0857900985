"""What an instrument shows of the Thévenin source it sees.

All functions broadcast over any leading shape (hypotheses, outcomes) and work in SI: volt, ampere,
ohm, siemens, rad/s. Voltages and impedances are complex at supply frequency, real at 0 Hz.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from halfsplit.instruments.instrument import Instrument

Real = NDArray[np.float64]
LOOP_NEEDS_VOLTS = 90.0  # V: below about this a loop tester refuses (judgement)
LOOP_NEEDS_SPREAD = 0.1  # log standard deviation of that
_TAIL: tuple[float, ...] = (
    *(0.17087277, -0.82215223, 1.48851587, -1.13520398, 0.27886807),
    *(-0.18628806, 0.09678418, 0.37409196, 1.00002368, -1.26551223),
)
PATTERNS: tuple[str, ...] = tuple(f"{n:03b}" for n in range(8))


def chance_below(x: ArrayLike) -> Real:
    """The standard normal distribution Φ(x), relative error under 2e-7 in the tails too.

    Chebyshev fit of the complementary error function (Numerical Recipes, erfcc; from memory,
    checked against mpmath).
    """
    u = np.clip(np.asarray(x, dtype=np.float64), -38.0, 38.0) / math.sqrt(2)
    t = 1 / (1 + 0.5 * np.abs(u))
    tail = np.zeros_like(u)
    for coefficient in _TAIL:
        tail = tail * t + coefficient
    half = 0.5 * t * np.exp(tail - u * u)
    return np.asarray(np.where(u > 0, 1 - half, half), dtype=np.float64)


def admittance(instrument: Instrument, omega: float) -> complex:
    """Siemens the instrument hangs between its terminals at ``omega`` rad/s (0 for lamps)."""
    return 1 / instrument.r_in + 1j * omega * instrument.c_in


def shown_volts(v: ArrayLike, z: ArrayLike, y: ArrayLike = 0.0) -> Real:
    """Volts shown by a meter of admittance ``y`` across open-circuit ``v`` behind ``z``."""
    v, z, y = np.asarray(v), np.asarray(z), np.asarray(y)
    return np.asarray(np.abs(v) / np.abs(1 + z * y), dtype=np.float64)


def shown_ohms(z: ArrayLike, lead_ohms: ArrayLike = 0.0) -> Real:
    """Ohms shown on a continuity range: Re z at 0 Hz plus the leads."""
    return np.asarray(np.real(z) + np.asarray(lead_ohms), dtype=np.float64)


def shown_megohms(z: ArrayLike) -> Real:
    """Ohms (not MΩ) shown on an insulation range: Re z at 0 Hz with what is still connected."""
    return np.asarray(np.real(z), dtype=np.float64)


def shown_by_source(volts: ArrayLike, amps: ArrayLike) -> Real:
    """Ohms shown when the tester's port was settled with loads: its volts over its amperes."""
    amps = np.asarray(amps, dtype=np.float64)
    safe = np.where(np.abs(amps) > 0, amps, np.nan)
    shown = np.abs(np.asarray(volts, dtype=np.float64) / safe)
    return np.asarray(np.where(np.isnan(shown), np.inf, shown), dtype=np.float64)


def source_of(instrument: Instrument) -> tuple[float, float]:
    """(volts, ohms) of a dead tester as a source: it opens at its volts, limits at its amperes.

    A straight line stands for the electronics between. An insulation tester still holds its rated
    volts at its rated current, so it opens a quarter higher (judgement).
    """
    if instrument.duty != "source":
        return 0.0, math.inf
    if "megohms" in instrument.kinds:
        opens = 1.25 * instrument.test_volts
        return opens, (opens - instrument.test_volts) / instrument.test_amps
    return instrument.test_volts, instrument.test_volts / instrument.test_amps


def shown_loop(
    v0: ArrayLike, z: ArrayLike, instrument: Instrument, bias: ArrayLike = 0.0
) -> tuple[Real, Real]:
    """(ohms shown, chance that it reads at all) of a live loop test.

    The tester compares the voltage before, V0, with V1 under its own resistance R:
    (|V0| - |V1|)/I. With V1 = V0 R/(R + z) and I = |V1|/R that is |R + z| - R, whatever V0 is;
    but too low a V0 is refused, and an open loop is over range. ``bias`` is added ohms.
    """
    R = instrument.r_in
    z = np.asarray(z)
    shown = np.abs(R + z) - R + np.asarray(bias)
    volts = np.abs(np.asarray(v0))
    ready = chance_below(np.log(np.maximum(volts, 1e-12) / LOOP_NEEDS_VOLTS) / LOOP_NEEDS_SPREAD)
    reads = ready * (1 - chance_over(instrument, shown))
    return np.asarray(shown, dtype=np.float64), np.asarray(reads, dtype=np.float64)


def loop_bias(instrument: Instrument, through_residual: bool) -> tuple[float, float]:
    """(mean, one sigma) of ohms a loop tester reads high by; zero but through a residual device."""
    return (instrument.bias, instrument.bias_sigma) if through_residual else (0.0, 0.0)


def shown_amps(i: ArrayLike) -> Real:
    """Amperes a clamp shows: the magnitude of ``i``, the phasor sum of what its jaws hold."""
    return np.asarray(np.abs(i), dtype=np.float64)


def sigma(instrument: Instrument, value: ArrayLike) -> Real:
    """One sigma of the figure shown for a true ``value``: accuracy, floor and last digit."""
    value = np.asarray(value, dtype=np.float64)
    finite = np.where(np.isfinite(value), value, 0.0)
    square = (
        (instrument.accuracy * finite) ** 2 + instrument.floor**2 + instrument.resolution**2 / 12
    )
    return np.asarray(np.sqrt(square), dtype=np.float64)


def chance_over(instrument: Instrument, value: ArrayLike) -> Real:
    """Chance that the instrument says over range where the truth is ``value``."""
    value = np.asarray(value, dtype=np.float64)
    if math.isinf(instrument.high):
        return np.where(np.isinf(value), 1.0, 0.0)
    top = instrument.high
    spread = np.maximum(sigma(instrument, np.minimum(value, top)), 1e-9 * top)
    return chance_below((np.minimum(value, 10 * top) - top) / spread)


def chance_under(instrument: Instrument, value: ArrayLike) -> Real:
    """Chance that ``value`` is too little to show, so that it says nothing or 0."""
    value = np.asarray(value, dtype=np.float64)
    if instrument.low <= 0:
        return np.zeros_like(value)
    return chance_below((instrument.low - value) / np.maximum(sigma(instrument, value), 1e-300))


def lit(instrument: Instrument, volts: ArrayLike) -> Real:
    """Chance that an indicator is called lit with ``volts`` (r.m.s., magnitude) across it."""
    if instrument.lit_at <= 0:
        return np.zeros_like(np.asarray(volts, dtype=np.float64))
    ratio = np.maximum(np.abs(np.asarray(volts)), 1e-12) / instrument.lit_at
    return chance_below(np.log(ratio) / instrument.lit_spread)


def plug_volts(
    instrument: Instrument, voc: NDArray[Any], Z: NDArray[Any], omega: float
) -> NDArray[Any]:
    """Volts (..., 3) across a plug tester's lamps L-N, L-E and N-E, all three lamps in place.

    ``voc`` (..., 2) and ``Z`` (..., 2, 2) are the ports line-earth and neutral-earth. The lamps
    hang on the same two ports at once, so they are solved together, (I + Z Y)^-1 voc.
    """
    y = admittance(instrument, omega)
    Y = y * np.array([[2.0, -1.0], [-1.0, 2.0]])
    system = np.eye(2) + np.asarray(Z) @ Y
    held = np.linalg.solve(system, np.asarray(voc)[..., None])[..., 0]
    line, neutral = held[..., 0], held[..., 1]
    return np.stack([line - neutral, line, neutral], axis=-1)


def lamps(instrument: Instrument, volts: ArrayLike) -> Real:
    """Chances (..., 8) of the patterns in ``PATTERNS`` given ``volts`` (..., 3) across the lamps.

    Given the solved voltages the three lamps differ only in themselves, so their chances multiply.
    """
    on = lit(instrument, volts)
    shares = [
        np.prod([on[..., k] if p[k] == "1" else 1 - on[..., k] for k in range(3)], axis=0)
        for p in PATTERNS
    ]
    return np.stack(shares, axis=-1)


def shown(instrument: Instrument, v: ArrayLike, z: ArrayLike, omega: float) -> Real:
    """What the instrument shows at a port, by its duty: volts, or ohms on a dead or loop range."""
    if instrument.duty == "source":
        return shown_ohms(z, instrument.lead_ohms)
    if instrument.duty == "loop":
        return shown_loop(v, z, instrument)[0]
    if instrument.duty == "clamp":
        return shown_amps(v)
    return shown_volts(v, z, admittance(instrument, omega))
