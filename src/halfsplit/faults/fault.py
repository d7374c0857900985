"""A fault: one physical thing wrong in one place, carrying its effects as data."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from halfsplit.wiring.effects import Effect
from halfsplit.wiring.model import Installation
from halfsplit.wiring.plan import Plan


@dataclass(frozen=True, slots=True)
class Severity:
    """One step of the severity grid: its effects and its share of the fault's prior (sums to 1)."""

    name: str  # "open", "22 Ω", "3 kΩ": what it is, in trade units
    effects: tuple[Effect, ...]
    share: float


@dataclass(frozen=True, slots=True)
class Fault:
    """One hypothesis before severity: family, conductors and place.

    ``rate`` is its prior weight relative to a healthy installation's 1 (see ``rates.py``);
    ``parts`` are the plan element (or load, device) ids that mending it disturbs; ``spot`` the
    place to look first, ``places`` every place it concerns (two for a core between places).
    """

    id: str
    family: str
    conductors: tuple[str, ...]
    places: tuple[str, ...]
    severities: tuple[Severity, ...]
    rate: float
    parts: tuple[str, ...] = ()
    circuit: str = ""
    detail: tuple[tuple[str, str], ...] = ()  # words to fill the family's sentence: ("run", "a–b")
    members: tuple[Fault, ...] = ()  # of two faults at once


@dataclass(frozen=True, slots=True)
class Family:
    """A catalogue entry: what it is called, why it is as likely as it is, how to know it.

    ``says`` is a sentence template with {conductors}, {place}, {from}, {to}, {load}, {device}.
    ``reason`` names the source of the rate or says "judgement". ``lookalikes`` are family ids,
    ``confirm`` says which reading settles it. ``find`` enumerates the faults of this family.
    """

    id: str
    title: str
    says: str
    reason: str
    lookalikes: tuple[str, ...]
    confirm: str
    mending: str
    find: Callable[[Installation, Plan], Iterator[Fault]]
