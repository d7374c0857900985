"""What a person sees of a load at the voltage it has: how bright, and whether it works.

Chances come last in the shape, in the order of ``GLOW`` and ``WORKS``. Filaments are judged by
their light, LEDs by the current through them, everything by soft steps (judgement).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from halfsplit.behaviour.laws import KINDS, Knee, law
from halfsplit.behaviour.soft import ANYBODY, LOGISTIC, Lean, ladder, reached
from halfsplit.errors import NotInTable
from halfsplit.tables import lamps

Real = NDArray[np.float64]

GLOW: tuple[str, ...] = ("off", "glimmer", "dim", "normal", "bright", "flicker")
WORKS: tuple[str, ...] = ("works", "weak", "dead")

# Log spread of each of the steps of light that people name: judgement.
_STEP_SPREAD = {"glimmer": 0.6, "dim": 0.4, "normal": 0.12, "bright": 0.08}
_LED_GLOW_SPREAD = lamps.LED_GLOW_MAINS.log_spread / LOGISTIC
_FLASHES = {"glimmer": 0.35, "dim": 0.15}  # how often a starved LED lamp is called flickering
_LIKE_LED = ("led", "electronics", "neon")
_DARK = ("motor", "surge protector", "nothing")

# Of rated volts: (something happens from, log spread, works from, log spread). Judgement, but for
# electronics, which work from somewhere between 0.4 and 0.75: common practice.
_WORKS_FROM = {
    "heater": (0.30, 0.15, 0.85, 0.06),
    "filament": (0.25, 0.15, 0.80, 0.06),
    "led": (0.35, 0.12, 0.55, 0.12),
    "electronics": (0.45, 0.10, 0.55, 0.10),
    "motor": (0.35, 0.12, 0.75, 0.08),
    "fluorescent": (0.60, 0.06, 0.75, 0.06),
    "neon": (0.30, 0.12, 0.40, 0.12),
}


def light(kind: str, volts: ArrayLike, rated: float, watts: float) -> Real:
    """Light as a share of normal at ``volts`` (r.m.s., any shape).

    A filament's goes as (V/U)^3.4; an LED's as the current its law lets through; a tube's as its
    current once struck. Raises: NotInTable for an unknown kind.
    """
    if kind not in KINDS:
        raise NotInTable("kinds of load", kind or '""', KINDS)
    size = np.abs(np.asarray(volts, dtype=np.float64))
    if kind in ("filament", "heater"):
        return np.asarray((size / rated) ** lamps.LIGHT_EXPONENT.value, dtype=np.float64)
    if kind in _DARK:
        return np.zeros_like(size)
    return lamp_amps(kind, size, rated, watts) / lamp_amps(kind, rated, rated, watts)


def lamp_amps(kind: str, volts: ArrayLike, rated: float, watts: float) -> Real:
    """Amperes that make light: the conducting part of the law, without its input capacitor."""
    size = np.abs(np.asarray(volts, dtype=np.float64))
    its = law(kind, watts, rated)
    y, _ = its.admittance(size)
    fixed = its.y if isinstance(its, Knee) else 0.0
    return np.asarray((y - fixed).real * size, dtype=np.float64)


def glow(
    kind: str, volts: ArrayLike, rated: float, watts: float = 10.0, lean: Lean = ANYBODY
) -> Real:
    """Chances (..., 6) of the words in ``GLOW`` for a lamp at ``volts``.

    An LED is seen to glow from tens of microamperes, whatever its size; a filament at the same
    current is dark. A starved LED lamp charges and flashes, so part of what would be a glimmer is
    called flickering. ``lean`` says whose lamps and eyes they are.
    """
    share = light(kind, volts, rated, watts)
    least = dict(lamps.LIGHT_WORDS)
    if kind in _LIKE_LED:
        amps = lamp_amps(kind, volts, rated, watts)
        seen = reached(amps, lamps.LED_GLOW_MAINS.value, _LED_GLOW_SPREAD, lean)
    else:
        seen = reached(share, least["glimmer"], _STEP_SPREAD["glimmer"], lean)
    rest = [
        reached(share, least[word], _STEP_SPREAD[word], lean)
        for word in ("dim", "normal", "bright")
    ]
    words = np.concatenate([ladder([seen, *rest]), np.zeros((*share.shape, 1))], axis=-1)
    if kind in (*_LIKE_LED, "fluorescent"):
        for word, part in _FLASHES.items():
            words[..., -1] += part * words[..., GLOW.index(word)]
            words[..., GLOW.index(word)] *= 1 - part
    return words


def works(kind: str, volts: ArrayLike, rated: float, lean: Lean = ANYBODY) -> Real:
    """Chances (..., 3) of the words in ``WORKS`` for a load of ``kind`` at ``volts``.

    Electronics either work or do not; motors hum and stall; heaters are always weaker.
    ``lean`` says whose things they are.
    Raises: NotInTable for a kind that does nothing to be seen.
    """
    if kind not in _WORKS_FROM:
        raise NotInTable("loads seen to work", kind or '""', _WORKS_FROM)
    some, some_spread, well, well_spread = _WORKS_FROM[kind]
    share = np.abs(np.asarray(volts, dtype=np.float64)) / rated
    rungs = ladder(
        [reached(share, some, some_spread, lean), reached(share, well, well_spread, lean)]
    )
    return np.asarray(rungs[..., ::-1], dtype=np.float64)
