"""What readings would show: on a sound installation, or with one named fault."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from halfsplit.diagnosis.expect import Expected, expect, find_fault
from halfsplit.errors import NotFound
from halfsplit.faults.catalogue import enumerate_faults, family
from halfsplit.faults.fault import Fault
from halfsplit.faults.words import describe
from halfsplit.form import Job
from halfsplit.instruments.reading import Reading
from halfsplit.report.readings import Told, shown_words, told
from halfsplit.service.envelope import VERSION, chance, finite
from halfsplit.wiring.conditions import AS_DESCRIBED
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.plan import Plan, Spot


@dataclass(frozen=True, slots=True)
class Row:
    """One reading with what it would show: a figure in words, or the chance of what was seen."""

    expected: Expected
    told: Told
    shows: str


@dataclass(frozen=True, slots=True)
class Prediction:
    """What every reading would show. ``says`` tells the fault, or that nothing is wrong."""

    job: Job
    fault: str
    severity: str
    says: str
    rows: tuple[Row, ...]
    asked: bool  # whether these are the form's own readings


def predict(job: Job, fault_id: str = "", severity: str = "") -> Prediction:
    """What the form's readings would show; without any, every pair at every point on a multimeter.

    Raises: NotFound for a fault or severity that does not exist, with those that do.
    """
    plan = lay_out(job.installation)
    fault = find_fault(job.installation, plan, fault_id) if fault_id else None
    step = _step(fault, severity)
    asked = bool(job.readings)
    readings = job.readings or usual_readings(plan)
    found = expect(job.installation, readings, fault, step, plan)
    rows = tuple(Row(e, told(e.reading, job.installation), _shows(e)) for e in found)
    if fault is None:
        return Prediction(job, "", "", "Nothing wrong", rows, asked)
    says = describe(fault, family(fault.family), job.installation)
    return Prediction(job, fault.id, fault.severities[step].name, says, rows, asked)


def _step(fault: Fault | None, severity: str) -> int:
    if fault is None:
        if severity:
            raise NotFound(f'severity "{severity}" needs a fault; name one with --fault')
        return 0
    names = [s.name for s in fault.severities]
    if not severity:
        return max(range(len(names)), key=lambda k: fault.severities[k].share)
    if severity not in names:
        raise NotFound(f'"{fault.id}" has no severity "{severity}"; it has {", ".join(names)}')
    return names.index(severity)


def usual_readings(plan: Plan) -> tuple[Reading, ...]:
    """Every pair of conductors at every point, on a multimeter, as described."""
    found = []
    for spot in plan.spots:
        if spot.kind in ("origin", "board"):
            continue
        found += _pairs(spot)
    return tuple(found)


def _pairs(spot: Spot) -> list[Reading]:
    part = ":front" if spot.front else ""
    keys = [k for k in spot.conductors if not k.startswith("T")]
    return [
        Reading(
            f"{spot.name} {a}-{b}",
            "volts",
            f"{spot.name}.{a}{part}",
            f"{spot.name}.{b}{part}",
            instrument="multimeter",
            conditions=AS_DESCRIBED,
            place=spot.name,
        )
        for i, a in enumerate(keys)
        for b in keys[i + 1 :]
    ]


def _shows(expected: Expected) -> str:
    if expected.figure is not None:
        return shown_words(expected.reading, expected.figure)
    if expected.chance is not None:
        return f"seen {round(expected.chance * 100)} times in 100"
    return ""


def fault_list(job: Job) -> tuple[tuple[str, tuple[str, ...], str], ...]:
    """Every fault of the installation: id, severities, and the fault in words."""
    plan = lay_out(job.installation)
    return tuple(
        (f.id, tuple(s.name for s in f.severities), describe(f, family(f.family), job.installation))
        for f in enumerate_faults(job.installation, plan)
    )


def prediction_object(found: Prediction) -> dict[str, Any]:
    """A prediction as one object. Keys and units: docs/json.md."""
    return {
        "halfsplit": VERSION,
        "title": found.job.title,
        "region": found.job.region,
        "fault": found.fault,
        "severity": found.severity,
        "says": found.says,
        "readings": [_row(row) for row in found.rows],
    }


def _row(row: Row) -> dict[str, Any]:
    expected, reading = row.expected, row.expected.reading
    over = expected.figure is not None and not math.isfinite(expected.figure)
    return {
        "at": row.told.place,
        "what": row.told.what,
        "kind": reading.kind,
        "instrument": reading.instrument,
        "predicted": finite(expected.figure),
        "over_range": over,
        "chance": None if expected.chance is None else chance(expected.chance),
        "volts": finite(expected.volts),
        "ohms": finite(expected.ohms),
        "tripped": list(expected.parted),
        "text": row.shows,
    }


def fault_list_object(listed: tuple[tuple[str, tuple[str, ...], str], ...]) -> dict[str, Any]:
    """The faults of an installation as one object."""
    faults = [{"id": i, "severities": list(names), "says": says} for i, names, says in listed]
    return {"halfsplit": VERSION, "faults": faults}
