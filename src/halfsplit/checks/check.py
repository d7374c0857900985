"""A check: one possible next reading or look, and what is offered of it; all data."""

from __future__ import annotations

from dataclasses import dataclass, field

from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions

FOUND = ("found", "not found")
YES_NO = ("yes", "no")


@dataclass(frozen=True, slots=True)
class Check:
    """One possible next step on site.

    ``kind`` is a row of ``costs.KINDS``; ``instrument`` a catalogue id, "" for looking or asking;
    ``reading`` the reading it will give, without its value (None where there is nothing to enter
    but "found" or "not found"). ``access`` is plug, cover, board or none. ``finds`` are (fault id,
    chance that a look finds it). ``circuit`` is the circuit it works on, "" for all.
    ``answers`` are the chances of "yes" to a question (fault id, chance).
    """

    id: str
    kind: str
    what: str
    where: str
    instrument: str = ""
    reading: Reading | None = None
    conditions: Conditions = field(default_factory=Conditions)
    access: str = "none"
    circuit: str = ""
    finds: tuple[tuple[str, float], ...] = ()
    answers: tuple[tuple[str, float], ...] = ()

    @property
    def says(self) -> tuple[str, str]:
        """The two words of a look's or a question's outcome."""
        return YES_NO if self.answers else FOUND

    @property
    def dead(self) -> bool:
        """Whether it is done isolated and proved dead."""
        return self.conditions.dead

    @property
    def looks(self) -> bool:
        """Whether its outcome is "found" or "not found"."""
        return bool(self.finds)


@dataclass(frozen=True, slots=True)
class Refused:
    """A check that is not offered: the number of the rule of safety, and the reason in words.

    ``gain`` (bits) is what it would have settled, None where that was not worked out.
    """

    check: Check
    rule: int
    reason: str
    gain: float | None = None


@dataclass(frozen=True, slots=True)
class Remains:
    """A suspect after an outcome: what it says, where, and its share of belief then."""

    says: str
    places: tuple[str, ...]
    probability: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """One band of a check's outcomes.

    ``low`` and ``high`` bound it (SI; None where it is a word or over range); the bands of a check
    leave no gap. ``words`` says it in trade units; ``chance`` how likely it is; ``means`` what
    would remain, most believed first.
    """

    words: str
    chance: float
    means: tuple[Remains, ...]
    says: str
    low: float | None = None
    high: float | None = None
    seen: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """A check as offered: what to do, what each outcome would mean, and why this one.

    ``gain`` is in bits over suspect groups, ``per_minute`` of all it takes now. ``steps`` are in
    order; ``cautions`` come before them on any screen.
    """

    what: str
    where: str
    conditions: str
    minutes: float
    gain: float
    per_minute: float
    outcomes: tuple[Outcome, ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    check: Check
    why: str


@dataclass(frozen=True, slots=True)
class Considered:
    """All that came of looking for the next check.

    ``stop`` is empty while a check is worth its minutes; otherwise it says why measuring further
    settles nothing. ``refused`` are kept with their reasons.
    """

    proposals: tuple[Proposal, ...]
    refused: tuple[Refused, ...]
    stop: str = ""
    examined: int = 0
