"""The sheet an installation is laid out on: the lists being filled, and common constants.

Contact and stray values are common practice: a good joint is a few milliohm, a terminal has a
few picofarad to what surrounds it (real, not a numerical crutch: a part held by nothing else
hangs on it, and a meter there reads what its own input makes of it).
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, field

from halfsplit.wiring.model import Supply
from halfsplit.wiring.plan import Coupling, Element, LoadPort, Spot, Way

JOINT_OHMS = 0.003  # a good screwed joint or splice: a few milliohm (common practice)
CONTACT_OHMS = 0.01  # a socket's plug contact (common practice)
POLE_OHMS = 0.004  # a device's closed pole (common practice)
FLEX_OHMS = 0.03  # two metres of flexible cord core
LINK_OHMS = 0.001
STRAY_FARADS = 2e-12
STRAY_SIEMENS = 1e-13

LINES = {
    "single": ("L",),
    "split": ("L1", "L2"),
    "three": ("L1", "L2", "L3"),
    "centre tap": ("L1", "L2"),
    "high leg": ("L1", "L2", "L3"),
}


def lines_of(supply: Supply) -> tuple[str, ...]:
    """The line keys of a supply, in phase order."""
    return LINES[supply.live]


def phasors(supply: Supply) -> dict[str, complex]:
    """Open-circuit line-to-neutral phasors (V r.m.s.) by line key.

    High leg: a 240 V delta with the middle of L1-L3 earthed, so L2 stands at 208 V.
    """
    volts = supply.volts.value
    if supply.live == "single":
        return {"L": volts + 0j}
    if supply.live in ("split", "centre tap"):
        return {"L1": volts + 0j, "L2": -volts + 0j}
    if supply.live == "high leg":
        return {"L1": volts + 0j, "L2": 1j * math.sqrt(3.0) * volts, "L3": -volts + 0j}
    turn = cmath.exp(-2j * math.pi / 3)
    return {"L1": volts + 0j, "L2": volts * turn, "L3": volts * turn**2}


@dataclass(slots=True)
class Sheet:
    """The lists being filled while an installation is laid out."""

    elements: list[Element] = field(default_factory=list)
    couplings: list[Coupling] = field(default_factory=list)
    loads: list[LoadPort] = field(default_factory=list)
    ways: list[Way] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    landings: dict[tuple[str, str], str] = field(default_factory=dict)

    def add(self, element: Element) -> str:
        """Put an element on the sheet; its id."""
        self.elements.append(element)
        return element.id

    def couple(self, coupling: Coupling) -> None:
        """Put a shunt on the sheet."""
        self.couplings.append(coupling)
