"""The catalogue of faults: every family, and every fault of an installation, in a fixed order.

To add a fault: write its ``find`` and its :class:`Family` entry in the module of its group, its
row in ``rates.py``, and its test. Everything else (words, manual, enumeration) follows from the
entry.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.errors import NotInTable
from halfsplit.faults import (
    appliances,
    backfeed,
    cables,
    circuits,
    crossings,
    devices,
    in_neutral,
    joints,
    legs,
    lighting,
    misleading,
    rings,
    supply,
    supply_cable,
    together,
)
from halfsplit.faults.both import TWO, both
from halfsplit.faults.fault import Family, Fault
from halfsplit.faults.renewed import less_renewed
from halfsplit.faults.scene import survey
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

GROUPS: tuple[tuple[str, tuple[Family, ...]], ...] = (
    ("Joints and contacts", joints.FAMILIES),
    ("Cables and boxes", cables.FAMILIES),
    ("Several conductors at one place", together.FAMILIES),
    ("Crossed conductors", crossings.FAMILIES),
    ("Between circuits and at the board", circuits.FAMILIES),
    ("Lines mixed up", legs.FAMILIES),
    ("Fed from elsewhere", backfeed.FAMILIES),
    ("Rings", rings.FAMILIES),
    ("Switches in the neutral", in_neutral.FAMILIES),
    ("Lighting", lighting.FAMILIES),
    ("Devices and switches", devices.FAMILIES),
    ("Appliances and loads", appliances.FAMILIES),
    ("Supply and earthing", supply.FAMILIES + supply_cable.FAMILIES),
    ("Nothing wrong: the reading misleads", misleading.FAMILIES),
)

FAMILIES: tuple[Family, ...] = tuple(family for _, group in GROUPS for family in group)


def family(id: str) -> Family:
    """The family of that id. Raises: NotInTable, listing the families there are."""
    for entry in (*FAMILIES, TWO):
        if entry.id == id:
            return entry
    raise NotInTable("fault catalogue", id, (entry.id for entry in FAMILIES))


def enumerate_faults(installation: Installation, plan: Plan) -> tuple[Fault, ...]:
    """Every single fault of the installation: catalogue order, then plan order; ids are unique.

    What was renewed without effect keeps little of its rate.
    """
    faults: dict[str, Fault] = {}
    for entry in FAMILIES:
        for fault in entry.find(installation, plan):
            faults.setdefault(fault.id, fault)
    return tuple(map(less_renewed(survey(installation, plan)), faults.values()))


def two(first: Fault, second: Fault, steps: Sequence[tuple[int, int]]) -> Fault:
    """Two faults at once, at steps (i, j) of their severities."""
    return both(first, second, (family(first.family).says, family(second.family).says), steps)
