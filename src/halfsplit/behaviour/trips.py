"""When protective devices part the circuit: the chance and the time for a current.

How several end together is in ``states``. Currents are amperes of any leading shape, chances
and seconds alike; a ``Way`` says what the device is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from halfsplit.behaviour.soft import reached, within
from halfsplit.tables import residual
from halfsplit.tables.disconnection import INSTANT_BAND
from halfsplit.wiring.plan import Way

Real = NDArray[np.float64]

OVERLOAD: tuple[str, ...] = ("at once", "seconds", "minutes", "holds")

# Times rated current. Breakers: IEC 60898-1, from memory (hold 1 h at 1.13, trip within 1 h at
# 1.45, within 1 min at 2.55). Fuses and moulded-case breakers without a curve: judgement.
_BREAKER_OVERLOAD = (1.13, 1.45)
_FUSE_OVERLOAD = (1.25, 1.6)
_REWIREABLE_OVERLOAD = (1.5, 2.0)
_FUSE_INSTANT = (5.0, 12.0)
_NO_CURVE_INSTANT = (5.0, 12.0)
_SECONDS_FROM = 2.2
_SECONDS_SPREAD = 0.1
_THERMAL_AT_2_55 = 15.0  # s, middle of 1 to 60
_THERMAL_POWER = 4.0  # t ∝ (1/I)^4: judgement
_INSTANT_SECONDS = 0.01
_NOT_OVERLOAD = ("rcd", "switch", "none", "gfci")


def instant_amps(way: Way) -> tuple[float, float]:
    """(may trip at once above, surely does from) in amperes; infinite where it never does."""
    if way.kind in _NOT_OVERLOAD:
        return np.inf, np.inf
    if way.kind == "fuse":
        low, high = _FUSE_INSTANT
    else:
        low, high = INSTANT_BAND.get(way.curve, _NO_CURVE_INSTANT)
    return low * way.amps, high * way.amps


def at_once(way: Way, amps: ArrayLike) -> Real:
    """Chance that ``amps`` parts the device within a few hundredths of a second."""
    low, high = instant_amps(way)
    size = np.abs(np.asarray(amps, dtype=np.float64))
    if np.isinf(low):
        return np.zeros_like(size)
    return _between(size, low, high)


def overload_class(way: Way, amps: ArrayLike) -> Real:
    """Chances (..., 4) of the words in ``OVERLOAD``, for a current that goes on flowing."""
    size = np.abs(np.asarray(amps, dtype=np.float64))
    if way.kind in _NOT_OVERLOAD:
        shares = np.zeros((*size.shape, 4))
        shares[..., 3] = 1.0
        return shares
    quick = at_once(way, size)
    low, high = _overload_band(way)
    ever = _between(size, low * way.amps, high * way.amps)
    seconds = reached(size, _SECONDS_FROM * way.amps, _SECONDS_SPREAD)
    slow = (1 - quick) * ever
    return np.stack(
        [quick, slow * seconds, slow * (1 - seconds), (1 - quick) * (1 - ever)], axis=-1
    )


def residual_trip(way: Way, amps: ArrayLike, waveform: residual.Waveform = "sine") -> Real:
    """Chance that a sound device has tripped on residual ``amps`` of ``waveform``.

    A 30 mA device holds at 15 mA, surely trips at 30, typically between 20 and 28; a North
    American class A one turns over between 4 and 6 mA. A type that cannot see the waveform never
    trips, nor does a device without a residual rating.
    """
    size = np.abs(np.asarray(amps, dtype=np.float64))
    if is_class_a(way):
        low, high = residual.GFCI_HOLD.value, residual.GFCI_TRIP.value
        return within(size, low, high, (low + high) / 2, (high - low) / 5)
    if way.residual_amps <= 0:
        return np.zeros_like(size)
    band = residual.trip_band(_type(way), waveform)
    if band is None:
        return np.zeros_like(size)
    typical = residual.TYPICAL_TRIP
    sine = residual.SINE
    middle = (typical.value - sine.hold) / (sine.trip - sine.hold)
    spread = (typical.high - typical.low) / 3.29 / (sine.trip - sine.hold)
    width = band.trip - band.hold
    return within(
        size / way.residual_amps, band.hold, band.trip, band.hold + middle * width, spread * width
    )


def is_class_a(way: Way) -> bool:
    """Whether it is a North American class A ground-fault device (not type A)."""
    return way.residual_type.lower() == "class a" or way.kind == "gfci"


def residual_seconds(way: Way, amps: ArrayLike) -> tuple[Real, Real]:
    """(least, most) seconds to part on residual ``amps`` of one rating or more; infinite below."""
    size = np.abs(np.asarray(amps, dtype=np.float64))
    if is_class_a(way):
        held = np.clip(size, residual.GFCI_TIME_LOW.value, residual.GFCI_TIME_HIGH.value)
        most = np.where(size < residual.GFCI_TIME_LOW.value, np.inf, (0.020 / held) ** 1.43)
        return np.where(np.isinf(most), np.inf, 0.0), most
    if way.residual_amps <= 0:
        return np.full_like(size, np.inf), np.full_like(size, np.inf)
    times = residual.SELECTIVE if _selective(way) else residual.GENERAL
    ratio = size / way.residual_amps
    steps = np.log([1.0, 2.0, 5.0])
    columns = np.array([times.one, times.two, times.five])
    at = np.log(np.maximum(ratio, 1e-9))
    least, most = (np.interp(at, steps, columns[:, k]) for k in (0, 1))
    return np.where(ratio < 1, np.inf, least), np.where(ratio < 1, np.inf, most)


def typical_seconds(way: Way, amps: ArrayLike, residual_amps: ArrayLike = 0.0) -> Real:
    """A likely time to part, for the race between devices in series; infinite where it holds."""
    size = np.abs(np.asarray(amps, dtype=np.float64))
    leak = np.abs(np.asarray(residual_amps, dtype=np.float64))
    ratio = np.maximum(size / max(way.amps, 1e-9), 1e-9)
    thermal = _THERMAL_AT_2_55 * (2.55 / ratio) ** _THERMAL_POWER
    quick = at_once(way, size)
    current = np.exp((1 - quick) * np.log(thermal) + quick * np.log(_INSTANT_SECONDS))
    current = np.where(overload_class(way, size)[..., 3] > 1 - 1e-9, np.inf, current)
    least, most = residual_seconds(way, np.maximum(leak, _rating(way)))
    by_leak = np.where(residual_trip(way, leak) > 0, (least + most) / 2, np.inf)
    return np.asarray(np.minimum(current, by_leak), dtype=np.float64)


def _overload_band(way: Way) -> tuple[float, float]:
    if way.kind == "fuse":
        return _REWIREABLE_OVERLOAD if "3036" in way.curve else _FUSE_OVERLOAD
    return _BREAKER_OVERLOAD


def _between(size: Real, low: float, high: float) -> Real:
    """0 to ``low``, 1 from ``high``, about even at the geometric middle."""
    logs = np.log(np.maximum(size, 1e-12))
    bottom, top = np.log(low), np.log(high)
    # `within` takes magnitudes, so the logarithm is measured from the band's own bottom.
    share = np.clip((logs - bottom) / (top - bottom), 0.0, 1.0)
    return within(share, 0.0, 1.0, 0.5, 0.2)


def _type(way: Way) -> str:
    kind = way.residual_type.strip().upper().removeprefix("TYPE ").split(" ")[0]
    return kind if kind in residual.SEES else "A"


def _selective(way: Way) -> bool:
    return "S" in way.residual_type.upper().split()


def _rating(way: Way) -> float:
    return residual.GFCI_TRIP.value if is_class_a(way) else way.residual_amps
