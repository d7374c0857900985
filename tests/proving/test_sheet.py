"""A test filled in: whatever a mend calls for can be answered, and the answer is counted for it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from halfsplit.errors import BadInput
from halfsplit.form import read_job
from halfsplit.form.guide import EXAMPLES
from halfsplit.form.lines import layout
from halfsplit.form.tree import parse
from halfsplit.proving import prove
from halfsplit.proving.prove import plan_tests
from halfsplit.proving.result import Wanted
from halfsplit.service.proving import proof_object
from halfsplit.service.testsheet import ANSWERS, INSTRUMENTS, UNITS, Result, entry_of
from halfsplit.service.written import plain

CHOSEN = ("A ring with a spur", "Lighting, looped at the switch; North America", "Several boards",
          "Metal by itself")  # fmt: skip
FORMS = [pytest.param(t, id=title[:20]) for title, _, t in EXAMPLES if title.startswith(CHOSEN)]

AFTER = ("mend", "tests after", "left safe", "open items", "seen")


def mends_of(text: str) -> Iterator[dict[str, Any]]:
    """One mend of every kind that a form's installation has a part for."""
    inst = read_job(text, "example").installation
    points = [p.name for c in inst.circuits for p in c.points]
    yield {"did": "x", "at": points[0], "joint": "E"}
    yield {"did": "x", "at": points[-1]}
    yield {"did": "x", "cable": inst.circuits[0].runs[0].name}
    yield {"did": "x", "device": inst.circuits[0].device.name}
    yield {"did": "x", "device": inst.boards[0].main.name}
    yield {"did": "x", "at": inst.boards[0].name}
    yield {"did": "x", "at": points[0], "nothing": "yes"}
    for word in ("electrode", "link", "operator"):
        yield {"did": "x", "supply": word}
    for path in inst.paths[:1]:
        yield {"did": "x", "bond": path.name}
    for p in (p for c in inst.circuits[:1] for p in c.points if p.loads):
        yield {"did": "x", "load": p.loads[0].name, "at": p.name}


def good(wanted: Wanted) -> Result:
    """A result that shows this test well passed."""
    if wanted.test in ANSWERS and wanted.test != "trip time":
        return Result(seen=ANSWERS[wanted.test][0][0])
    figures = {"insulation": ">299", "trip time": "20", "trip current": "22", "volts": "230"}
    return Result(
        figures.get(wanted.test, "0.2"), by="insulation 500" if wanted.test == "insulation" else ""
    )


@pytest.mark.parametrize("text", FORMS)
def test_every_test_called_for_can_be_answered(text: str) -> None:
    """Whatever kind of mend, the entry made for a test is read and counts for that test alone."""
    root, _ = parse(text, "example")
    assert root is not None
    form = {key: value for key, value in plain(root).items() if key not in AFTER}
    for mend in mends_of(text):
        try:
            wanted = plan_tests(read_job(layout(form | {"mend": [mend]}), "job"))
        except BadInput:  # a device that has no name of its own
            continue
        entries = [entry_of(item, good(item)) for item in wanted]
        proof = prove(read_job(layout(form | {"mend": [mend], "tests after": entries}), "job"))
        for item, verdict in zip(wanted, proof.verdicts, strict=True):  # nothing unasked
            assert verdict.wanted.id == item.id
            assert len(verdict.tests) == 1, (mend, item.id, verdict.tests)


def test_figures_get_the_unit_of_their_test() -> None:
    """A bare figure is in the test's own unit, bounds kept; a written unit stands."""
    insulation = next(w for w in _asked() if w.test == "insulation")
    made = entry_of(insulation, Result("over 299", by="insulation 500"))
    assert made["insulation"] == {"L+N-E": "over 299 MΩ at 500 V"}
    together = next(w for w in _asked() if w.port == "L+E")
    assert entry_of(together, Result("0.38"))["R1+R2"] == "0.38 Ω"
    assert entry_of(together, Result("380 mΩ"))["R1+R2"] == "380 mΩ"


@pytest.mark.parametrize("result", [Result(), Result("x" * 61), Result(seen="fine")])
def test_an_answer_that_is_none_is_refused(result: Result) -> None:
    """Nothing shown, too long a text, a word that is no answer: refused with what is accepted."""
    for wanted in _asked():
        with pytest.raises(BadInput, match="accepted"):
            entry_of(wanted, result)


def test_every_kind_of_test_has_a_figure_or_answers() -> None:
    """No kind of test is without a way to fill it in, and instruments are the form's own words."""
    kinds = {w.test for w in _asked()}
    assert kinds <= set(UNITS) | set(ANSWERS)
    for test, choices in INSTRUMENTS.items():
        assert test in set(UNITS) | set(ANSWERS)
        for by, _ in choices:
            form = {"circuits": {"c": {"run": ["5 m", "P"]}},
                    "tests after": [{"at": "P", "works": "yes", "by": by}]}  # fmt: skip
            assert read_job(layout(form), "job").after.tests[0].instrument == by


def _asked() -> tuple[Wanted, ...]:
    ring = {"device": "B32 RCBO 30 mA", "ring": ["9 m", "A", "5 m", "B", "9 m"],
            "spurs": {"A": ["3 m", "S"]}}  # fmt: skip
    form = {"region": "uk", "circuits": {"ring": ring}, "mend": [{"did": "x", "at": "A"}]}
    return plan_tests(read_job(layout(form), "job"))


def test_the_manual_names_every_key_of_the_proof_and_no_other() -> None:
    """Every key of the object and of its tests stands in the manual's tables, and only those."""
    manual = (Path(__file__).resolve().parents[2] / "docs" / "proving.md").read_text("utf-8")
    rows = [row.split("|")[1] for row in manual.splitlines() if row.startswith("| `")]
    named = [key for row in rows for key in re.findall(r"`([a-z_]+)`", row)]
    ring = {"device": "B32 RCBO 30 mA", "ring": ["9 m", "A", "5 m", "B", "9 m"]}
    form = {"region": "uk", "circuits": {"ring": ring}, "mend": [{"did": "x", "at": "A"}]}
    job = read_job(layout(form), "job")
    made = proof_object(job, prove(job))
    assert sorted(named) == sorted([*made, *made["tests"][0]])
