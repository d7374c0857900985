"""What can happen to a job, each as a value; an :class:`Event` adds who, when and its seal.

Nothing here knows a clock, a file or a store: who, when and every text are given. A happening
carries plain JSON values only (texts, numbers, truth, lists, mappings), so that the same bytes come
back from any store. Readings, circuits and tests travel as the written form spells them.
"""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from typing import Any, TypeAlias, get_origin, get_type_hints

from halfsplit.problems import Problem


@dataclass(frozen=True, slots=True)
class JobOpened:
    """The job begins. ``form`` is the written form as it stood; ``call`` what the caller said."""

    title: str
    form: str = ""
    call: Mapping[str, Any] = field(default_factory=dict)
    region: str = "uk"


@dataclass(frozen=True, slots=True)
class FormSet:
    """The description of the installation was set or changed; ``form`` is the whole of it now."""

    form: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class ReadingTaken:
    """A reading or something seen. ``written`` is one entry of the form's ``readings``.

    ``id`` is unique in the job and never used again.
    """

    id: str
    written: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class ReadingCorrected:
    """``written`` supersedes what the reading ``id`` said; the earlier one stays in the record."""

    id: str
    written: Mapping[str, Any]
    why: str = ""


@dataclass(frozen=True, slots=True)
class ReadingWithdrawn:
    """The reading ``id`` no longer counts; it stays in the record."""

    id: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class MendDone:
    """Something was put right: ``written`` is one entry of the form's ``mend``.

    An ``id`` used before supersedes what was said then (a place was renamed); so for tests, open
    items and observations.
    """

    id: str
    written: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class TestTaken:
    """A test after the mend: ``written`` is one entry of the form's ``tests after``."""

    __test__ = False  # not a test case of the test runner

    id: str
    written: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class LinkMade:
    """An open item: a temporary link put in, or a core lifted. It blocks energising.

    ``kind`` is "link", "lifted" or "bridge"; ``what`` names the conductors, ``where`` the place.
    """

    id: str
    kind: str
    what: str
    where: str


@dataclass(frozen=True, slots=True)
class LinkRemoved:
    """The open item ``id`` is closed: the link is out, or the core is back in its terminal."""

    id: str


@dataclass(frozen=True, slots=True)
class LeftSafe:
    """How what could not be mended was left; ``written`` is the form's ``left safe``."""

    written: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Observation:
    """Something seen and not mended; ``written`` is one entry of the form's ``seen``."""

    id: str
    written: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class EntryWithdrawn:
    """The mend or observation ``id`` no longer counts; it stays in the record.

    Results of tests are never withdrawn: a later one supersedes them, saying why.
    """

    id: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """Words for the record."""

    text: str


@dataclass(frozen=True, slots=True)
class Looked:
    """A look, or a question, that found nothing: ``check`` is its id, ``what`` says what it was."""

    check: str
    what: str


@dataclass(frozen=True, slots=True)
class CallAnswered:
    """The questions of the call were answered again; ``call`` holds every answer as it is now."""

    call: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Secured:
    """An alarm was answered: people kept away, isolated, proved dead. ``how`` says it in words."""

    how: str


@dataclass(frozen=True, slots=True)
class RecordIssued:
    """A record was handed over; ``carries`` is the seal printed on it, ``to`` who received it."""

    carries: str
    to: str = ""
    edition: str = ""


Happening: TypeAlias = (
    JobOpened
    | FormSet
    | ReadingTaken
    | ReadingCorrected
    | ReadingWithdrawn
    | MendDone
    | TestTaken
    | LinkMade
    | LinkRemoved
    | LeftSafe
    | Observation
    | EntryWithdrawn
    | Note
    | Looked
    | CallAnswered
    | Secured
    | RecordIssued
)

KINDS: Mapping[str, type[Any]] = types.MappingProxyType(
    {
        "job opened": JobOpened,
        "form set": FormSet,
        "reading taken": ReadingTaken,
        "reading corrected": ReadingCorrected,
        "reading withdrawn": ReadingWithdrawn,
        "mend done": MendDone,
        "test taken": TestTaken,
        "link made": LinkMade,
        "link removed": LinkRemoved,
        "left safe": LeftSafe,
        "observation": Observation,
        "entry withdrawn": EntryWithdrawn,
        "note": Note,
        "looked": Looked,
        "call answered": CallAnswered,
        "secured": Secured,
        "record issued": RecordIssued,
    }
)
"""The name each happening is stored under."""

NAMES: Mapping[type[Any], str] = types.MappingProxyType(
    {made: name for name, made in KINDS.items()}
)


@dataclass(frozen=True, slots=True)
class Event:
    """One link of the chain.

    ``seq`` counts from 0. ``who`` is free words. ``when`` is a moment as text with its zone
    (2026-03-01T14:05:00+00:00). ``key`` makes sending twice harmless: a chain holds a key once; ""
    for none. ``before`` is the seal of the event before, ``seal`` this one's own (SHA-256, hex).
    """

    seq: int
    happening: Happening
    who: str
    when: str
    key: str
    before: str
    seal: str

    @property
    def kind(self) -> str:
        """The name this happening is stored under."""
        return NAMES[type(self.happening)]

    def body(self) -> dict[str, Any]:
        """Everything the seal covers, as JSON values."""
        return {
            "seq": self.seq,
            "kind": self.kind,
            "who": self.who,
            "when": self.when,
            "key": self.key,
            "before": self.before,
            "data": as_data(self.happening),
        }


def as_data(happening: Happening) -> dict[str, Any]:
    """A happening's own values by name, every field written out."""
    return {item.name: _plain(getattr(happening, item.name)) for item in fields(happening)}


def from_data(kind: str, data: Mapping[str, Any]) -> tuple[Happening | None, tuple[Problem, ...]]:
    """The happening those stored values say, or every reason why they say none."""
    made = KINDS.get(kind)
    if made is None:
        return None, (Problem("kind", str(kind), ", ".join(KINDS)),)
    hints = get_type_hints(made)
    known = {item.name: item for item in fields(made)}
    found = [
        Problem(f"{kind}, {name}", str(data[name]), ", ".join(known))
        for name in data
        if name not in known
    ]
    for name, item in known.items():
        if name in data:
            if not _fits(data[name], hints[name]):
                found.append(Problem(f"{kind}, {name}", repr(data[name]), _called(hints[name])))
        elif item.default is MISSING and item.default_factory is MISSING:
            found.append(Problem(f"{kind}, {name}", "", _called(hints[name])))
    if found:
        return None, tuple(found)
    happening: Happening = made(**{name: data[name] for name in known if name in data})
    return happening, ()


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(inner) for inner in value]
    return value


def _fits(value: object, wanted: Any) -> bool:
    return isinstance(value, get_origin(wanted) or wanted)


def _called(wanted: Any) -> str:
    return "words" if wanted is str else "a mapping"
