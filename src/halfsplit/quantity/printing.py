"""Print quantities as a tester shows them: 0.34 Ω, 34 kΩ, over 999 MΩ, 0.8 mA."""

from __future__ import annotations

import math

from halfsplit.quantity.kinds import FOOT


def ohms(value: float) -> str:
    """A resistance as a tester shows it: 28 mΩ, 0.34 Ω, 34 kΩ, 1.2 MΩ, over 999 MΩ."""
    size = abs(value)
    if size >= 999.5e6:
        return "over 999 MΩ" if value > 0 else "under -999 MΩ"
    if size < 5e-7:
        return "0 Ω"
    if size < 0.05:
        return _stepped(value, (("mΩ", 1e-3),), digits=2)
    if size < 10.0:
        return f"{_trim(f'{value:.2f}')} Ω"
    return _stepped(value, (("Ω", 1.0), ("kΩ", 1e3), ("MΩ", 1e6)), digits=3)


def volts(value: float) -> str:
    """A voltage: 236 V, 12.3 V, 0.8 V, 3 mV."""
    if abs(value) < 5e-5:
        return "0 V"
    return _stepped(value, (("mV", 1e-3), ("V", 0.1), ("kV", 1e4)), digits=3)


def amps(value: float) -> str:
    """A current: 16 A, 0.8 mA, 73 µA."""
    if abs(value) < 5e-8:
        return "0 A"
    return _stepped(value, (("µA", 1e-6), ("mA", 1e-4), ("A", 1.0), ("kA", 1e3)), digits=3)


def watts(value: float) -> str:
    """A power: 60 W, 2 kW, 0.5 W."""
    return _stepped(value, (("W", 1e-2), ("kW", 1e3), ("MW", 1e6)), digits=3)


def metres(value: float) -> str:
    """A length: 8 m, 8.5 m, 120 m, 0.35 m."""
    decimals = 0 if abs(value) >= 100 else 1 if abs(value) >= 1 else 2
    return f"{_trim(f'{value:.{decimals}f}')} m"


def feet(value: float) -> str:
    """A length, given in metres, in feet: 35 ft, 6.2 ft."""
    size = value / FOOT
    return f"{size:.0f} ft" if size >= 10.0 else f"{_trim(f'{size:.1f}')} ft"


def seconds(value: float) -> str:
    """A time: 25 ms, 0.4 s, 5.6 s, 3 min."""
    if abs(value) >= 120.0:
        return f"{_significant(value / 60.0, 2)} min"
    return _stepped(value, (("ms", 1e-3), ("s", 0.1)), digits=3)


def farads(value: float) -> str:
    """A capacitance: 100 pF, 4.7 nF, 0.1 µF is shown as 100 nF."""
    return _stepped(value, (("pF", 1e-12), ("nF", 1e-9), ("µF", 1e-6)), digits=3)


def hertz(value: float) -> str:
    """A frequency: 50 Hz."""
    return f"{_significant(value, 3)} Hz"


def percent(fraction: float) -> str:
    """A fraction as a percentage, never rounded up to certainty or down to nothing.

    0.5 gives 50 %, 0.088 gives 8.8 %, 0.9996 gives over 99.9 %, 0.00004 gives under 0.01 %.
    """
    shown = 100.0 * fraction
    if shown in (0.0, 100.0):
        return f"{shown:.0f} %"
    if 0.0 < shown < 0.01:
        return "under 0.01 %"
    if 99.9 < shown < 100.0:
        return "over 99.9 %"
    if 99.0 < shown < 100.0 or abs(shown) < 9.95:
        return f"{_trim(f'{shown:.1f}' if abs(shown) >= 0.1 else f'{shown:.2f}')} %"
    return f"{shown:.0f} %"


def square_mm(value: float) -> str:
    """A metric size: 2.5 mm²."""
    return f"{_significant(value, 4)} mm²"


def gauge(value: float) -> str:
    """A gauge number: 12 AWG, 1/0 AWG."""
    number = round(value)
    return f"{number} AWG" if number > 0 else f"{1 - number}/0 AWG"


PRINTERS = {
    "m": metres,
    "W": watts,
    "V": volts,
    "A": amps,
    "ohm": ohms,
    "s": seconds,
    "F": farads,
    "Hz": hertz,
    "fraction": percent,
    "mm2": square_mm,
    "AWG": gauge,
}


def _trim(text: str) -> str:
    trimmed = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if trimmed in ("-0", "") else trimmed


def _significant(value: float, digits: int) -> str:
    """A plain decimal with that many significant digits, no exponent, no trailing zeros."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else str(value)
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, decimals)
    return _trim(f"{rounded:.{max(decimals, 0)}f}")


def _stepped(value: float, steps: tuple[tuple[str, float], ...], digits: int) -> str:
    """Pick the largest step not above the *rounded* value; a step below 1 still prints in units."""
    shown = float(_significant(value, digits)) if value else 0.0
    unit = steps[0][0]
    for name, floor in steps:
        if abs(shown) >= floor * (1 - 1e-12):
            unit = name
    scale = _SCALE.get(unit[0], 1.0) if len(unit) > 1 else 1.0
    return f"{_significant(value / scale, digits)} {unit}"


_SCALE = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}
