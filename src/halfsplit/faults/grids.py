"""Severity grids: how bad a fault of one kind may be, with shares that sum to 1.

Logarithmic and coarse on purpose: severity is integrated out, never a claim. Shares are
judgement.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import lru_cache

from halfsplit.faults.fault import Severity
from halfsplit.quantity import ohms
from halfsplit.wiring.effects import Added, Bridged, Effect, When

Grid = tuple[tuple[float, float], ...]  # (ohm, share)

# A tired joint: below 0.3 Ω nobody notices, above 10 kΩ it is as good as open.
LOOSE: Grid = (
    (0.3, 0.10), (1.0, 0.16), (3.0, 0.18), (10.0, 0.18), (30.0, 0.14), (100.0, 0.10),
    (300.0, 0.06), (1e3, 0.05), (1e4, 0.03),
)  # fmt: skip
WORN: Grid = ((0.3, 0.30), (1.0, 0.25), (3.0, 0.18), (10.0, 0.14), (100.0, 0.08), (1e3, 0.05))
ALIKE: Grid = ((0.3, 0.45), (1.0, 0.35), (3.0, 0.20))
# A tarnished contact in a dead test of 200 mA. Some tenths of a volt break its film through (the
# softening voltage of copper is about 0.12 V; R. Holm's Electric Contacts, from memory), so at the
# amperes of a load or of a loop test it is as good as clean.
FILM: Grid = ((0.3, 0.45), (1.0, 0.35), (3.0, 0.20))
NICKED: Grid = ((0.3, 0.35), (3.0, 0.30), (30.0, 0.20), (300.0, 0.15))
SERVICE: Grid = ((0.3, 0.25), (1.0, 0.25), (3.0, 0.20), (10.0, 0.15), (30.0, 0.10), (300.0, 0.05))
POOR_ROD: Grid = ((30.0, 0.15), (100.0, 0.25), (300.0, 0.25), (1e3, 0.20), (1e4, 0.15))
SHORT: Grid = ((0.0, 0.55), (1.0, 0.20), (5.0, 0.12), (30.0, 0.13))
# A box or cable that only leaks while water is in it.
DAMP: Grid = ((1e3, 0.20), (5e3, 0.35), (2e4, 0.30), (1e5, 0.15))
# A tracking or damp path: a few kilohm to a few megohm is commonest.
LEAK: Grid = (
    (100.0, 0.04), (300.0, 0.05), (1e3, 0.08), (3e3, 0.11), (1e4, 0.14), (3e4, 0.15),
    (1e5, 0.15), (3e5, 0.12), (1e6, 0.10), (3e6, 0.06),
)  # fmt: skip
# An element whose insulation gives only when it is hot.
HOT: Grid = ((300.0, 0.15), (3e3, 0.35), (1e4, 0.35), (3e4, 0.15))
FRAME: Grid = (
    (0.0, 0.22), (30.0, 0.10), (300.0, 0.12), (3e3, 0.16), (1e4, 0.14), (3e4, 0.12),
    (1e5, 0.08), (1e6, 0.06),
)  # fmt: skip


def siemens(resistance: float) -> float:
    """Conductance of a path in siemens; 0 Ω is solid (infinite)."""
    return math.inf if resistance == 0.0 else 1.0 / resistance


@lru_cache(maxsize=256)
def named(resistance: float) -> str:
    """A grid step's name in trade units; 0 Ω is "solid", infinity "open"."""
    if resistance == 0.0:
        return "solid"
    return "open" if math.isinf(resistance) else ohms(resistance)


def severities(grid: Grid, effects: Callable[[float], Iterable[Effect]]) -> tuple[Severity, ...]:
    """One severity per grid step, its effects made from the step's ohms."""
    return tuple(Severity(named(r), tuple(effects(r)), share) for r, share in grid)


def opened(*elements: str) -> tuple[Severity, ...]:
    """The one severity of a break: every named element open."""
    return (Severity("open", tuple(Added(e, math.inf) for e in elements), 1.0),)


def in_series(grid: Grid, *elements: str) -> tuple[Severity, ...]:
    """Added series resistance over a grid, the same in all the elements."""
    return severities(grid, lambda r: (Added(element, r) for element in elements))


def filmed(*elements: str) -> tuple[Severity, ...]:
    """Contacts with a film that is seen in dead tests only, one severity for all of them."""
    return tuple(
        Severity(f"film of {named(r)}", tuple(Added(e, r, "dead") for e in elements), share)
        for r, share in FILM
    )


def across(a: str, b: str, grid: Grid, when: When = "") -> tuple[Severity, ...]:
    """A path between two nodes over a grid; ``when`` for one that is there only then."""
    return severities(grid, lambda r: (Bridged(a, b, siemens(r), 0.0, when),))


def shared(*choices: tuple[tuple[Severity, ...], float]) -> tuple[Severity, ...]:
    """The same fault in one of several ways, each with its share of it."""
    return tuple(
        Severity(s.name, s.effects, s.share * part) for steps, part in choices for s in steps
    )


def either(*choices: tuple[Severity, ...]) -> tuple[Severity, ...]:
    """The same fault at one of several unknown spots, equally likely: shares divided."""
    return shared(*((choice, 1.0 / len(choices)) for choice in choices))


def once(name: str, *effects: Effect) -> tuple[Severity, ...]:
    """One severity with these effects, each kept once."""
    return (Severity(name, tuple(dict.fromkeys(effects)), 1.0),)
