"""What the standards and the trade say of instruments: inputs, currents, uncertainties.

Impedances in ohms, currents in amperes, voltages in volts, uncertainties as fractions.
"""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType

from halfsplit.tables.source import Figure

# Voltage
DMM_INPUT = Figure("dmm-input", 10e6, "ohm", "dmm-10M", 9.5e6, 11e6)
DMM_CAPACITANCE = Figure("dmm-capacitance", 100e-12, "F", "dmm-100pF", 50e-12, 150e-12)
LOW_Z_INPUT = Figure("low-z-input", 3_500.0, "ohm", "meter-practice", 2_500.0, 5_000.0)
TWO_POLE_INPUT = Figure("two-pole-input", 200e3, "ohm", "meter-practice", 5e3, 400e3)
TWO_POLE_LOADED = Figure("two-pole-loaded", 5e3, "ohm", "meter-practice", 2e3, 10e3)
PHANTOM_COLLAPSE = Figure("phantom-collapse", 500e3, "ohm", "phantom", 500e3, 1e6)
VOLTAGE_UNCERTAINTY = Figure("dmm-uncertainty", 0.01, "fraction", "meter-practice")
DETECTOR_AC_MAX = Figure("detector-ac-max", 1000.0, "V", "en61243-3")
DETECTOR_DC_MAX = Figure("detector-dc-max", 1500.0, "V", "en61243-3")
GHOST_SHARE_MAX = Figure("ghost-share-max", 0.85, "of supply", "ghost-85", 0.80, 0.85)
GHOST_SWITCH_WIRE = Figure("ghost-switch-wire", 90.0, "V", "ghost-au", 60.0, 120.0)
NON_CONTACT_CAPACITANCE = Figure(
    "non-contact-capacitance", 1e-12, "F", "meter-practice", 0.3e-12, 3e-12
)

# Continuity
CONTINUITY_OPEN_MIN = Figure("continuity-open-min", 4.0, "V", "iec61557-4")
CONTINUITY_OPEN_MAX = Figure("continuity-open-max", 24.0, "V", "iec61557-4")
CONTINUITY_CURRENT_MIN = Figure("continuity-current-min", 0.2, "A", "iec61557-4")

# Insulation
INSULATION_CURRENT = Figure("insulation-current", 1e-3, "A", "iec61557-2")
INSULATION_LOAD = Figure("insulation-load", 1000.0, "ohm/V", "iec61557-2")
INSULATION_UNCERTAINTY = Figure("insulation-uncertainty", 0.30, "fraction", "iec61557-2")
INSULATION_TEST_V = (250.0, 500.0, 1000.0)
INSULATION_RANGE_TOP = Figure("insulation-range-top", 999e6, "ohm", "meter-practice", 200e6, 2e9)

# Loop, earth, continuity: the other parts of the standard
TESTER_UNCERTAINTY = Figure("tester-uncertainty", 0.30, "fraction", "iec61557-rest")
LOOP_SCATTER = Figure("loop-scatter", 0.015, "ohm", "loop-scatter", note="0.50, 0.48, 0.51")
LOOP_LOW_CURRENT = Figure("loop-low-current", 0.015, "A", "meter-practice", 0.010, 0.015)
LOOP_HIGH_CURRENT = Figure("loop-high-current", 20.0, "A", "meter-practice", 5.0, 25.0)
LOOP_NO_TRIP_EXCESS = Figure(
    "loop-no-trip-excess",
    0.2,
    "ohm",
    "meter-practice",
    0.05,
    0.5,
    note="low-current test through a residual device may read up to half an ohm high",
)
CLAMP_RESOLUTION = Figure("leakage-clamp-resolution", 1e-5, "A", "meter-practice")

STAKELESS_SOURCE = "clamp-earth"
SERIES_VOLTMETER_SOURCE = "voltage-method"

# Rated operating conditions
RATED_TEMP_C = (0.0, 35.0)
RATED_SUPPLY = (0.85, 1.10)
RATED_FREQUENCY = 0.05
RATED_SOURCE = "iec61557-1"

PROVES_DEAD = MappingProxyType(
    {
        "two-pole detector": True,
        "proving unit": True,
        "non-contact indicator": False,
        "multimeter": False,
    }
)
"""What may prove a conductor dead: only a two-pole detector, itself proved before and after."""
PROVES_DEAD_SOURCE = "ncv"


def insulation_test_load(test_V: float) -> float:
    """The load at which a tester must still hold its voltage: 1000 ohm per volt (1 mA), ohms."""
    return INSULATION_LOAD.value * test_V


def series_voltmeter(meter_ohm: float, supply_V: float, shown_V: float) -> float:
    """Resistance in series with a voltmeter that shows less than the supply, ohms.

    R = Rv (E - E') / E'. Raises: ZeroDivisionError when the meter shows nothing.
    """
    return meter_ohm * (supply_V - shown_V) / shown_V


def stakeless_clamp(own_ohm: float, others_ohm: Sequence[float]) -> float:
    """What a stakeless clamp shows on one of several electrodes: its own plus the rest in parallel.

    Raises: ZeroDivisionError without other electrodes: there is no loop to measure.
    """
    return own_ohm + 1.0 / sum(1.0 / other for other in others_ohm)
