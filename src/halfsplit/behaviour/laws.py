"""What each kind of load draws: i = y(|v|) v, at supply frequency and at 0 Hz.

The wiring is linear. Lamps, LEDs, electronics and surge protectors are laws i(v) at kept ports.
(Two filament lamps in series after a lost neutral: fixed resistances say 150/90 V, the true law
172/68 V.) Dead tests use the law at 0 Hz.

Every law is smooth and its conducting current never falls as the voltage rises, so that a circuit
of them has one solution (real electronics draw constant power, which would have several). Volts
are r.m.s. (plain volts at 0 Hz), watts are those drawn at ``rated`` volts, admittances siemens,
``omega`` rad/s. A curve at 0 Hz is the conducting part of the r.m.s. law at v/√2: a rectifier sees
peaks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from halfsplit.errors import NotInTable
from halfsplit.tables import lamps, practice

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

LED_FARADS = 1e-9  # across a small lamp: judgement; many have more, and do not glow on ghosts
LED_SHARPNESS = 8
ELECTRONICS_THRESHOLD = 0.35  # of rated volts, so that it works from 0.4: judgement
ELECTRONICS_SHARPNESS = 8
FLUORESCENT_STRIKE = 0.65  # of rated volts: judgement
FLUORESCENT_SHARPNESS = 12
FLUORESCENT_POWER_FACTOR = 0.5  # of tube and choke alone: common practice
FLUORESCENT_CORRECTED = 0.9  # with its capacitor: common practice
MOTOR_POWER_FACTOR = 0.75  # small single-phase motor: judgement
MOTOR_STALL = 0.45  # of rated volts, midway between running and locked: judgement
MOTOR_LOCKED = 6.0  # locked admittance over free-running: judgement
MOTOR_SHARPNESS = 2.2
SURGE_OHMS_FREE = 200e6  # well under its knee: judgement
SURGE_EXPONENT = 25.0  # of the varistor: from memory
NEON_SHARPNESS = 14


class Law(Protocol):
    """A load's law, the same for every row it is asked about."""

    def admittance(self, vmag: Real) -> tuple[Complex, Complex]:
        """(y, dy/d|v|) at ``vmag`` (n,) volts of 0 or more, at supply frequency."""
        ...

    def conductance(self, v: Real) -> tuple[Real, Real]:
        """(g, dg/dv) at ``v`` (n,) volts of 0 or more, at 0 Hz."""
        ...


@dataclass(frozen=True, slots=True)
class Linear:
    """A fixed admittance ``y`` live, ``g`` at 0 Hz: heaters, windings, nothing at all."""

    y: complex
    g: float

    def admittance(self, vmag: Real) -> tuple[Complex, Complex]:
        """Constant, whatever the voltage."""
        still = np.zeros(np.shape(vmag), dtype=np.complex128)
        return still + self.y, still

    def conductance(self, v: Real) -> tuple[Real, Real]:
        """Constant, whatever the voltage."""
        still = np.zeros(np.shape(v))
        return still + self.g, still


@dataclass(frozen=True, slots=True)
class Filament:
    """A tungsten lamp: current as V^0.54, levelling off at its cold resistance near 0 V."""

    g: float  # siemens at rated volts
    rated: float

    def conductance(self, v: Real) -> tuple[Real, Real]:
        """g ((x² + x0²)/(1 + x0²))^-e, x = v/rated; e and x0 from the exponent and cold share."""
        e = lamps.RESISTANCE_EXPONENT.value / 2
        cold = lamps.COLD_SHARE.value ** (1 / e)
        cold = cold / (1 - cold)  # x0²: at 0 V the resistance is the cold share of the hot
        x = np.asarray(v, dtype=np.float64) / self.rated
        square = x * x + cold
        g = self.g * (square / (1 + cold)) ** -e
        return g, -2 * e * x * g / (square * self.rated)

    def admittance(self, vmag: Real) -> tuple[Complex, Complex]:
        """The same as at 0 Hz: its heat lasts longer than a half-wave."""
        g, dg = self.conductance(vmag)
        return g.astype(np.complex128), dg.astype(np.complex128)


