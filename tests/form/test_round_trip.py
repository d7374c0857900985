# ruff: noqa: E501 (forms stand as they are typed)
"""Round trips: a job written and read again is the same job."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfsplit.form import read_job
from halfsplit.form.examples import EXAMPLES
from halfsplit.form.guide import guide_text
from halfsplit.form.lines import layout
from halfsplit.form.schema import schema, schema_text
from halfsplit.form.shape import KEYS
from halfsplit.form.write import write_job
from halfsplit.wiring.layout import lay_out

TITLES = [title for title, _, _ in EXAMPLES]
TEXTS = {title: text for title, _, text in EXAMPLES}


@pytest.mark.parametrize("title", TITLES)
def test_every_example_of_the_guide_is_a_job_that_survives_a_round_trip(title: str) -> None:
    """Each example reads, is written, and reads again as the same job."""
    job = read_job(TEXTS[title], title)
    assert read_job(write_job(job), "written").bare() == job.bare()


@pytest.mark.parametrize("title", TITLES)
def test_every_terminal_and_part_an_example_names_is_in_its_plan(title: str) -> None:
    """Nodes, joints and parts named by readings are those of the laid-out installation."""
    job = read_job(TEXTS[title], title)
    plan = lay_out(job.installation)
    nodes = {n for e in plan.elements for n in (e.a, e.b)} | {"", "earth"}
    ids = {e.id for e in plan.elements}
    keys = {key for spot in plan.spots for key in spot.conductors}
    for reading in job.readings:
        links = [n for pair in reading.conditions.links for n in pair]
        assert {reading.a, reading.b, *links} <= nodes
        known = keys if reading.kind == "count" else ids
        assert {c.removeprefix("-") for c in reading.conductors} <= known
        assert set(reading.conditions.lifted) <= ids


@pytest.mark.parametrize("title", TITLES)
def test_every_example_obeys_the_schema(title: str) -> None:
    """The JSON Schema accepts each example of the guide."""
    given_data = yaml.load(TEXTS[title], Loader=yaml.BaseLoader)
    jsonschema.Draft202012Validator(schema()).validate(given_data)


@pytest.mark.parametrize("title", TITLES)
def test_what_is_written_obeys_the_schema(title: str) -> None:
    """The JSON Schema accepts what the program writes, and JSON reads as the same job."""
    job = read_job(TEXTS[title], title)
    data = yaml.load(write_job(job), Loader=yaml.BaseLoader)
    jsonschema.Draft202012Validator(schema()).validate(data)
    assert read_job(json.dumps(data, ensure_ascii=False), "json").bare() == job.bare()


def test_the_schema_refuses_a_misspelt_key() -> None:
    """A key outside the table is refused by the schema, as it is by the reader."""
    validator = jsonschema.Draft202012Validator(schema())
    jsonschema.Draft202012Validator.check_schema(schema())
    assert not validator.is_valid({"circuits": {"a": {"devise": "B16"}}})
    assert json.loads(schema_text()) == schema()


def test_the_guide_has_every_key() -> None:
    """Every key of the table stands in the guide with its example."""
    text = guide_text()
    for key in KEYS:
        assert f"| `{key.name}`" in text
        assert key.says in text


def test_keys_are_unique_within_their_section() -> None:
    """No key, nor any other spelling of one, means two things in one section."""
    seen: set[tuple[str, str]] = set()
    for key in KEYS:
        for spelling in (key.name, *key.also):
            assert (key.section, spelling) not in seen
            seen.add((key.section, spelling))


NAMES = st.text(
    st.characters(codec="utf-8", categories=("L", "N"), include_characters=" -'+&()!#*@%?"),
    min_size=1, max_size=12,
).map(lambda s: "P " + " ".join(s.split()))  # fmt: skip
LENGTHS = st.one_of(
    st.floats(0.1, 500).map(lambda x: f"{x:.2f} m"),
    st.floats(0.1, 500).map(lambda x: f"about {x:.3g} m"),
    st.sampled_from(["unknown", "25 ft", "5 to 8 m", "7 m spread 0.33"]),
)
LOADS = st.sampled_from(
    ["60 W", "electronics", "kettle 3 kW", "about 2 kW", "unknown", "LED 5 W off", "nothing",
     "filament 60 W unplugged", "winch 1.5 kW", "washer"]
)  # fmt: skip
DETAILS = st.sampled_from(
    ["socket", "light", "joint box, loft", "isolator", "switch", "fused unit", "gfci outlet",
     "appliance", "pigtail", "worn, rodents"]
)  # fmt: skip
DEVICES = st.sampled_from(
    ["B16", "C6", "15 A", "B32 RCBO 30 mA", "30 A fuse BS 3036", "GFCI 20 A", "D10 off", "none",
     "B20 double pole"]
)  # fmt: skip


@st.composite
def jobs(draw: st.DrawFn) -> dict[str, Any]:
    """A form as typed: circuits of several patterns with loads, details and readings."""
    names = draw(st.lists(NAMES, min_size=2, max_size=6, unique_by=str.casefold))
    cut = draw(st.integers(1, len(names) - 1))
    main, rest = names[:cut], names[cut:]
    pattern = draw(st.sampled_from(["run", "ring"]))
    chain: list[str] = []
    for name in main:
        chain += [*([draw(LENGTHS)] if draw(st.booleans()) else []), name]
    if pattern == "ring":
        chain.append(draw(LENGTHS))
    circuit: dict[str, Any] = {pattern: chain, "device": draw(DEVICES)}
    circuit["branches"] = {draw(st.sampled_from(main)): [draw(LENGTHS), rest[0]]}
    circuit["points"] = draw(st.dictionaries(st.sampled_from(main), DETAILS, max_size=2))
    circuit["plugged in"] = draw(
        st.dictionaries(st.sampled_from(main), st.lists(LOADS, min_size=1, max_size=3), max_size=2)
    )
    lighting = []
    for name in rest[1:]:
        count = draw(st.integers(0, 3))
        switches = [f"{name} s{k}" for k in range(count)]
        lighting += [
            draw(LENGTHS),
            {name: {"switched by": switches or "nothing", "lamp": "LED 5 W"}},
        ]
    circuits: dict[str, Any] = {"first": circuit}
    if lighting:
        circuits["lights"] = {"lighting": lighting, "device": draw(DEVICES)}
    values = st.sampled_from(
        ["230", "about 48", "0.34 ohm", "over range", ">5 MΩ", "dead", "0.8 mV"]
    )
    readings: list[dict[str, Any]] = []
    for place in draw(st.lists(st.sampled_from(main), max_size=4)):
        entry: dict[str, Any] = {
            "at": place,
            draw(st.sampled_from(["L-N", "L-E", "N-E"])): draw(values),
        }
        entry |= draw(st.sampled_from([
            {}, {"by": "two-pole"}, {"showing": "no"}, {"works": "no"}, {"flickers": "yes"},
            {"with": {"off": "main switch", "unplugged": "all"}}, {"tingle": "case"},
            {"with": {"linked": "L-E at Board", "warm": "yes"}}, {"contacts": "terminals"},
        ]))  # fmt: skip
        readings.append(entry)
    form: dict[str, Any] = {
        "title": draw(NAMES), "region": draw(st.sampled_from(["uk", "eu", "na", "au"])),
        "circuits": circuits, "notes": draw(NAMES),
    }  # fmt: skip
    if readings:
        form["readings"] = readings
    return form


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(jobs())
def test_any_job_written_reads_as_the_same_job(form: dict[str, Any]) -> None:
    """Whatever a person types, the program's own writing of it reads as exactly the same job."""
    job = read_job(layout(form), "typed")
    written = write_job(job)
    again = read_job(written, "written")
    assert again.bare() == job.bare()
    assert write_job(again) == written
    lay_out(job.installation)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=300))
def test_no_text_gives_anything_but_a_job_or_problems(text: str) -> None:
    """Any text at all is either a job or a list of problems, never another failure."""
    from halfsplit.form import read_with_problems

    job, problems = read_with_problems(text, "typed")
    assert job is not None or problems


PIECES = st.sampled_from(
    ["circuits", "run", "ring", "readings", "at", "L-N", "230", "8 m", "Bench", "with", "off", "yes",
     "points", "lighting", "legs", "L1", "supply", "boards", "lamp", "clamp", "from", "to", "dead"]
)  # fmt: skip
TREES = st.recursive(
    PIECES, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(PIECES, inner, max_size=4),
    max_leaves=25,
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(PIECES, TREES, min_size=1, max_size=5))
def test_no_arrangement_of_the_forms_own_words_breaks_the_reader(form: dict[str, Any]) -> None:
    """Keys and values in all the wrong places give problems in words, never a traceback."""
    from halfsplit.form import read_with_problems

    job, problems = read_with_problems(json.dumps(form), "typed")
    assert job is not None or problems
    assert all(problem.sentence() for problem in problems)
