"""The record of a job: events that are only ever added, chained so that a change shows."""

from halfsplit.jobs.chain import FIRST, Chain, seal, verify
from halfsplit.jobs.events import (
    Event,
    FormSet,
    JobOpened,
    LeftSafe,
    LinkMade,
    LinkRemoved,
    MendDone,
    Note,
    Observation,
    ReadingCorrected,
    ReadingTaken,
    ReadingWithdrawn,
    RecordIssued,
    TestTaken,
)

__all__ = [
    "FIRST",
    "Chain",
    "Event",
    "FormSet",
    "JobOpened",
    "LeftSafe",
    "LinkMade",
    "LinkRemoved",
    "MendDone",
    "Note",
    "Observation",
    "ReadingCorrected",
    "ReadingTaken",
    "ReadingWithdrawn",
    "RecordIssued",
    "TestTaken",
    "seal",
    "verify",
]