@dataclass(frozen=True, slots=True)
class Knee:
    """Current that rises steeply about a threshold and is then nearly constant.

    The conducting part is i = limit xⁿ/(xⁿ + knⁿ), x = v/rated, kn = threshold; beside it stand a
    fixed admittance ``y`` (its input capacitor) and, at 0 Hz, a fixed ``g``. ``phase`` turns the
    conducting current, 1 - 1j·tan φ for a lag of φ.
    """

    limit: float  # A
    rated: float  # V
    threshold: float
    sharpness: int
    phase: complex = 1 + 0j
    y: complex = 0j
    g: float = 0.0

    def _conducting(self, x: Real) -> tuple[Real, Real]:
        # Kept finite when a solver looks far outside, by a form with no power above one's reach.
        n = self.sharpness
        u = np.minimum(np.asarray(x, dtype=np.float64) / self.threshold, 1e6)
        high = u > 1
        safe = np.where(high, u, 1.0)
        low = np.where(high, 1.0, u)
        per = self.limit / (self.rated * self.threshold)
        big, small = safe**-n, low**n
        y = per * np.where(high, 1 / (safe * (1 + big)), low ** (n - 1) / (1 + small))
        bend = np.where(
            high,
            ((n - 1) * big - 1) / (safe * safe * (1 + big) ** 2),
            low ** (n - 2) * (n - 1 - small) / (1 + small) ** 2,
        )
        return y, per * bend / (self.rated * self.threshold)

    def admittance(self, vmag: Real) -> tuple[Complex, Complex]:
        """Conducting part with its phase, plus the fixed part."""
        g, dg = self._conducting(np.asarray(vmag) / self.rated)
        y = (g * self.phase + self.y).astype(np.complex128)
        return y, (dg * self.phase).astype(np.complex128)

    def conductance(self, v: Real) -> tuple[Real, Real]:
        """The rectifier sees the direct voltage as the peak of an r.m.s. one √2 smaller."""
        g, dg = self._conducting(np.asarray(v) / (self.rated * math.sqrt(2)))
        return g / math.sqrt(2) + self.g, dg / 2


@dataclass(frozen=True, slots=True)
class Motor:
    """A motor: resistance and reactance at its running power factor, more current as it stalls.

    The admittance grows from running to locked by a fall steep enough to be seen and slow enough
    that the current still never falls as the voltage rises. At 0 Hz it is its winding.
    """

    y: complex  # siemens at rated volts
    rated: float
    g: float  # winding at 0 Hz

    def admittance(self, vmag: Real) -> tuple[Complex, Complex]:
        """Running admittance times how far it is stalled."""
        n, more = MOTOR_SHARPNESS, MOTOR_LOCKED - 1
        at_rated = 1 + more / (1 + MOTOR_STALL**-n)
        u = np.minimum(np.asarray(vmag, dtype=np.float64) / (self.rated * MOTOR_STALL), 1e6)
        stalled = 1 / (1 + u**n)
        slope = -n * u ** (n - 1) * stalled**2 / (self.rated * MOTOR_STALL)
        y = self.y / at_rated
        return y * (1 + more * stalled), y * more * slope

    def conductance(self, v: Real) -> tuple[Real, Real]:
        """The winding's resistance."""
        still = np.zeros(np.shape(v))
        return still + self.g, still


@dataclass(frozen=True, slots=True)
class Varistor:
    """A surge protector: i = v/free + a v^n, which spoils a test at 500 V and lets 250 V pass."""

    def conductance(self, v: Real) -> tuple[Real, Real]:
        """0.3 MΩ at 500 V d.c.; held level above 1500 V, where it would clamp anything."""
        n = SURGE_EXPONENT - 1
        knee = 1 / practice.SURGE_AT_500.value - 1 / SURGE_OHMS_FREE
        x = np.asarray(v, dtype=np.float64) / 500.0
        held = np.minimum(x, 3.0)
        g = knee * held**n
        return 1 / SURGE_OHMS_FREE + g, np.where(x < 3.0, n * knee * held ** (n - 1) / 500.0, 0.0)

    def admittance(self, vmag: Real) -> tuple[Complex, Complex]:
        """By the peak of the wave; conducting only near it, so no more than at 0 Hz."""
        g, dg = self.conductance(np.asarray(vmag) * math.sqrt(2))
        return g.astype(np.complex128), (math.sqrt(2) * dg).astype(np.complex128)


@dataclass(frozen=True, slots=True)
class Neon:
    """A neon indicator and its resistor: nothing until it strikes, then the resistor's current."""

    g: float  # siemens of the resistor
    strike: float  # V, direct or peak

    def admittance(self, vmag: Real) -> tuple[Complex, Complex]:
        """g uⁿ/(1 + uⁿ), u = v√2/strike: it strikes at the peak of the wave."""
        g, dg = self._at(np.asarray(vmag, dtype=np.float64), self.strike / math.sqrt(2))
        return g.astype(np.complex128), dg.astype(np.complex128)

    def conductance(self, v: Real) -> tuple[Real, Real]:
        """The same against the direct volts."""
        return self._at(np.asarray(v, dtype=np.float64), self.strike)

    def _at(self, v: Real, strike: float) -> tuple[Real, Real]:
        u = np.minimum(v / strike, 1e3)
        n = NEON_SHARPNESS
        return self.g / (1 + np.maximum(u, 1e-9) ** -n), self.g * n * u ** (n - 1) / (
            (1 + u**n) ** 2 * strike
        )


