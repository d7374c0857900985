"""A test after the mend as it is filled in: what to ask for, and the entry an answer makes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from halfsplit.errors import BadInput
from halfsplit.form.after import TestKind
from halfsplit.problems import Problem
from halfsplit.proving.result import Wanted

_BARE = re.compile(r"(?:(?:about|over|under)\s+|[<>~≈]\s*)?[\d.,]+")
LONGEST = 60

UNITS: Mapping[TestKind, str] = {
    "continuity": "Ω", "ring ends": "Ω", "ring cross": "Ω", "insulation": "MΩ", "electrode": "Ω",
    "loop": "Ω", "fault current": "A", "trip time": "ms", "trip current": "mA", "volts": "V",
}  # fmt: skip
"""The unit a figure is typed in, where the test gives one."""

ANSWERS: Mapping[TestKind, tuple[tuple[str, str], ...]] = {
    "dead": (("yes", "proved dead"), ("no", "not dead")),
    "polarity": (("right", "right"), ("wrong", "wrong")),
    "pull": (("sound", "every core holds"), ("loose", "a core moves")),
    "button": (("trips", "trips"), ("holds", "does not trip")),
    "switching": (("yes", "every position right"), ("no", "a position wrong")),
    "works": (("yes", "works"), ("no", "does not work")),
    "symptom": (("gone", "gone"), ("still there", "still there")),
    "trip time": (("holds", "does not trip"),),
}
"""What may be seen, in the form's words and as its button says it; the good answer first."""

_CONTINUITY = (("continuity", "low-ohm tester"), ("meter ohms", "multimeter, ohms"))
INSTRUMENTS: Mapping[TestKind, tuple[tuple[str, str], ...]] = {
    "dead": (("two-pole", "two-pole detector"), ("multimeter", "multimeter")),
    "continuity": _CONTINUITY, "ring ends": _CONTINUITY, "ring cross": _CONTINUITY,
    "insulation": (("insulation 250", "250 V"), ("insulation 500", "500 V"),
                   ("insulation 1000", "1000 V")),
    "loop": (("loop", "high current"), ("loop low", "no-trip range")),
    "volts": (("multimeter", "multimeter"), ("two-pole", "two-pole detector")),
}  # fmt: skip
"""Instruments to choose from, by the form's names, the usual one not always first."""

_SEEN_KEYS: Mapping[TestKind, str] = {"dead": "proved dead"}
_RING = {"L": "r1", "N": "rn", "E": "r2"}


@dataclass(frozen=True, slots=True)
class Result:
    """What somebody found: a figure as ``shown``, or one of the answers as ``seen``.

    ``by`` is the instrument's name in the form. ``again`` says why an earlier result of the same
    test no longer counts. ``equipment``: it was still connected during an insulation test.
    """

    shown: str = ""
    seen: str = ""
    by: str = ""
    nulled: bool = False
    equipment: bool = False
    temperature: str = ""
    again: str = ""


def entry_of(wanted: Wanted, result: Result) -> dict[str, Any]:
    """The entry of the form's ``tests after`` that a result makes. Raises: BadInput."""
    entry = _where(wanted)
    if result.by:
        entry["by"] = result.by
    if result.nulled:
        entry["nulled"] = "yes"
    if result.equipment:
        entry["equipment"] = "yes"
    for key, text in (("temperature", result.temperature), ("again", result.again)):
        if text.strip():
            entry[key] = text.strip()[:300]
    return entry | _value(wanted, result)


def _where(wanted: Wanted) -> dict[str, Any]:
    """What the test is of, as the form names it."""
    test, subject, circuit = wanted.test, wanted.subject, wanted.circuit
    if test in ("trip time", "trip current", "button"):
        return {"device": subject}
    if wanted.part:
        return {wanted.part: subject}
    if "/" in subject:
        place, _, load = subject.rpartition("/")
        return {"at": place, "load": load}
    if test in ("electrode", "symptom", "fault current") or not subject:
        return {}
    if subject == circuit:
        return {"circuit": circuit}
    return {"at": subject, "circuit": circuit} if circuit else {"at": subject}


def _value(wanted: Wanted, result: Result) -> dict[str, Any]:
    test = wanted.test
    if result.seen or test not in UNITS:
        known = dict(ANSWERS.get(test, ()))
        if result.seen not in known:
            raise BadInput([Problem(wanted.title, result.seen, ", ".join(known) or "a figure")])
        if test == "trip time":
            return {"trip time": {wanted.port: result.seen}}
        return {_SEEN_KEYS.get(test, test): result.seen}
    shown = " ".join(result.shown.split())
    if not shown or len(shown) > LONGEST:
        raise BadInput(
            [Problem(wanted.title, shown, f"a figure in {UNITS[test]}, as it was shown")]
        )
    if _BARE.fullmatch(shown):
        shown = f"{shown} {UNITS[test]}"
    if test == "insulation":
        volts = re.fullmatch(r"insulation (\d+)", result.by)
        shown = shown if volts is None or " at " in shown else f"{shown} at {volts[1]} V"
    if test == "continuity" and wanted.port in ("L+E", "L+N"):
        return {"R1+R2" if wanted.port == "L+E" else "R1+Rn": shown}
    if test in ("electrode", "fault current", "trip current"):
        return {test: shown}
    port = _RING.get(wanted.port, wanted.port) if test == "ring ends" else wanted.port
    return {test: {port: shown}}
