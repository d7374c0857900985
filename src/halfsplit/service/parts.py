"""What of a job can have been mended: its parts by kind, and the suspects that may have been it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from halfsplit.errors import BadInput
from halfsplit.form import Job
from halfsplit.problems import Problem
from halfsplit.service import live
from halfsplit.service.standing import Standing
from halfsplit.service.told import in_hundred

MOST_OFFERED = 8
LEAST_OFFERED = 0.005


@dataclass(frozen=True, slots=True)
class Parts:
    """Names to choose from: ``places`` with their conductors' keys, loads as (place, name)."""

    places: tuple[tuple[str, tuple[str, ...]], ...]
    runs: tuple[str, ...]
    devices: tuple[str, ...]
    loads: tuple[tuple[str, str], ...]
    paths: tuple[str, ...]
    circuits: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Offer:
    """A cause that may be what was put right: its id, what it is, and its chance in words."""

    id: str
    says: str
    chance: str


def parts_of(job: Job) -> Parts:
    """Every part of a job's installation that a mend can name."""
    inst = job.installation
    points = [(point.name, point.conductors) for c in inst.circuits for point in c.points]
    boards = [(board.name, ("L", "N", "E")) for board in inst.boards]
    devices = [
        *(board.main.name for board in inst.boards),
        *(group.device.name for board in inst.boards for group in board.groups),
        *(circuit.device.name for circuit in inst.circuits),
        *(p.device.name for c in inst.circuits for p in c.points if p.device is not None),
    ]
    return Parts(
        tuple(dict([*points, *boards]).items()),
        tuple(run.name for c in inst.circuits for run in c.runs),
        tuple(dict.fromkeys(name for name in devices if name)),
        tuple((p.name, load.name) for c in inst.circuits for p in c.points for load in p.loads),
        tuple(path.name for path in inst.paths),
        tuple(circuit.name for circuit in inst.circuits),
    )


def offers(now: Standing) -> tuple[Offer, ...]:
    """The likeliest causes, most believed first; none before anything was read or seen."""
    if not now.readings:
        return ()
    worked = live.work(now)
    inst, found = worked.job.installation, worked.diagnosis
    causes = [c for c in found.causes if c.fault is not None and c.probability >= LEAST_OFFERED]
    return tuple(
        Offer(cause.id, live.says_of(found, cause, inst), in_hundred(cause.probability))
        for cause in causes[:MOST_OFFERED]
    )


def mend_of(now: Standing, cause: str, did: str = "") -> dict[str, Any]:
    """The entry of the form's ``mend`` that puts a cause right. Raises: NotFound, BadInput."""
    worked = live.work(now)
    found = live.cause_of(worked.diagnosis, cause)
    if found.fault is None:
        raise BadInput([Problem("mend", cause, "a fault; nothing was wrong by this one")])
    says = live.says_of(worked.diagnosis, found, worked.job.installation)
    short = says.partition(":")[0].rstrip(".")
    written: dict[str, Any] = {
        "did": did.strip() or f"Put this right: {short[:1].lower()}{short[1:]}", "fault": found.id,
    }  # fmt: skip
    known = dict(parts_of(worked.job).places)
    place = next((p for p in found.fault.places if p in known or p == "origin"), "")
    return written | ({"at": place} if place else {"nothing": "yes"})