@dataclass(frozen=True, slots=True)
class AtDc:
    """A law seen by a dead test: its conductance at 0 Hz under the solver's one name."""

    law: Law

    def admittance(self, vmag: Real) -> tuple[Real, Real]:
        """(g, dg/dv) at 0 Hz."""
        return self.law.conductance(vmag)


def _heater(watts: float, rated: float, omega: float) -> Law:
    return Linear(watts / rated**2 + 0j, watts / rated**2)


def _filament(watts: float, rated: float, omega: float) -> Law:
    return Filament(watts / rated**2, rated)


def _led(watts: float, rated: float, omega: float) -> Law:
    start = lamps.LED_START.value
    limit = watts / rated * (1 + start**LED_SHARPNESS)
    return Knee(limit, rated, start, LED_SHARPNESS, y=1j * omega * LED_FARADS)


def _electronics(watts: float, rated: float, omega: float) -> Law:
    bleeder = 1 / practice.FILTER_BLEED.value
    amps = max(watts / rated - rated * bleeder, 0.0)
    limit = amps * (1 + ELECTRONICS_THRESHOLD**ELECTRONICS_SHARPNESS)
    usual = practice.ACROSS_CAPACITOR
    farads = usual.value * watts / practice.ELECTRONICS_W.value  # bigger filters: judgement
    farads = min(max(farads, usual.low / 4), usual.high)
    return Knee(
        limit,
        rated,
        ELECTRONICS_THRESHOLD,
        ELECTRONICS_SHARPNESS,
        y=bleeder + 1j * omega * farads,
        g=bleeder,
    )


def _motor(watts: float, rated: float, omega: float) -> Law:
    lag = math.tan(math.acos(MOTOR_POWER_FACTOR))
    y = watts / rated**2 * (1 - 1j * lag)
    locked_r = (1 / (y * MOTOR_LOCKED)).real
    return Motor(y, rated, 1 / (0.5 * locked_r))  # half the locked resistance is copper: judgement


def _fluorescent(watts: float, rated: float, omega: float) -> Law:
    lag = math.tan(math.acos(FLUORESCENT_POWER_FACTOR))
    left = math.tan(math.acos(FLUORESCENT_CORRECTED))
    bleeder = 1 / practice.FILTER_BLEED.value
    amps = max(watts / rated - rated * bleeder, 0.0)
    limit = amps * (1 + FLUORESCENT_STRIKE**FLUORESCENT_SHARPNESS)
    correction = 1j * watts / rated**2 * (lag - left)
    return Knee(
        limit,
        rated,
        FLUORESCENT_STRIKE,
        FLUORESCENT_SHARPNESS,
        phase=1 - 1j * lag,
        y=correction + bleeder,
        g=bleeder,
    )


def _surge(watts: float, rated: float, omega: float) -> Law:
    return Varistor()


def _neon(watts: float, rated: float, omega: float) -> Law:
    return Neon(1 / practice.NEON.value, practice.NEON_STRIKE.value)


def _nothing(watts: float, rated: float, omega: float) -> Law:
    return Linear(0j, 0.0)


_MAKERS = {
    "heater": _heater,
    "filament": _filament,
    "led": _led,
    "electronics": _electronics,
    "motor": _motor,
    "fluorescent": _fluorescent,
    "surge protector": _surge,
    "neon": _neon,
    "nothing": _nothing,
}
KINDS: tuple[str, ...] = tuple(_MAKERS)


def law(kind: str, watts: float, rated: float, omega: float = 2 * math.pi * 50) -> Law:
    """The law of a load of ``kind`` that draws ``watts`` at ``rated`` volts.

    Raises: NotInTable, listing the kinds there are ("" has none: see ``unknown_candidates``).
    """
    try:
        maker = _MAKERS[kind]
    except KeyError:
        raise NotInTable("kinds of load", kind or '""', KINDS) from None
    return maker(watts, rated, omega)


def dead_law(kind: str, watts: float, rated: float) -> AtDc:
    """The law at 0 Hz, in the form the solver takes, for tests on a dead circuit."""
    return AtDc(law(kind, watts, rated, 0.0))


def unknown_candidates() -> tuple[tuple[str, float, float], ...]:
    """(kind, watts, share) of what an unnamed load may be; shares add to 1 (judgement)."""
    return (
        ("electronics", 15.0, 0.40),
        ("electronics", 120.0, 0.20),
        ("led", 8.0, 0.10),
        ("filament", 60.0, 0.05),
        ("heater", 1500.0, 0.15),
        ("motor", 150.0, 0.10),
    )
