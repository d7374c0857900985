"""Use cases: one short function for each thing a person asks. The edges call only these."""

from halfsplit.form import Job
from halfsplit.report.ladder import Break, Chain, Ladder, Link, Mark, Note, Rung
from halfsplit.report.readings import letter as rail_letter
from halfsplit.service.answer import Answer, ask, read
from halfsplit.service.demos import Demo, demo, demos
from halfsplit.service.envelope import as_object, problems_object
from halfsplit.service.guide import form_guide
from halfsplit.service.predicted import (
    Prediction,
    fault_list,
    fault_list_object,
    predict,
    prediction_object,
)
from halfsplit.service.told import Line, Telling, in_hundred
from halfsplit.service.understood import Understood, understand, understood_object
from halfsplit.wiring.model import Region

__all__ = [
    "Answer",
    "Break",
    "Chain",
    "Demo",
    "Job",
    "Ladder",
    "Line",
    "Link",
    "Mark",
    "Note",
    "Prediction",
    "Region",
    "Rung",
    "Telling",
    "Understood",
    "as_object",
    "ask",
    "demo",
    "demos",
    "fault_list",
    "fault_list_object",
    "form_guide",
    "in_hundred",
    "predict",
    "prediction_object",
    "problems_object",
    "rail_letter",
    "read",
    "understand",
    "understood_object",
]
