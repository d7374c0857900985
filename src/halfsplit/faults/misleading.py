"""Nothing wrong in the wiring: the reading misleads. (A ghost voltage is the sound circuit.)"""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.faults.fault import Family, Fault, Severity
from halfsplit.faults.rates import rate
from halfsplit.faults.scene import make
from halfsplit.wiring.effects import ReadingChange
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

ALL = ("all",)
RANGES = ((10.0, 0.35), (0.1, 0.35), (1000.0, 0.15), (0.001, 0.15))
LEADS = ((0.2, 0.40), (0.5, 0.35), (1.0, 0.25))


def _one(id: str, steps: tuple[Severity, ...]) -> Iterator[Fault]:
    yield make(id, "instrument", (), (), steps, rate(id).weight)


def lead_open(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """A test lead that is open: only stray pick-up is shown."""
    return _one("lead open", (Severity("open", (ReadingChange(ALL, "lead open"),), 1.0),))


def fuse_blown(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """A meter whose fuse has blown: its current and ohms ranges are dead."""
    return _one("fuse blown", (Severity("blown", (ReadingChange(ALL, "fuse blown"),), 1.0),))


def wrong_range(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every number out by a range or a prefix."""
    steps = tuple(
        Severity(f"times {factor:g}", (ReadingChange(ALL, "scale", factor),), share)
        for factor, share in RANGES
    )
    return _one("wrong range", steps)


def leads_not_nulled(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Every low resistance too high by the test leads."""
    kinds = ("ohms",)
    steps = tuple(
        Severity(f"plus {ohm:g} Ω", (ReadingChange(kinds, "offset", ohm),), share)
        for ohm, share in LEADS
    )
    return _one("leads not nulled", steps)


def lamp_blown(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """A test lamp that never lights."""
    return _one("test lamp blown", (Severity("blown", (ReadingChange(ALL, "lamp blown"),), 1.0),))


_TWICE = (
    "Nothing in the wiring is disturbed; take the readings again with an instrument proved good."
)

FAMILIES = (
    Family(
        "lead open", "Test lead open",
        "A test lead is open: the readings show stray pick-up only.", rate("lead open").words,
        ("open joint", "supply line lost", "fuse blown"),
        "Prove the instrument, with both leads, on a known source before and after.",
        _TWICE, lead_open,
    ),
    Family(
        "fuse blown", "Meter fuse blown",
        "The meter's fuse has blown: it shows no current, and every resistance open.",
        rate("fuse blown").words, ("lead open", "open joint", "broken core"),
        "Touch the leads together on the ohms range: it should read near zero.",
        _TWICE, fuse_blown,
    ),
    Family(
        "wrong range", "Range or prefix misread",
        "The numbers are out by a range or a prefix.", rate("wrong range").words,
        ("supply voltage", "leak in cable", "leads not nulled"),
        "Measure something known: the supply, or a resistor.", _TWICE, wrong_range,
    ),
    Family(
        "leads not nulled", "Leads not nulled",
        "The low resistances include the test leads.", rate("leads not nulled").words,
        ("loose joint", "damaged core", "worn contact"),
        "Touch the leads together on the ohms range, and take off what is read.",
        _TWICE, leads_not_nulled,
    ),
    Family(
        "test lamp blown", "Test lamp blown",
        "The test lamp never lights, whatever it meets.", rate("test lamp blown").words,
        ("open joint", "supply line lost", "lead open"),
        "Prove the lamp on a known source before and after.", _TWICE, lamp_blown,
    ),
)  # fmt: skip
