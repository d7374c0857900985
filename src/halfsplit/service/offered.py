"""A check as it is offered: its unit, its outcomes, and the reading it becomes when it is taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from halfsplit.checks.check import Proposal
from halfsplit.form.lines import reading_data
from halfsplit.service.live import Worked
from halfsplit.service.words import letter_of


def check_entry(worked: Worked, proposal: Proposal) -> dict[str, Any] | None:
    """The form's entry of a check's reading, its value missing; None for looking or asking."""
    reading = proposal.check.reading
    if reading is None:
        return None
    shaped = replace(reading, id="r1", value=1.0 if reading.value is None else reading.value)
    data = reading_data(worked.job.installation, 1, shaped)
    if reading.kind in SEEN_KINDS:
        data["seen"] = ""
    return {key: _emptied(value, key) for key, value in data.items()}


SEEN_KINDS = ("lamps", "glow", "works", "trips", "touch", "sense", "proved dead")


def seen_words(seen: str, region: str) -> str:
    """An outcome that is seen, in words: a plug tester's pattern names its lit lamps."""
    if len(seen) != 3 or set(seen) - set("01?"):
        return seen
    keys = ("L", "N"), ("L", "E"), ("N", "E")
    pairs = [f"{letter_of(a, region)}–{letter_of(b, region)}" for a, b in keys]
    lit = [pair for pair, mark in zip(pairs, seen, strict=True) if mark == "1"]
    return f"{' and '.join(lit)} lit" if lit else "all dark"


def _emptied(value: Any, key: str) -> Any:
    if key == "value" or (isinstance(value, str) and key.count("-") == 1):
        return ""
    if isinstance(value, Mapping) and key in ("dead", "insulation", "loop"):
        return dict.fromkeys(value, "")
    return value


def filled(entry: Mapping[str, Any], shown: str) -> dict[str, Any]:
    """An entry with what was read put where its value is missing."""
    made: dict[str, Any] = {}
    for key, value in entry.items():
        if value == "":
            made[key] = shown
        elif isinstance(value, Mapping) and "" in value.values():
            made[key] = {k: shown if v == "" else v for k, v in value.items()}
        else:
            made[key] = value
    return made


def unit_of(proposal: Proposal) -> str:
    """The unit a check's figure is read in, "" where something is seen or looked for."""
    reading = proposal.check.reading
    units = {"volts": "V", "ohms": "Ω", "megohms": "MΩ", "loop": "Ω", "amps": "A", "ramp": "mA"}
    return units.get(reading.kind, "") if reading is not None else ""


def check_object(proposal: Proposal) -> dict[str, Any]:
    """A next check for JSON: what, where, minutes, gain, outcomes, steps, cautions."""
    return {
        "what": proposal.what,
        "where": proposal.where,
        "conditions": proposal.conditions,
        "minutes": round(proposal.minutes, 2),
        "gain": round(proposal.gain, 4),
        "outcomes": [
            {
                "from": o.low,
                "to": o.high,
                "unit": unit_of(proposal),
                "words": o.words,
                "means": o.says,
                "chance": round(o.chance, 4),
            }
            for o in proposal.outcomes
        ],
        "steps": list(proposal.steps),
        "cautions": list(proposal.cautions),
        "why": proposal.why,
    }
