"""The record of a job: events that are only ever added, chained so that a change shows."""

from halfsplit.jobs.chain import FIRST, Chain, seal, verify
from halfsplit.jobs.events import (
    CallAnswered,
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
    Secured,
    TestTaken,
)

__all__ = [
    "FIRST",
    "CallAnswered",
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
    "Secured",
    "TestTaken",
    "seal",
    "verify",
]
