"""What was sent from a page as an entry of the written form; the form decides whether it reads."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from halfsplit.errors import BadInput
from halfsplit.problems import Problem
from halfsplit.service.offered import filled


class How(NamedTuple):
    """A way to take a reading: instrument id of the form, test key ("" live volts), unit shown."""

    by: str
    test: str
    unit: str
    label: str


HOWS: Mapping[str, How] = {
    "multimeter": How("multimeter", "", "V", "multimeter"),
    "two-pole": How("two-pole", "", "V", "two-pole"),
    "low": How("low impedance", "", "V", "low-impedance"),
    "unsaid": How("", "", "V", "not known"),
    "ohms": How("continuity", "dead", "Ω", "low ohms"),
    "insulation": How("insulation 500", "insulation", "MΩ", "insulation 500 V"),
    "insulation 250": How("insulation 250", "insulation", "MΩ", "insulation 250 V"),
    "loop": How("loop low", "loop", "Ω", "loop, live"),
}
"""Volts first: each is one tap. Dead tests say in the page that they are made proved dead."""


class Saw(NamedTuple):
    """A thing seen: the form's key and value, and what its button says."""

    key: str
    value: Any
    label: str
    alarm: bool = False


SAWS: Mapping[str, Saw] = {
    "works": Saw("works", "yes", "works"),
    "dead": Saw("works", "no", "dead"),
    "weak": Saw("works", "weakly", "weak"),
    "dim": Saw("dim", "yes", "dim"),
    "bright": Saw("bright", "yes", "too bright"),
    "flickers": Saw("flickers", "yes", "flickers"),
    "glows": Saw("glows", "yes", "glows when off"),
    "trips at once": Saw("trips", "at once", "trips at once"),
    "trips later": Saw("trips", "yes", "trips later"),
    "holds": Saw("trips", "holds", "holds"),
    "tingle": Saw("tingle", "case", "tingle", True),
    "shock": Saw("shock", "case", "shock", True),
    "heat": Saw("notice", ["heat"], "hot", True),
    "smell": Saw("notice", ["smell"], "smells burnt", True),
    "buzz": Saw("notice", ["buzz"], "buzzes"),
    "wet": Saw("notice", ["wet"], "wet", True),
}
AT_POINT = tuple(name for name in SAWS if SAWS[name].key != "trips")
AT_BOARD = ("trips at once", "trips later", "holds", "heat", "smell", "buzz", "wet")

CONDITIONS: Mapping[str, str] = {
    "main off": "main switch off",
    "circuit off": "its circuit off",
    "all out": "all unplugged",
    "lamp": "a lamp plugged in here",
    "link": "L–E linked at the board",
    "warm": "after warming up",
    "rain": "in the rain",
}
_BARE = re.compile(r"(?:(?:about|over|under|falls to)\s+|[<>~≈]\s*)?[\d.,]+")
_PAIR = re.compile(r"[A-Z]{1,2}\d?(?:\+[A-Z]\d?)?-[A-Z]{1,2}\d?")
LONGEST_SHOWN = 60


def reading_entry(form: Mapping[str, Any], many: Mapping[str, Sequence[str]]) -> dict[str, Any]:
    """One entry of the form's readings from a page's fields.

    Raises: BadInput naming the field.
    """
    if form.get("template"):
        return _from_template(form)
    at = str(form.get("at", "")).strip()
    entry: dict[str, Any] = {"at": at} if at else {}
    if form.get("circuit"):
        entry["circuit"] = str(form["circuit"])
    saw = str(form.get("saw", ""))
    if saw:
        entry |= _seen(saw, entry)
    else:
        entry |= _measured(form, entry)
    showing = str(form.get("showing", ""))
    if showing in ("yes", "no"):
        entry["showing"] = showing
    conditions = _with(many.get("cond", ()), at, str(form.get("circuit", "")))
    if conditions:
        entry["with"] = conditions
    return entry


def _seen(saw: str, entry: Mapping[str, Any]) -> dict[str, Any]:
    if saw not in SAWS:
        raise BadInput([Problem("seen", saw, ", ".join(SAWS))])
    key, value = SAWS[saw].key, SAWS[saw].value
    if key == "trips" and not entry.get("circuit"):
        raise BadInput([Problem("trips", saw, "the circuit whose device it is")])
    return {key: value}


def _measured(form: Mapping[str, Any], entry: dict[str, Any]) -> dict[str, Any]:
    shown = str(form.get("shown", "")).strip()
    how = HOWS.get(str(form.get("how", "multimeter")))
    if how is None:
        raise BadInput([Problem("instrument", str(form.get("how")), ", ".join(HOWS))])
    if not shown or len(shown) > LONGEST_SHOWN:
        raise BadInput([Problem("what it showed", shown, f'a number such as "{_example(how)}"')])
    if _BARE.fullmatch(shown):
        shown = f"{shown} {how.unit}"
    pair = str(form.get("pair", ""))
    if not _PAIR.fullmatch(pair):
        raise BadInput([Problem("terminals", pair, "a pair such as L-N")])
    found: dict[str, Any] = {"by": how.by} if how.by else {}
    if form.get("unsteady"):
        found["settles"] = "no"
    to = str(form.get("to", "")).strip()
    if to:
        return found | _across(entry, pair, to, shown, how)
    return found | ({how.test: {pair: shown}} if how.test else {pair: shown})


