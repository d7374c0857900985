"""The supply's cable damaged: its conductors touching, or the neutral parted and a line on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

from halfsplit.faults.crossings import parted
from halfsplit.faults.fault import Fault, Severity
from halfsplit.faults.grids import across
from halfsplit.faults.scene import LIVE_KEYS, make, survey
from halfsplit.faults.supply import family_of
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan

# A short ahead of the origin, ohms and shares: below 0.2 ohm the network's fuse goes (judgement).
SUPPLY_SHORT = ((0.0, 0.6), (0.2, 0.25), (1.0, 0.15))
# A line on the parted neutral of a damaged supply cable, ohms and shares: judgement.
DAMAGED = ((1.0, 0.35), (10.0, 0.30), (100.0, 0.20), (1e3, 0.15))


def shorted_supplies(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """Each two conductors of the supply cable touching ahead of the installation.

    A solid short has taken the network's fuse; what arcs only drags the voltage down.
    """
    scene = survey(installation, plan)
    services = list(scene.kind("service"))
    for one, two in combinations(services, 2):
        lines = tuple(e for e in (one, two) if e.conductor in LIVE_KEYS)
        if not lines:
            continue
        dead = tuple(parted(e.id) for e in lines)
        steps = tuple(
            Severity(s.name, (*s.effects, *(dead if s.name == "solid" else ())), s.share)
            for s in across(one.b, two.b, SUPPLY_SHORT)
        )
        yield make(
            "supply short", f"{one.conductor}-{two.conductor}", (one.conductor, two.conductor),
            ("origin",), steps, scene.weigh("supply short"), (one.id, two.id), place="origin",
            a=one.b, b=two.b,
        )  # fmt: skip


def damaged_cables(installation: Installation, plan: Plan) -> Iterator[Fault]:
    """The supply's neutral or combined conductor parted, and each line touching its house side."""
    scene = survey(installation, plan)
    services = {e.conductor: e for e in scene.kind("service")}
    neutral = services.get("PEN") or services.get("N")
    for key in LIVE_KEYS:
        line = services.get(key)
        if line is None or neutral is None:
            continue
        steps = tuple(
            replace(step, effects=(parted(neutral.id), *step.effects))
            for step in across(line.b, neutral.b, DAMAGED)
        )
        yield make(
            "supply cable damaged", f"{key} on {neutral.id}", (key, neutral.conductor),
            ("origin",), steps, scene.weigh("supply cable damaged"), (line.id, neutral.id),
            place="origin", a=line.b, b=neutral.b,
        )  # fmt: skip


FAMILIES = (
    family_of(
        "supply short", "Short in the supply cable",
        "{conductors} touch in the supply cable, ahead of the {origin}.",
        ("supply line lost", "supply voltage", "short in cable"),
        "With the main switch off the volts before it are still low or gone. Leave it closed up "
        "and call the network operator.", shorted_supplies,
    ),
    family_of(
        "supply cable damaged", "Supply cable damaged: neutral parted and {line} touching it",
        "In the supply cable the neutral is parted, and {conductors} touch on the {origin}'s side.",
        ("combined conductor lost", "supply neutral lost", "supply reversed", "supply short"),
        "With the main switch off, neutral, and where they are joined the {earth} terminal too, "
        "still stand at up to {line} against an independent {earth}. Keep off metalwork and call "
        "the network operator.", damaged_cables,
    ),
)  # fmt: skip
