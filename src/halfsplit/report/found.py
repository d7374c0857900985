"""What a record tells of: the finding in words, and how the record came about."""

from __future__ import annotations

from dataclasses import dataclass

from halfsplit.report.document import Drawing


@dataclass(frozen=True, slots=True)
class Line:
    """One reading before the mend in words; ``predicted`` by the cause found, ``fits`` or not."""

    place: str
    what: str
    shown: str
    instrument: str
    conditions: str
    predicted: str
    fits: str


@dataclass(frozen=True, slots=True)
class Suspect:
    """A cause that was considered: its chance in words, what it is, what speaks against it."""

    chance: str
    says: str
    against: str


@dataclass(frozen=True, slots=True)
class Found:
    """What the finding came to, in words. ``wrong`` is what was wrong and ``meant`` what it could
    have done, both for the customer too; ``mended`` whether anything was put right since.
    """

    wrong: tuple[str, ...] = ()
    meant: tuple[str, ...] = ()
    mended: bool = False
    first: str = ""
    lines: tuple[Line, ...] = ()
    suspects: tuple[Suspect, ...] = ()
    others: str = ""
    why: tuple[str, ...] = ()
    dangers: tuple[str, ...] = ()
    drawings: tuple[Drawing, ...] = ()


@dataclass(frozen=True, slots=True)
class Moment:
    """One event of the history in words."""

    when: str
    who: str
    what: str


@dataclass(frozen=True, slots=True)
class History:
    """How the record came about, and for whom.

    ``seal`` is the last event's, ``broken`` says where the chain fails, ``kept_for`` are names with
    values: the customer, the address.
    """

    seal: str = ""
    moments: tuple[Moment, ...] = ()
    broken: tuple[str, ...] = ()
    made: str = ""
    kept_for: tuple[tuple[str, str], ...] = ()


NO_HISTORY = History()
"""A record that tells nothing of how it came about."""
