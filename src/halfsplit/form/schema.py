"""The form as a JSON Schema and as a guide, both from the table of keys."""

from __future__ import annotations

import json
from typing import Any

from halfsplit.form.key import Key
from halfsplit.form.shape import KEYS, SECTIONS, table_of

_TEXT: dict[str, Any] = {"type": ["string", "number", "boolean", "null"]}
_WORDS: dict[str, Any] = {"anyOf": [_TEXT, {"type": "array", "items": _TEXT}]}
_SHORT = ("supply", "board", "group", "device", "point", "load", "path", "light", "source")
_OPEN = {"reading": "^.+[-–].+$|^clamp .+$", "with": "^.+$"}


def _takes(takes: str) -> dict[str, Any]:
    if takes in ("text", "number", "yes"):
        return _TEXT
    if takes == "words":
        return _WORDS
    if takes == "tests":
        return {"anyOf": [_WORDS, {"type": "object", "additionalProperties": _TEXT}]}
    if takes == "chain":
        return {"$ref": "#/$defs/chain"}
    if takes == "load":
        return {"$ref": "#/$defs/loads"}
    if takes.startswith("map or list of "):
        item = _takes(takes[15:])
        either = [
            {"type": "object", "additionalProperties": item},
            {"type": "array", "items": item},
        ]
        return {"anyOf": either}
    if takes.startswith("map of "):
        return {"anyOf": [{"type": "object", "additionalProperties": _takes(takes[7:])}, _WORDS]}
    if takes.startswith("list of "):
        item = _takes(takes[8:])
        return {"anyOf": [{"type": "array", "items": item}, item]}
    ref = {"$ref": f"#/$defs/{takes}"}
    return {"anyOf": [ref, _WORDS]} if takes in _SHORT else ref


def _section(name: str) -> dict[str, Any]:
    properties: dict[str, Any] = {}
    for key in table_of(name):
        entry = _takes(key.takes) | {"description": key.says}
        for spelling in (key.name, *key.also):
            properties[spelling] = entry
    found: dict[str, Any] = {
        "type": "object", "title": SECTIONS[name], "properties": properties,
        "additionalProperties": False,
    }  # fmt: skip
    if name in _OPEN:
        found["patternProperties"] = {_OPEN[name]: _TEXT if name == "reading" else {}}
    required = [
        [{"required": [s]} for s in (k.name, *k.also)] for k in table_of(name) if k.required
    ]
    if required:
        found["allOf"] = [{"anyOf": spellings} for spellings in required]
    return found


def schema() -> dict[str, Any]:
    """The JSON Schema of the written form (draft 2020-12)."""
    sections = {name: _section(name) for name in SECTIONS if name != "job"}
    sections["chain"] = {
        "description": "lengths and places in turn, or lists of such",
        "anyOf": [_TEXT, {"type": "array"}],
    }
    sections["loads"] = {
        "anyOf": [
            _TEXT,
            {"$ref": "#/$defs/load"},
            {"type": "array", "items": {"anyOf": [_TEXT, {"$ref": "#/$defs/load"}]}},
        ]
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_section("job"),
        "title": "halfsplit: the written form of a job",
        "$defs": sections,
    }


def schema_text() -> str:
    """The JSON Schema as text, for a file beside the guide."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def key_tables() -> str:
    """Every section's keys as tables, for the guide."""
    parts = []
    for section, says in SECTIONS.items():
        rows = [key for key in KEYS if key.section == section]
        lines = [f"### {says}", "", "| key | example | what it says |", "| --- | --- | --- |"]
        lines += [_row(key) for key in rows]
        parts.append("\n".join(lines))
    return "\n\n".join(parts) + "\n"


def _row(key: Key) -> str:
    other = f" (also {', '.join(f'`{a}`' for a in key.also)})" if key.also else ""
    marks = "; needed" if key.required else "; longhand" if key.long else ""
    example = key.example.replace("|", "\\|")
    return f"| `{key.name}`{other} | `{example}` | {key.says}{marks} |"
