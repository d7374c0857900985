"""Effects as data: what a fault, a thrown switch or a mend does to the circuit or to a reading.

Any fault adds series resistance to a few conductors or shunt admittance between a few
terminals; nothing is ever subtracted. A tripped device or a thrown switch is the same kind of
change. ``math.inf`` is an open (series) or a solid joint (bridge).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from halfsplit.wiring.conditions import Conditions

When = Literal["", "wet", "warm", "dead"]


@dataclass(frozen=True, slots=True)
class Added:
    """Series resistance ``ohms`` added to the element ``element`` (inf = open).

    ``when`` is "" for always, "dead" for a film that only a dead test's small current leaves whole.
    """

    element: str
    ohms: float
    when: When = ""


@dataclass(frozen=True, slots=True)
class Bridged:
    """Admittance added between ``a`` and ``b``: ``siemens`` (inf = solid), ``farads`` at a.c.

    ``when`` is "" for always, "wet" or "warm" for what conducts in such conditions only.
    """

    a: str
    b: str
    siemens: float
    farads: float = 0.0
    when: When = ""


@dataclass(frozen=True, slots=True)
class Scaled:
    """A source's e.m.f. multiplied by ``factor``: supply high or low, or a phase turned."""

    element: str
    factor: complex


@dataclass(frozen=True, slots=True)
class LoadChange:
    """A load's law replaced or removed: ``kind`` "" takes it away; watts as stated."""

    load: str
    kind: str
    watts: float = 0.0


@dataclass(frozen=True, slots=True)
class StateChange:
    """A device, switch or load in another state than described ("open", a position, "off")."""

    control: str
    state: str


@dataclass(frozen=True, slots=True)
class ReadingChange:
    """Readings falsified at the instrument: which (by instrument kind or "all") and how.

    ``how``: "lead open" (shows stray pick-up only), "fuse blown" (current and resistance ranges
    dead), "lamp blown" (never lights), "scale" (value times ``factor``), "offset" (plus it).
    """

    instruments: tuple[str, ...]
    how: str
    factor: float = 1.0


Effect = Added | Bridged | Scaled | LoadChange | StateChange | ReadingChange


def felt(effect: Effect, conditions: Conditions) -> bool:
    """Whether an effect is there at all in these conditions: damp dries, an element cools."""
    when = effect.when if isinstance(effect, Added | Bridged) else ""
    here = {"": True, "wet": conditions.wet, "warm": conditions.warm, "dead": conditions.dead}
    return here[when]
