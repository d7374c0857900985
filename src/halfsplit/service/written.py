"""A kept job as the written form, and a written form as what a job keeps."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from halfsplit.errors import BadInput
from halfsplit.form import Job, read_with_problems
from halfsplit.form.lines import layout
from halfsplit.form.tree import Node, parse
from halfsplit.problems import Problem
from halfsplit.service.entries import SHARED_KEYS
from halfsplit.service.standing import Standing

TOGETHER = frozenset({"from", "to", "reads", "shows", "volts", "ohms", "kind"})


def written_form(now: Standing) -> tuple[str, dict[int, str]]:
    """The whole form as text, and which reading stands on which line."""
    head = json.dumps(dict(now.wiring), ensure_ascii=False)
    lines, on = [head[:-1] + (", " if len(head) > 2 else "") + '"readings": ['], dict[int, str]()
    for item in now.readings:
        entry = {**item.written, "id": item.id}
        on[len(lines) + 1] = item.id
        lines.append(json.dumps(entry, ensure_ascii=False) + ",")
    if len(lines) > 1:
        lines[-1] = lines[-1][:-1]
    return "\n".join([*lines, "]}"]), on


def plain(node: Node) -> Any:
    """A tree of marked nodes as plain mappings, lists and texts."""
    if node.kind == "map":
        return {key: plain(value) for key, value in node.pairs}
    if node.kind == "list":
        return [plain(item) for item in node.items]
    return node.text


@dataclass(frozen=True, slots=True)
class Understood:
    """A job read from its record. ``unplaced`` are readings the sketch has no place for now."""

    job: Job
    unplaced: tuple[tuple[str, Problem], ...]
    warnings: tuple[Problem, ...]


def understand_record(now: Standing) -> Understood:
    """The job the record says, readings that cannot be placed set aside with their reasons.

    Raises: BadInput when the description of the installation itself cannot be read.
    """
    unplaced: list[tuple[str, Problem]] = []
    while True:
        text, on = written_form(now)
        job, problems = read_with_problems(text, "the job")
        errors = [p for p in problems if p.is_error]
        if not errors and job is not None:
            return Understood(job, tuple(unplaced), problems)
        bad = {on[p.line]: p for p in errors if p.line in on}
        if not bad:
            raise BadInput(errors)
        unplaced += bad.items()
        now = replace(now, kept=tuple(k for k in now.kept if k.id not in bad))


def check_wiring(wiring: Mapping[str, Any]) -> Job:
    """The job a description says, without readings. Raises: BadInput with every problem."""
    return understand_record(Standing(wiring=wiring)).job


def imported(text: str | bytes, name: str) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """(wiring, readings) of a written form, in the person's own spelling.

    Raises: BadInput with every problem found.
    """
    job, problems = read_with_problems(text, name)
    if job is None or any(p.is_error for p in problems):
        raise BadInput(problems)
    root, _ = parse(text, name)
    assert root is not None
    wiring: dict[str, Any] = plain(root)
    entries = wiring.pop("readings", wiring.pop("reading", []))
    entries = entries if isinstance(entries, list) else [entries]
    return wiring, [part for entry in entries for part in parted(entry)]


def parted(entry: Mapping[str, Any]) -> Iterable[dict[str, Any]]:
    """One entry for each thing read, so that each can be corrected alone."""
    entry = {key: value for key, value in entry.items() if key != "id"}
    shared = {key: value for key, value in entry.items() if key in SHARED_KEYS}
    own = {key: value for key, value in entry.items() if key not in SHARED_KEYS}
    if len(own) < 2 or TOGETHER & own.keys():
        return (dict(entry),)
    return tuple({**shared, key: value} for key, value in own.items())


def wiring_text(now: Standing) -> str:
    """The description of the installation as lines of the form, without readings."""
    return layout(dict(now.wiring)) if now.wiring else ""


def form_of(now: Standing) -> str:
    """The whole job as lines of the written form: readings, what followed, notes."""
    data: dict[str, Any] = dict(now.wiring)
    if now.readings:
        data["readings"] = [dict(item.written) for item in now.readings]
    data |= now.after.written()
    notes = [text for text, _, _ in now.notes]
    if notes and "notes" not in data and "note" not in data:
        data["notes"] = " / ".join(notes)
    return layout(data)
