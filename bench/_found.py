"""The scoring keys of the reported cases, and what counts as right."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from halfsplit.diagnosis.result import Cause, Suspect
from halfsplit.faults.fault import Fault
from halfsplit.wiring.plan import EARTH

CASES = Path(__file__).resolve().parent.parent / "cases"
KEYS = "found.yaml"
MISSED = "missed.yaml"
STRATA = ("identifiable", "symptom only")
SOUND = "nothing wrong"
METAL = "metal"  # in a key: whatever metal has a name of its own in the case
# What stands in the way of a miss, as ``missed.yaml`` says it.
CLASSES = ("form", "missing", "reading", "belief", "name", "search", "undetermined")


@dataclass(frozen=True, slots=True)
class Accepted:
    """One way to be right: families, sets of conductors (None: any), and the zone of places.

    ``at`` are places of the zone that it must concern, every one; ``named`` are parts of which its
    id must hold one, where place and conductors do not tell it from another (none: any).
    """

    families: frozenset[str]
    conductors: frozenset[frozenset[str]] | None
    zone: frozenset[str]
    at: frozenset[str] = frozenset()
    named: tuple[str, ...] = ()

    def fits(self, fault: Fault | None) -> bool:
        """Whether the fault is of the kind, on the conductors and in the zone; None: no fault."""
        if fault is None:
            return SOUND in self.families
        return (
            fault.family in self.families
            and (self.conductors is None or _touched(fault) in self.conductors)
            and (not self.named or any(part in fault.id for part in self.named))
            and self.there(fault)
        )

    def there(self, fault: Fault) -> bool:
        """Whether all places that the fault concerns lie in the zone, those it must among them."""
        return bool(fault.places) and self.at <= frozenset(fault.places) <= self.zone


def _touched(fault: Fault) -> frozenset[str]:
    """A fault's conductors; what has a name of its own, not a conductor's letters, is metal."""
    return frozenset(key if key.isupper() or key == EARTH else METAL for key in fault.conductors)


@dataclass(frozen=True, slots=True)
class Key:
    """One case's key: its stratum, one word of why, and all that is accepted."""

    code: str
    stratum: str
    why: str
    accepted: tuple[Accepted, ...]

    def fits(self, fault: Fault | None) -> bool:
        """Whether this fault (None: nothing wrong) is what was found; of two at once, both are."""
        if fault is not None and fault.members:
            return all(self.fits(member) for member in fault.members)
        return any(one.fits(fault) for one in self.accepted)

    def right(self, suspect: Suspect) -> bool:
        """Whether a suspect is right: any of its members is."""
        return any(self.fits(member.fault) for member in suspect.members)

    def there(self, suspect: Suspect) -> bool:
        """Whether a suspect sends one to the true zone, whatever it takes the fault to be."""
        return self.right(suspect) or any(
            one.there(member.fault) for member in suspect.members if member.fault
            for one in self.accepted
        )  # fmt: skip

    def belief(self, causes: Iterable[Cause]) -> float:
        """The belief in all causes that are right."""
        return sum(cause.probability for cause in causes if self.fits(cause.fault))


def read_keys(folder: Path = CASES) -> dict[str, Key]:
    """Every key by its code. Raises: ValueError naming the case whose key is not well formed."""
    raw = yaml.safe_load((folder / KEYS).read_text(encoding="utf-8"))
    return {code: _key(code, entry) for code, entry in sorted(raw.items())}


def read_explained(folder: Path = CASES) -> dict[str, tuple[str, str]]:
    """(class, why in our words) by code, of the misses that somebody has looked into.

    Raises: ValueError naming the case whose class is none of ``CLASSES``.
    """
    raw = yaml.safe_load((folder / MISSED).read_text(encoding="utf-8"))
    for code, entry in raw.items():
        if entry["class"] not in CLASSES:
            raise ValueError(f'{code}: class "{entry["class"]}" is none of {", ".join(CLASSES)}')
    return {code: (entry["class"], entry["why"]) for code, entry in raw.items()}


def _key(code: str, entry: dict[str, Any]) -> Key:
    if entry["stratum"] not in STRATA:
        raise ValueError(f'{code}: stratum "{entry["stratum"]}" is none of {", ".join(STRATA)}')
    return Key(
        code, entry["stratum"], entry["why"], tuple(_accepted(one) for one in entry["accepted"])
    )


def _accepted(one: dict[str, Any]) -> Accepted:
    sets = one["conductors"]
    return Accepted(
        frozenset(one["families"]),
        None if sets == "any" else frozenset(frozenset(text.split("+")) for text in sets),
        frozenset(one["zone"]),
        frozenset(one.get("at", ())),
        tuple(one.get("named", ())),
    )
