"""Common-practice values: joints, contacts, leads, filter capacitors, damp, surge protectors.

None of these is a limit. They centre the nuisances that readings then settle; each band is the
middle nine tenths.
"""

from __future__ import annotations

import math

from halfsplit.tables.source import Figure

# Joints and contacts
JOINT_SOUND = Figure("joint-sound", 1e-3, "ohm", "joint-practice", 2e-4, 5e-3)
CONTACT_FRONT = Figure(
    "contact-front", 5e-3, "ohm", "joint-practice", 1e-3, 5e-2, note="plug pin in its contact"
)
CONTACT_WORN = Figure("contact-worn", 0.3, "ohm", "joint-practice", 0.05, 1.0)
SWITCH_CLOSED = Figure("switch-closed", 1e-2, "ohm", "joint-practice", 2e-3, 5e-2)
DEVICE_POLE = Figure(
    "device-pole", 6e-3, "ohm", "joint-practice", 1e-3, 2e-2, note="a 16 to 32 A breaker, cold"
)
JOINT_TIRED = Figure("joint-tired", 1.0, "ohm", "joint-practice", 0.05, 50.0)
JOINT_OPEN_FROM = Figure(
    "joint-open-from", 1e6, "ohm", "joint-practice", note="from here a joint is called open"
)
CONTACT_BOND_DEAD = Figure(
    "fault-contact", 0.1, "ohm", "joint-practice", 0.01, 2.0, note="a solid short where it touches"
)

# Leads
LEADS_PAIR = Figure("leads-pair", 0.15, "ohm", "leads-practice", 0.05, 0.5)
LEADS_POOR = Figure("leads-poor", 1.0, "ohm", "leads-practice", note="cheap or un-nulled leads")

# Appliances
FILTER_CAPACITOR = Figure(
    "filter-capacitor",
    2.2e-9,
    "F",
    "filter-practice",
    1e-9,
    4.7e-9,
    note="one from line and one from neutral to the earthed frame",
)
ACROSS_CAPACITOR = Figure("across-capacitor", 1e-7, "F", "filter-practice", 2.2e-8, 4.7e-7)
FILTER_BLEED = Figure("filter-bleed", 1e6, "ohm", "filter-practice", 4.7e5, 2.2e6)
ELECTRONICS_W = Figure("electronics-watts", 60.0, "W", "filter-practice", 10.0, 200.0)
FILTER_LARGE = Figure("filter-large", 1e-7, "F", "forum-ycap", note="about 7.5 mA at 240 V, 50 Hz")
LEAKAGE_PORTABLE = Figure("leakage-portable", 0.75e-3, "A", "touch-limits-product")
LEAKAGE_STATIONARY = Figure("leakage-stationary", 3.5e-3, "A", "touch-limits-product")
FRAME_INSULATION = Figure("frame-insulation", 50e6, "ohm", "damp", 2e6, 1e9)
ELEMENT_DAMP = Figure("element-damp", 20e3, "ohm", "damp", 2e3, 500e3)
NEON = Figure("neon-resistor", 220e3, "ohm", "filter-practice", 150e3, 330e3)
NEON_STRIKE = Figure("neon-strike", 90.0, "V", "filter-practice", 65.0, 110.0)

# Dimmers and electronic switches: what they pass when off
SNUBBER = Figure(
    "snubber", 47e-9, "F", "filter-practice", 10e-9, 150e-9,
    note="across the contact of a dimmer or an electronic switch",
)  # fmt: skip
ELECTRONIC_SWITCH_OHMS = Figure(
    "electronic-switch-ohms", 1e6, "ohm", "filter-practice", 0.2e6, 10e6,
    note="what an insulation tester finds through one",
)  # fmt: skip

# Surge protectors on an insulation test
SURGE_AT_500 = Figure("surge-at-500V", 0.3e6, "ohm", "filter-practice", 0.1e6, 0.6e6)
SURGE_CLAMP_DC = Figure("surge-clamp-dc", 430.0, "V", "filter-practice", 350.0, 470.0)

# Damp
DAMP_CABLE = Figure("damp-cable", 100e3, "ohm", "damp", 3e3, 2e6)
EARTH_CONTACT = Figure(
    "accidental-electrode", 30.0, "ohm", "damp", 3.0, 600.0, note="pipes and frames in the ground"
)


def capacitor_ohm(farads: float, frequency_Hz: float) -> float:
    """Reactance of a capacitor, ohms: 1 / (2π f C)."""
    return 1.0 / (2.0 * math.pi * frequency_Hz * farads)


def capacitor_amps(farads: float, volts: float, frequency_Hz: float) -> float:
    """Current a capacitor passes at ``volts`` RMS, amperes: 2π f C U."""
    return volts / capacitor_ohm(farads, frequency_Hz)
