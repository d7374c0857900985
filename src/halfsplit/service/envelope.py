"""The answer as one versioned object: the same keys for the command line, the pages and others."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from halfsplit.checks.check import Outcome, Proposal
from halfsplit.diagnosis.result import Cause, Compared, Danger, Suspect
from halfsplit.problems import Problem
from halfsplit.report.readings import OVER_RANGE, UNITS, told
from halfsplit.service.answer import Answer
from halfsplit.wiring.model import Installation

VERSION = "1"


def as_object(answer: Answer) -> dict[str, Any]:
    """The whole answer, ready for JSON. Keys and units: docs/json.md."""
    found, installation = answer.diagnosis, answer.job.installation
    return {
        "halfsplit": VERSION,
        "title": answer.job.title,
        "region": answer.job.region,
        "alarm": found.alarm,
        "suspects": [_suspect(s) for s in found.suspects],
        "next": [check_object(p) for p in answer.proposals],
        "stop": answer.considered.stop if answer.considered else "",
        "readings": [reading_object(c, installation) for c in answer.compared],
        "dangers": [_danger(d) for d in found.dangers],
        "why": list(answer.why),
        "cautions": list(answer.cautions),
        "others": chance(max(0.0, 1 - found.none - sum(s.probability for s in found.suspects))),
        "sound": chance(found.sound),
        "none_of_these": chance(found.none),
        "problems": problem_objects(answer.warnings),
    }


def chance(value: float) -> float:
    """A probability, to four digits after the point."""
    return round(float(value), 4) + 0.0


def _suspect(suspect: Suspect) -> dict[str, Any]:
    return {
        "kind": suspect.kind,
        "conductor": suspect.conductors[0] if len(suspect.conductors) == 1 else "",
        "conductors": list(suspect.conductors),
        "places": list(suspect.places),
        "probability": chance(suspect.probability),
        "members": [_cause(c) for c in suspect.members],
        "says": suspect.says,
    }


def _cause(cause: Cause) -> dict[str, Any]:
    fault = cause.fault
    return {
        "id": cause.id,
        "family": fault.family if fault else "nothing wrong",
        "conductors": list(fault.conductors) if fault else [],
        "places": list(fault.places) if fault else [],
        "probability": chance(cause.probability),
        "severities": [{"name": n, "share": chance(s)} for n, s in cause.severities],
    }


def reading_object(item: Compared, installation: Installation) -> dict[str, Any]:
    """One reading beside its prediction, in SI units."""
    reading = item.reading
    words = told(reading, installation)
    return {
        "id": reading.id,
        "at": words.place,
        "what": words.what,
        "kind": reading.kind,
        "instrument": reading.instrument,
        "unit": UNITS.get(reading.kind, ""),
        "measured": finite(reading.value),
        "bound": reading.bound,
        "seen": reading.seen,
        "predicted": finite(item.predicted),
        "over_range": item.predicted is not None and finite(item.predicted) is None,
        "sigma": finite(item.sigma),
        "sound": finite(item.sound),
        "chance": None if item.chance is None else chance(item.chance),
        "fits": item.fits,
        "slip": chance(item.slip),
        "text": words.line,
    }


def finite(value: float | None) -> float | None:
    """A figure rounded to six significant digits; None for none and for over range."""
    if value is None or not math.isfinite(value) or abs(value) >= OVER_RANGE:
        return None
    return float(f"{value:.6g}") + 0.0


def check_object(found: Proposal) -> dict[str, Any]:
    """One next check with what each of its outcomes would mean, in SI units."""
    reading = found.check.reading
    return {
        "id": found.check.id,
        "what": found.what,
        "where": found.where,
        "conditions": found.conditions,
        "instrument": found.check.instrument,
        "unit": UNITS.get(reading.kind, "") if reading else "",
        "dead": found.check.dead,
        "minutes": round(found.minutes, 1),
        "gain": chance(found.gain),
        "why": found.why,
        "outcomes": [_outcome(o, reading.kind if reading else "") for o in found.outcomes],
        "steps": list(found.steps),
        "cautions": list(found.cautions),
    }


def _outcome(found: Outcome, kind: str) -> dict[str, Any]:
    remains = [
        {"says": r.says, "places": list(r.places), "probability": chance(r.probability)}
        for r in found.means
    ]
    return {
        "from": finite(found.low),
        "to": finite(found.high),
        "unit": UNITS.get(kind, ""),
        "seen": list(found.seen),
        "words": found.words,
        "means": found.says,
        "remains": remains,
        "chance": chance(found.chance),
    }


def _danger(danger: Danger) -> dict[str, Any]:
    return {
        "place": danger.place,
        "conductor": danger.conductor,
        "kind": danger.kind,
        "volts": round(danger.volts, 1),
        "milliamps": round(danger.milliamps, 2),
        "chance": chance(danger.chance),
        "why": danger.why,
    }


def problem_objects(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Problems as read, for whoever sends the form by program."""
    return [
        {
            "where": p.where,
            "line": p.line,
            "read": p.read,
            "accepted": p.accepted,
            "remedy": p.remedy,
            "severity": p.severity,
            "sentence": p.sentence(),
        }
        for p in problems
    ]


def problems_object(problems: Iterable[Problem]) -> dict[str, Any]:
    """What is wrong with a form, as the same kind of object with nothing else in it."""
    return {"halfsplit": VERSION, "problems": problem_objects(problems)}
