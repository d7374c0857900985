"""The keys of every object the program prints as JSON: one table for the manual and the schema."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from halfsplit.service.envelope import VERSION


@dataclass(frozen=True, slots=True)
class Key:
    """One key: ``kind`` is a word of ``KINDS``, or "list of SECTION"."""

    name: str
    kind: str
    says: str


KINDS: dict[str, dict[str, Any]] = {
    "text": {"type": "string"},
    "texts": {"type": "array", "items": {"type": "string"}},
    "yes or no": {"type": "boolean"},
    "number": {"type": "number"},
    "number or null": {"type": ["number", "null"]},
    "line or null": {"type": ["integer", "null"], "minimum": 1},
    "chance": {"type": "number", "minimum": 0, "maximum": 1},
    "chance or null": {"type": ["number", "null"], "minimum": 0, "maximum": 1},
    "version": {"const": VERSION},
    "region": {"enum": ["uk", "eu", "na", "au"]},
    "fit": {"enum": ["yes", "no", "slip"]},
    "bound": {"enum": ["=", "~", ">", "<"]},
    "danger": {"enum": ["shock", "heat", "unearthed"]},
    "severity": {"enum": ["error", "warning"]},
}

_HEAD = (
    Key("halfsplit", "version", "version of these keys"),
    Key("title", "text", "what the job is called"),
    Key("region", "region", "whose words are used"),
)

SECTIONS: dict[str, tuple[Key, ...]] = {
    "diagnosis": (
        *_HEAD,
        Key("alarm", "yes or no", "heat, smell, water or a shock was reported: isolate first"),
        Key(
            "suspects",
            "list of suspect",
            "groups that no allowed check tells apart, likeliest first",
        ),
        Key("next", "list of check", "next checks, best first"),
        Key("stop", "text", "why measuring further settles nothing; empty while it does"),
        Key(
            "readings", "list of reading", "each reading beside its prediction, in the order typed"
        ),
        Key(
            "dangers",
            "list of danger",
            "where it would hurt until mended, over every cause believed",
        ),
        Key("why", "texts", "what holds each conductor that is not held as it should be"),
        Key("cautions", "texts", "what must be said beside all of this"),
        Key("others", "chance", "that it is a cause too unlikely to be listed"),
        Key("sound", "chance", "that nothing is wrong in what was described"),
        Key("none_of_these", "chance", "that it is something not in the catalogue"),
        Key("problems", "list of problem", "warnings about the written form"),
    ),
    "suspect": (
        Key("kind", "text", 'family of its likeliest member, or "nothing wrong"'),
        Key("conductor", "text", "the conductor concerned; empty where there are several or none"),
        Key("conductors", "texts", "all conductors concerned, by key"),
        Key("places", "texts", "places to look, the likeliest member's first"),
        Key("probability", "chance", "that one of its members is the cause"),
        Key("members", "list of member", "the faults in the group, likeliest first"),
        Key("says", "text", "its likeliest member in words"),
    ),
    "member": (
        Key("id", "text", "the fault's id, as `predict --fault` takes it"),
        Key("family", "text", "family of faults"),
        Key("conductors", "texts", "conductors concerned, by key"),
        Key("places", "texts", "places concerned; two for a cable"),
        Key("probability", "chance", "that this is the cause"),
        Key("severities", "list of severity", "how bad it is believed to be"),
    ),
    "severity": (
        Key("name", "text", "how bad, in trade units"),
        Key("share", "chance", "of the member's probability"),
    ),
    "check": (
        Key("id", "text", "the check's id"),
        Key("what", "text", "what is measured, looked at or asked"),
        Key("where", "text", "the place"),
        Key("conditions", "text", "what is energised, isolated, linked or unplugged"),
        Key("instrument", "text", "instrument id; empty for looking and asking"),
        Key("unit", "text", "V, Ω or A; empty where the outcome is a word"),
        Key("dead", "yes or no", "done isolated and proved dead"),
        Key("minutes", "number", "all it takes now, changes of conditions included"),
        Key("gain", "number", "bits it settles over suspects, on average"),
        Key("why", "text", "why this one, from the figures"),
        Key("outcomes", "list of outcome", "bands that leave no gap"),
        Key("steps", "texts", "what to do, in order"),
        Key("cautions", "texts", "to be read before the steps"),
    ),
    "outcome": (
        Key("from", "number or null", "lower bound; null for none"),
        Key("to", "number or null", "upper bound; null for none"),
        Key("unit", "text", "unit of the bounds"),
        Key("seen", "texts", "words of the outcome where it is no figure"),
        Key("words", "text", "the band in trade units"),
        Key("means", "text", "what would remain, in words"),
        Key("remains", "list of remaining", "what would remain, most believed first"),
        Key("chance", "chance", "that this is the outcome"),
    ),
    "remaining": (
        Key("says", "text", "the suspect in words"),
        Key("places", "texts", "its places"),
        Key("probability", "chance", "its probability after this outcome"),
    ),
    "reading": (
        Key("id", "text", "the reading's id"),
        Key("at", "text", "the place"),
        Key("what", "text", "what it is between, or about"),
        Key("kind", "text", "volts, ohms, megohms, loop, amps, ramp, or what was seen"),
        Key("instrument", "text", "instrument id; empty when not said"),
        Key("unit", "text", "V, Ω or A; empty for what was seen"),
        Key("measured", "number or null", "the figure; null over range and for what was seen"),
        Key("bound", "bound", "exactly, about, over, under"),
        Key("seen", "text", "what was seen; empty for a figure"),
        Key("predicted", "number or null", "what the leading cause would show"),
        Key("over_range", "yes or no", "the leading cause would show over range"),
        Key(
            "sigma",
            "number or null",
            "one standard deviation of that; its logarithm's for insulation",
        ),
        Key("sound", "number or null", "what a sound installation would show"),
        Key("chance", "chance or null", "of what was seen, under the leading cause"),
        Key("fits", "fit", "whether it fits the leading cause, or looks like a slip"),
        Key("slip", "chance", "that it is a slip of hand or eye"),
        Key("text", "text", "all of it in words"),
    ),
    "danger": (
        Key("place", "text", "the place"),
        Key("conductor", "text", 'conductor key; "frame" for metalwork, empty for heat'),
        Key("kind", "danger", "shock, heat, or a protective conductor that is not earthed"),
        Key("volts", "number", "the worst to true earth"),
        Key("milliamps", "number", "the worst through a person"),
        Key("chance", "chance", "belief that it is so"),
        Key("why", "text", "in words, from the figures"),
    ),
    "problem": (
        Key("where", "text", "the place in the form"),
        Key("line", "line or null", "its line, from 1"),
        Key("read", "text", "what was read there"),
        Key("accepted", "text", "what would have been taken"),
        Key("remedy", "text", "the next step; may be empty"),
        Key("severity", "severity", "an error stops the work, a warning does not"),
        Key("sentence", "text", "all of it in words"),
    ),
    "prediction": (
        *_HEAD,
        Key("fault", "text", "the fault's id; empty when nothing is wrong"),
        Key("severity", "text", "how bad, by name; empty when nothing is wrong"),
        Key("says", "text", "the fault in words"),
        Key("readings", "list of predicted", "each reading as it would be"),
    ),
    "predicted": (
        Key("at", "text", "the place"),
        Key("what", "text", "what it is between, or about"),
        Key("kind", "text", "volts, ohms, megohms, loop, amps, ramp, or what is seen"),
        Key("instrument", "text", "instrument id; empty when not said"),
        Key("predicted", "number or null", "the figure shown"),
        Key("over_range", "yes or no", "it would show over range"),
        Key("chance", "chance or null", "of seeing what was written down"),
        Key("volts", "number or null", "with nothing connected, between the two terminals"),
        Key("ohms", "number or null", "source impedance between the two terminals"),
        Key("tripped", "texts", "devices that would have parted"),
        Key("text", "text", "what is shown, in words"),
    ),
    "faults": (
        Key("halfsplit", "version", "version of these keys"),
        Key("faults", "list of listed fault", "every fault of the installation"),
    ),
    "listed fault": (
        Key("id", "text", "as `predict --fault` takes it"),
        Key("severities", "texts", "as `predict --severity` takes them"),
        Key("says", "text", "the fault in words"),
    ),
    "understanding": (
        *_HEAD,
        Key("understood", "list of part", "the form read back, part by part"),
        Key("taken", "texts", "what the form leaves out, with the usual value taken"),
        Key("unknown", "texts", "what is left open and weighed over its usual range"),
        Key("problems", "list of problem", "warnings about the written form"),
    ),
    "part": (
        Key("part", "text", "supply, boards, a circuit, other paths, readings"),
        Key("lines", "texts", "what was understood, in words"),
    ),
    "refusal": (
        Key("halfsplit", "version", "version of these keys"),
        Key("problems", "list of problem", "everything wrong with the form, at least one error"),
    ),
}

COMMANDS = (
    ("diagnosis", "`halfsplit diagnose FILE --json`, `halfsplit demo --json`"),
    ("prediction", "`halfsplit predict FILE --json`"),
    ("faults", "`halfsplit predict FILE --faults --json`"),
    ("understanding", "`halfsplit validate FILE --json`"),
    ("refusal", "any of these with a form that cannot be used; the exit status is then 2"),
)


def _schema_of(kind: str) -> dict[str, Any]:
    if kind.startswith("list of "):
        return {"type": "array", "items": {"$ref": f"#/$defs/{kind.removeprefix('list of ')}"}}
    return KINDS[kind]


def _object(section: str) -> dict[str, Any]:
    keys = SECTIONS[section]
    return {
        "type": "object",
        "properties": {k.name: {**_schema_of(k.kind), "description": k.says} for k in keys},
        "required": [k.name for k in keys],
        "additionalProperties": False,
    }


def _below(section: str) -> list[str]:
    """The sections an object uses, each once, in the order they are met."""
    found: list[str] = []
    waiting = [section]
    while waiting:
        for key in SECTIONS[waiting.pop(0)]:
            name = key.kind.removeprefix("list of ")
            if name != key.kind and name not in found:
                found.append(name)
                waiting.append(name)
    return found


def schema(section: str = "diagnosis") -> dict[str, Any]:
    """The JSON Schema (2020-12) of one of the printed objects."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"halfsplit {section}, version {VERSION}",
        **_object(section),
        "$defs": {name: _object(name) for name in _below(section)},
    }


