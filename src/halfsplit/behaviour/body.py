"""A person as a load, hand to hand or hand to feet, by IEC 60479-1; and what they feel.

Volts r.m.s., ohms, amperes, of any shape. For danger take the 5th percentile without footwear; for
what somebody said they felt, weigh the candidates of ``touches``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from halfsplit.behaviour.soft import ladder, reached
from halfsplit.errors import NotInTable
from halfsplit.tables import shock

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

TOUCH: tuple[str, ...] = ("nothing", "tingle", "shock")

# Total impedance by path, as a share of hand to hand: IEC 60479-1 figure of internal impedances,
# from memory (one hand to both feet three quarters, both hands to both feet half).
PATHS = {"hand to hand": 1.0, "hand to foot": 1.0, "hand to feet": 0.75, "hands to feet": 0.5}

# Felt from, A: a firm hold by the published threshold; a fingertip brushing metal feels far less
# (from memory). Half of reports are of each: judgement.
_FIRM = shock.PERCEPTION.value
_BRUSHING = 0.15e-3
_FELT_SPREAD = 0.35
_SHOCK_FROM = shock.LET_GO_PLANNED.value / 2  # called a shock, not a tingle: judgement
_SHOCK_SPREAD = 0.3


def person_ohms(
    volts: ArrayLike,
    path: str = "hand to hand",
    percentile: shock.Percentile = 50,
    wet: bool = False,
) -> Real:
    """Body impedance in ohms at the touch voltage ``volts``; ``percentile`` 5, 50 or 95 of people.

    ``wet`` takes off a quarter up to 50 V, fading to nothing at 150 V. Raises: NotInTable.
    """
    if path not in PATHS:
        raise NotInTable("paths through a person", path, PATHS)
    size = np.abs(np.asarray(volts, dtype=np.float64))
    dry = shock.body_impedances(size, percentile)
    return np.asarray(PATHS[path] * dry * _wet(size, wet), dtype=np.float64)


def _wet(volts: Real, wet: bool) -> Real:
    if not wet:
        return np.ones_like(volts)
    fade = np.clip((shock.WET_MATTERS_BELOW.value - volts) / 100.0, 0.0, 1.0)
    return np.asarray(1 - shock.WET_REDUCTION.high * fade, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Person:
    """A person as a law at a port: body by ``path`` and ``percentile``, ``extra`` Ω of contact.

    The body's impedance is taken at the whole voltage, contact included: a little low, so the
    current a little high, on the side of danger.
    """

    path: str = "hand to hand"
    percentile: shock.Percentile = 50
    wet: bool = False
    extra: float = 0.0

    def conductance(self, v: Real) -> tuple[Real, Real]:
        """(g, dg/dv); the slope by differences, for the published table has corners."""
        size = np.abs(np.asarray(v, dtype=np.float64))
        step = 1e-4 * np.maximum(size, 1.0)
        here, there = self._siemens(size), self._siemens(size + step)
        return here, (there - here) / step

    def admittance(self, vmag: Real) -> tuple[Complex, Complex]:
        """The same at 50 or 60 Hz: the table already holds the skin's capacitance."""
        g, dg = self.conductance(vmag)
        return g.astype(np.complex128), dg.astype(np.complex128)

    def _siemens(self, volts: Real) -> Real:
        ohms = person_ohms(volts, self.path, self.percentile, self.wet) + self.extra
        return np.asarray(1 / ohms, dtype=np.float64)


def touches() -> tuple[tuple[Person, float], ...]:
    """How somebody who was asked afterwards may have touched, with shares (judgement)."""
    return (
        (Person("hand to hand"), 0.25),
        (Person("hand to feet", extra=5e3), 0.25),
        (Person("hand to feet", extra=50e3), 0.35),
        (Person("hand to feet", extra=500e3), 0.15),
    )


def worst_touch() -> Person:
    """The person safety is judged by: 5th percentile, bare hand to wet feet, nothing in the way."""
    return Person("hand to feet", 5, wet=True)


def touch_words(amps: ArrayLike) -> Real:
    """Chances (..., 3) of the words in ``TOUCH`` for a person through whom ``amps`` flows."""
    size = np.abs(np.asarray(amps, dtype=np.float64))
    firm = reached(size, _FIRM, _FELT_SPREAD)
    brushing = reached(size, _BRUSHING, _FELT_SPREAD)
    return ladder([(firm + brushing) / 2, reached(size, _SHOCK_FROM, _SHOCK_SPREAD)])


def holds_fast(amps: ArrayLike) -> NDArray[np.bool_]:
    """Whether the hand may not let go: planned from 5 mA, not from the average adult's limit."""
    return np.asarray(np.abs(np.asarray(amps)) >= shock.LET_GO_PLANNED.value, dtype=np.bool_)
