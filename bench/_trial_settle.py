"""Where loads settle, from what the simulator says they see: v = v0 - Z i(v).

The loads are settled by Newton's method with as long a step as still helps; where that fails they
are let in little by little.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bench._trial_laws import Law

STEPS = (0.02, 0.1, 0.3, 0.6, 1.0)  # of what the loads draw
ROUNDS = 60
CLOSE = 1e-9  # of the volts they see
Array = NDArray[np.complex128]
Real = NDArray[np.float64]


class Unsolved(Exception):
    """No working point was found."""


def settled(laws: Sequence[Law], openly: Array, Z: Array) -> list[complex]:
    """Amperes of each load. ``openly`` (P,) volts without them, ``Z`` (P, P) ohms.

    Raises: Unsolved.
    """
    try:
        v = _newton(laws, openly, Z, openly.copy())
    except Unsolved:
        v = openly.copy()
        for scale in STEPS:
            v = _newton(laws, openly, Z * scale, v)
    return drawn(laws, v)


def drawn(laws: Sequence[Law], v: Array) -> list[complex]:
    """Amperes of each load at ``v`` (P,) volts across it."""
    return [complex(x) for x in _amps(laws, v)]


def _newton(laws: Sequence[Law], openly: Array, Z: Array, v: Array) -> Array:
    off = _off(laws, openly, Z, v)
    for _ in range(ROUNDS):
        if np.abs(off).max() <= CLOSE * max(np.abs(openly).max(), 1.0):
            return v
        step = np.linalg.solve(_slope(laws, Z, v), _halves(off))
        move = step[: v.size] + 1j * step[v.size :]
        share = 1.0
        while share > 1e-6:
            tried = v - share * move
            now = _off(laws, openly, Z, tried)
            if np.linalg.norm(now) < np.linalg.norm(off):
                break
            share /= 2
        v, off = tried, now
    raise Unsolved("the loads do not settle")


def _amps(laws: Sequence[Law], v: Array) -> Array:
    return np.array([
        law.curve.at(abs(x)) * law.phase * x if law.curve else 0j
        for law, x in zip(laws, v, strict=True)
    ])  # fmt: skip


def _off(laws: Sequence[Law], openly: Array, Z: Array, v: Array) -> Array:
    return np.asarray(v - openly + Z @ _amps(laws, v))


def _halves(x: Array) -> Real:
    return np.concatenate([x.real, x.imag])


def _slope(laws: Sequence[Law], Z: Array, v: Array) -> Real:
    """(2P, 2P) how the imbalance moves with the real and the imaginary parts of the volts."""
    count = v.size
    slope = np.eye(2 * count)
    for k, law in enumerate(laws):
        if law.curve is None:
            continue
        size = abs(v[k])
        g, more = law.curve.at(size), law.curve.at(size * (1 + 1e-6) + 1e-9)
        dg = (more - g) / (size * 1e-6 + 1e-9)
        for column, unit in ((k, 1 + 0j), (count + k, 1j)):
            along = (v[k].conjugate() * unit).real / max(size, 1e-12)
            slope[:, column] += _halves(Z[:, k] * law.phase * (g * unit + dg * along * v[k]))
    return slope
