"""Changes that only add.

Any fault adds series resistance to a few conductors or shunt admittance between a few
terminals. An open joint is infinite series resistance, a tired one finite; a damp cable is a
shunt; a crossed pair is two opens and two shunts. Nothing is ever subtracted.

A stiffness is a pair (alpha, beta) that stands for D = alpha / beta in (D + G) w = f, so that
an infinite change and no change at all are both ordinary numbers.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from halfsplit.network.errors import NetworkError
from halfsplit.network.functionals import Functional, I, V

Complex = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Series:
    """Add `added_ohm` (0 or more; inf opens it) in series with a branch."""

    branch: str
    added_ohm: float

    def __post_init__(self) -> None:
        if math.isnan(self.added_ohm) or self.added_ohm < 0:
            raise NetworkError(
                f"series resistance added to {self.branch!r} is {self.added_ohm}; "
                "give 0 ohm or more, inf for an open joint"
            )


@dataclass(frozen=True, slots=True)
class Bridge:
    """Add an admittance of `added_siemens` (inf joins solidly) between two nodes."""

    a: str
    b: str
    added_siemens: complex

    def __post_init__(self) -> None:
        y = complex(self.added_siemens)
        if math.isnan(y.real) or math.isnan(y.imag) or y.real < 0:
            raise NetworkError(
                f"admittance added between {self.a!r} and {self.b!r} is {self.added_siemens}; "
                "give a conductance of 0 or more, inf for a solid joint"
            )


@dataclass(frozen=True, slots=True)
class Emf:
    """Add `added_volts` (RMS phasor) to a branch's source: the right-hand side only."""

    branch: str
    added_volts: complex


Change = Series | Bridge | Emf


def touched(change: Change) -> Functional:
    """The functional a change acts on: a branch's current, or a voltage."""
    return V(change.a, change.b) if isinstance(change, Bridge) else I(change.branch)


def series_stiffness(ohm: ArrayLike) -> tuple[Complex, Complex]:
    """(alpha, beta), each shaped like `ohm`, for added series resistance: D = -1/R.

    0 gives (-1, 0), inf gives (0, 1); the larger of the two numbers is always about 1.
    """
    alpha, beta = _stiffness(ohm)
    return -alpha, beta


def bridge_stiffness(siemens: ArrayLike) -> tuple[Complex, Complex]:
    """(alpha, beta), each shaped like `siemens`, for added admittance: D = 1/y.

    0 gives (1, 0), inf gives (0, 1).
    """
    return _stiffness(siemens)


def _stiffness(value: ArrayLike) -> tuple[Complex, Complex]:
    y = np.asarray(value, dtype=np.complex128)
    large = np.abs(y) > 1.0
    infinite = np.isinf(y)
    divisor = np.where(large & ~infinite, y, 1.0)
    alpha = np.where(infinite, 0.0, np.where(large, 1.0 / divisor, 1.0))
    beta = np.where(large, 1.0, y)
    return alpha.astype(np.complex128), beta.astype(np.complex128)
