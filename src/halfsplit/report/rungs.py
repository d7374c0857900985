"""What a ladder is made of: marks, notes, breaks, cables, rungs and chains; all data."""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.report.readings import Told


@dataclass(frozen=True, slots=True)
class Mark:
    """One conductor at one rung: volts to true earth, and what holds it ("line", "earthed",
    "between", "floats"; "" not known). ``hurts`` is what a person may find there, in words.
    """

    key: str
    volts: float | None
    held: str
    hurts: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A reading on its rung beside its prediction; ``fits`` is yes, no or slip.

    ``circuit`` is the circuit that a reading at a board belongs to, "" where it is shared.
    """

    told: Told
    predicted: str
    fits: str
    circuit: str = ""


@dataclass(frozen=True, slots=True)
class Break:
    """Where a rail is broken: the conductor, both terminals in words, ohms added (inf is open)."""

    key: str
    a: str
    b: str
    ohms: float


@dataclass(frozen=True, slots=True)
class Link:
    """The cable down to a rung: rails as (key at its start, key at its end), lengths in words.

    ``leaving``, ``inside`` and ``arriving`` are breaks at its upper end, in a core, at its lower.
    """

    name: str
    length: str
    rails: tuple[tuple[str, str], ...]
    leaving: tuple[Break, ...] = ()
    inside: tuple[Break, ...] = ()
    arriving: tuple[Break, ...] = ()


@dataclass(frozen=True, slots=True)
class Rung:
    """A place. ``faults`` say what the cause does inside; ``spurs`` are the chains that leave."""

    place: str
    kind: str
    marks: tuple[Mark, ...]
    notes: tuple[Note, ...]
    fitted: str
    breaks: tuple[Break, ...] = ()
    faults: tuple[str, ...] = ()
    spurs: tuple[Chain, ...] = ()

    def mark(self, key: str) -> Mark | None:
        """The conductor's mark here; None where it has no terminal."""
        return next((m for m in self.marks if m.key == key), None)


@dataclass(frozen=True, slots=True)
class Chain:
    """Rungs one after another, each with the cable that reaches it. ``returns``: a ring's end."""

    keys: tuple[str, ...]
    steps: tuple[tuple[Link, Rung], ...]
    returns: bool = False


@dataclass(frozen=True, slots=True)
class Ladder:
    """One circuit: its name and device, its board's rung, the chains that leave the board."""

    circuit: str
    device: str
    head: Rung
    chains: tuple[Chain, ...]
    order_known: bool
    drawn: bool  # whether anything was read there, or anything is the matter