def schema_text() -> str:
    """The diagnosis's schema as a file."""
    return json.dumps(schema(), ensure_ascii=False, indent=2) + "\n"


def manual_text() -> str:
    """The manual's page on JSON, every key in tables."""
    lines = [_INTRODUCTION]
    told: set[str] = set()
    for section, command in COMMANDS:
        lines += [f"## {section.capitalize()}", "", f"Printed by {command}.", "", *_table(section)]
        for name in _below(section):
            if name not in told:
                told.add(name)
                lines += [f"### {name.capitalize()}", "", *_table(name)]
    return "\n".join(lines).rstrip() + "\n"


def _table(section: str) -> list[str]:
    rows = ["| key | kind | what it says |", "| --- | --- | --- |"]
    return [*rows, *(f"| `{k.name}` | {k.kind} | {k.says} |" for k in SECTIONS[section]), ""]


_INTRODUCTION = """\
# The answer as JSON

With `--json` every command prints one object on standard output and nothing else. Keys do not
change within a version (`halfsplit`, now "1"); new ones may be added in a later version.

- Figures are in SI: V, Ω (insulation too), A. Probabilities run from 0 to 1, rounded to four
  digits after the point; those of all suspects, of `others` and of `none_of_these` add up to 1 but
  for rounding.
- Conductors go by key in every region: `L`, `L1`, `SL`, `N`, `E`, `T1`; see
  [units, signs and names](conventions.md). Sentences are in the region's words.
- The same form gives the same object, to the last digit, however its readings are ordered (only
  their own list follows the order typed).
- With a form that cannot be used, the object holds only `halfsplit` and `problems`, the sentences
  go to standard error, and the exit status is 2.
- The diagnosis has a [JSON Schema](diagnosis.schema.json), made from the same table as this page.

Where `alarm` is true, whoever shows the answer must show first: isolate, keep people away, prove
dead. `dangers` and `cautions` are part of the answer, not decoration; a place without a danger is
not thereby safe.
"""
