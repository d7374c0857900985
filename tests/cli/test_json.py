"""What --json prints: one documented object that holds to its schema."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from halfsplit.service.schema import SECTIONS, schema
from tests.cli.running import SHED, STAIRS, WORKSHOP, halfsplit

DOCS = Path(__file__).resolve().parents[2] / "docs"
FORMS = re.findall(r"```yaml\n(.*?)```", (DOCS / "form.md").read_text(encoding="utf-8"), re.DOTALL)


def _printed(*arguments: str, given: str = "") -> Any:
    ran = halfsplit(*arguments, "--json", given=given)
    assert ran.status == 0, ran.err
    return json.loads(ran.out)


def _holds(found: Any, section: str) -> None:
    jsonschema.Draft202012Validator(schema(section)).validate(found)


@pytest.mark.parametrize("file", [SHED, WORKSHOP, STAIRS], ids=lambda file: file.stem)
def test_a_diagnosis_holds_to_its_schema(file: Path) -> None:
    """The object printed has every key of the schema and no other, with finite figures."""
    found = _printed("diagnose", str(file))
    _holds(found, "diagnosis")
    assert found["halfsplit"] == "1"


@pytest.mark.parametrize("number", range(len(FORMS)))
def test_every_example_of_the_guide_is_answered(number: int) -> None:
    """Each example form of the manual gives a diagnosis that holds to the schema."""
    if "circuits:" in FORMS[number]:
        _holds(_printed("diagnose", "-", given=FORMS[number]), "diagnosis")


@pytest.mark.parametrize("file", [SHED, WORKSHOP, STAIRS], ids=lambda file: file.stem)
def test_probabilities_add_up(file: Path) -> None:
    """Suspects, those too small to list and "none of these" add up to one but for rounding."""
    found = _printed("diagnose", str(file))
    listed = sum(s["probability"] for s in found["suspects"])
    assert listed > 0.5
    assert listed + found["others"] + found["none_of_these"] == pytest.approx(1.0, abs=0.002)
    for suspect in found["suspects"]:
        inside = sum(m["probability"] for m in suspect["members"])
        assert inside == pytest.approx(suspect["probability"], abs=0.001)


def test_outcomes_of_a_check_leave_no_gap() -> None:
    """Each band begins where the one before ends, and their chances add up to one."""
    bounded = 0
    hall = "circuits: {hall: {device: B16, run: [4 m, Door, 5 m, Hall, 5 m, Stairs]}}\n"
    volts = f"region: uk\n{hall}readings: [{{at: Hall, L-N: 120, L-E: 231}}]\n"
    for given in (SHED.read_text(), WORKSHOP.read_text(), STAIRS.read_text(), volts):
        for check in _printed("diagnose", "-", given=given)["next"]:
            chances = sum(o["chance"] for o in check["outcomes"])
            assert not check["outcomes"] or chances == pytest.approx(1.0, abs=0.002)
            figures = [o for o in check["outcomes"] if not o["seen"]]
            for one, after in pairwise(figures):
                if after["from"] is not None:
                    bounded += 1
                    assert one["to"] == after["from"]
    assert bounded


def test_the_other_objects_hold_to_their_schemas() -> None:
    """Prediction, faults, understanding and refusal have the keys the manual lists."""
    _holds(_printed("predict", str(SHED)), "prediction")
    listed = _printed("predict", str(SHED), "--faults")
    _holds(listed, "faults")
    some = listed["faults"][0]
    found = _printed("predict", str(SHED), "--fault", some["id"])
    assert (found["fault"], found["says"]) == (some["id"], some["says"])
    _holds(_printed("validate", str(SHED)), "understanding")
    ran = halfsplit("validate", "-", "--json", given="circuits: {}\n")
    _holds(json.loads(ran.out), "refusal")


def test_the_manual_lists_every_key() -> None:
    """Every key of every object stands in docs/json.md, and the schema's file is the schema."""
    page = (DOCS / "json.md").read_text(encoding="utf-8")
    for keys in SECTIONS.values():
        for key in keys:
            assert f"| `{key.name}` | {key.kind} | {key.says} |" in page
    stored = json.loads((DOCS / "diagnosis.schema.json").read_text(encoding="utf-8"))
    assert stored == schema("diagnosis")


def test_the_schema_refuses_what_is_not_documented() -> None:
    """A key that nobody documented, or a probability of two, fails the schema."""
    found = _printed("diagnose", str(SHED))
    with pytest.raises(jsonschema.ValidationError, match="'extra' was unexpected"):
        _holds({**found, "extra": 1}, "diagnosis")
    with pytest.raises(jsonschema.ValidationError, match="greater than the maximum"):
        _holds({**found, "sound": 2.0}, "diagnosis")