def _across(entry: dict[str, Any], pair: str, to: str, shown: str, how: How) -> dict[str, Any]:
    """A reading to another place: from this rung's first conductor to the second one there."""
    if how.test not in ("", "dead"):
        raise BadInput([Problem("to another place", how.label, "volts or low ohms")])
    a, _, b = pair.partition("-")
    here = entry.pop("at", "")
    entry.pop("circuit", None)
    return {"from": f"{here} {a}", "to": to if to == "rod" else f"{to} {b}", "reads": shown}


def _example(how: How) -> str:
    return {"V": "230", "Ω": "0.34", "MΩ": "over 200"}[how.unit]


def _with(names: Sequence[str], at: str, circuit: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    off: list[str] = []
    for name in names:
        if name == "main off":
            off.append("main switch")
        elif name == "circuit off" and circuit:
            off.append(circuit)
        elif name == "all out":
            found["unplugged"] = "all"
        elif name == "lamp" and at:
            found["lamp in"] = at
        elif name == "link":
            found["linked"] = "L-E at Board"
        elif name in ("warm", "rain"):
            found[name] = "yes"
        elif name not in CONDITIONS:
            raise BadInput([Problem("conditions", name, ", ".join(CONDITIONS))])
    if off:
        found["off"] = off
    return found


def _from_template(form: Mapping[str, Any]) -> dict[str, Any]:
    """A check's reading, its value now known."""
    try:
        entry = json.loads(str(form["template"]))
    except ValueError:
        entry = None
    if not isinstance(entry, dict) or len(str(form["template"])) > 2000:
        raise BadInput([Problem("check", str(form["template"]), "a check as the page offered it")])
    shown = "over range" if form.get("over") else str(form.get("shown", "")).strip()
    if "seen" in entry:
        saw = str(form.get("saw") or shown)
        if not saw:
            raise BadInput([Problem("what was seen", "", "one of the outcomes offered")])
        return {**entry, "seen": saw}
    if not shown:
        raise BadInput([Problem("what it showed", "", "a number, or over range")])
    unit = {"ohms": "Ω", "megohms": "MΩ", "loop": "Ω", "volts": "V", "amps": "A", "ramp": "mA"}
    kind = str(entry.get("kind", "")) or next(
        (k for k, key in (("ohms", "dead"), ("megohms", "insulation"), ("loop", "loop"))
         if key in entry), "volts")  # fmt: skip
    if _BARE.fullmatch(shown):
        shown = f"{shown} {unit.get(kind, 'V')}"
    return filled(entry, shown)


# Making safe

SECURED = ("people kept away", "isolated and locked", "proved dead")
"""What has to be done before an alarm is answered: all three, each ticked."""


def secured_words(done: Sequence[str]) -> str:
    """How it was made safe, for the record. Raises: BadInput when one of three is not ticked."""
    missing = [words for words in SECURED if words not in done]
    if missing:
        read = ", ".join(words for words in SECURED if words in done) or "nothing ticked"
        remedy = f"nothing is measured before this is done too: {', '.join(missing)}"
        raise BadInput([Problem("made safe", read, "all three, each ticked", remedy)])
    return ", ".join(SECURED)


# The call

CALL: tuple[tuple[str, str, str], ...] = (
    ("shock", "Is anyone hurt, or feeling shocks or tingles?", "danger"),
    ("burning", "Burning smell, smoke, scorch marks, anything hot?", "danger"),
    ("wet", "Water on or near anything electrical?", "danger"),
    ("destroyed", "Have appliances or lamps been destroyed?", "danger"),
)
"""Questions answered yes, no or not known. Any yes sends people away from it first."""

WORDS: tuple[tuple[str, str, str], ...] = (
    ("vulnerable", "Who there needs care first?", "children, someone ill, medical equipment"),
    ("works", "What still works?", "lights, the hob, next door"),
    ("dead", "What does not?", "sockets upstairs, one lamp"),
    ("since", "Since when, and what happened just before?", "Tuesday, after the storm"),
)
HISTORY: tuple[tuple[str, str], ...] = (
    ("worked on", "work was done"),
    ("water", "water got in"),
    ("damp", "damp"),
    ("storm", "a storm"),
    ("rain", "rain"),
    ("rodents", "mice or rats"),
    ("old", "old wiring"),
    ("outdoor", "part is outdoors"),
)
SOURCES = ("solar", "battery", "generator", "vehicle", "second supply")


def call_answers(form: Mapping[str, Any], many: Mapping[str, Sequence[str]]) -> dict[str, Any]:
    """The answers of the call as kept in the record."""
    found: dict[str, Any] = {}
    for key, _, _ in CALL:
        if form.get(key) in ("yes", "no"):
            found[key] = str(form[key])
    for key, _, _ in WORDS:
        if str(form.get(key, "")).strip():
            found[key] = str(form[key]).strip()[:1000]
    known = {key for key, _ in HISTORY}
    history = [word for word in many.get("history", ()) if word in known]
    if history:
        found["history"] = history
    sources = [word for word in many.get("sources", ()) if word in SOURCES]
    if sources:
        found["sources"] = sources
    return found


def call_in_wiring(wiring: Mapping[str, Any], call: Mapping[str, Any]) -> dict[str, Any]:
    """The description with the call's history and other sources in it."""
    made = dict(wiring)
    for key, name in (("history", "history"), ("sources", "other sources")):
        words = call.get(key)
        if words:
            made[name] = list(words)
        else:
            made.pop(name, None)
    return made
