"""What the JSON interface takes, and any value of the program as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import fields as dataclass_fields
from dataclasses import is_dataclass
from typing import Annotated, Any

from fastapi import Header, Path
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field, model_validator

from halfsplit.service import sketch

JobId = Annotated[str, Path(max_length=40, description="The job's id")]
Key = Annotated[
    str,
    Header(alias="Idempotency-Key", max_length=80,
           description="Your own key for what is sent: sent twice, it is done once"),
]  # fmt: skip
Text = Annotated[str, Field(max_length=400_000)]
Short = Annotated[str, Field(max_length=200)]
Names = Annotated[list[Short], Field(max_length=60)]
Written = Annotated[dict[str, Any], Field(max_length=30)]


class Body(BaseModel):
    """What is sent; unknown names are refused."""

    model_config = ConfigDict(extra="forbid", str_strip_whitespace=False)

    @model_validator(mode="before")
    @classmethod
    def text_only(cls, sent: Any) -> Any:
        """Refuse what no database keeps as text: an end mark, half of a character."""
        for text in _texts(sent):
            if "\x00" in text or any("\ud800" <= mark <= "\udfff" for mark in text):
                raise ValueError(f"text without end marks or half characters, not {text[:40]!a}")
        return sent


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        yield from (text for pair in value.items() for part in pair for text in _texts(part))
    elif isinstance(value, list):
        yield from (text for item in value for text in _texts(item))


class NewJob(Body):
    """A job: the written form as text, or nothing yet but a title."""

    form: Text = ""
    title: Short = ""
    region: Short = "uk"
    supply: Short = ""
    customer: Short = ""
    address: Short = ""
    call: dict[str, str | list[str]] = Field(default_factory=dict, max_length=20)


class Wiring(Body):
    """The description of the installation, as the written form has it, without readings."""

    wiring: dict[str, Any] = Field(max_length=40)
    renamed: dict[str, Short] = Field(default_factory=dict, max_length=200)
    why: Short = ""


class Circuit(Body):
    """One more circuit in a pattern."""

    pattern: Short
    count: int = Field(8, ge=1, le=sketch.MOST_POINTS)
    device: Short = ""
    cable: Short = ""
    name: Short = ""
    board: Short = ""


class Entry(Body):
    """One entry of the form, such as a reading: {"at": "Hall", "L-N": "230 V"}."""

    written: Written


class Correction(Entry):
    """What a reading should have said, and why."""

    why: Short = ""


class Words(Body):
    """Words for the record."""

    text: str = Field(min_length=1, max_length=4000)


class Look(Body):
    """A look or a question that found nothing."""

    check: str = Field(min_length=1, max_length=200)
    what: str = Field(min_length=1, max_length=4000)


class Answers(Body):
    """The call's answers."""

    call: dict[str, str | list[str]] = Field(max_length=20)


class Away(Body):
    """Whether the job is put away."""

    away: bool


class Details(Body):
    """What the list shows of a job."""

    title: Annotated[str, Field(min_length=1, max_length=120)]
    customer: Short = ""
    address: Short = ""


class Trial(Body):
    """What is tried: see the page "what if". Terminals are names such as "Hall.L:front"."""

    cause: Annotated[str, Field(max_length=400)] = ""
    off: Names = []
    on: Names = []
    positions: dict[str, Short] = Field(default_factory=dict, max_length=60)
    unplugged: Names = []
    plugged: Names = []
    lamp_at: Short = ""
    a: Short = ""
    b: Short = ""
    instrument: Short = "multimeter"


class Form(Body):
    """A written form to be diagnosed without keeping anything."""

    form: Text


def answer(value: Any, status: int = 200) -> JSONResponse:
    """Any value of the program as a JSON answer."""
    return JSONResponse(plain(value), status)


def plain(value: Any) -> Any:
    """Any value of the program as JSON: mappings, lists, texts; endless numbers as null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclass_fields(value)}
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(item) for item in value]
    if isinstance(value, bool | int | str) or value is None:
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return str(value)
