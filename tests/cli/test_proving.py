"""Proving, the record and its seal on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from halfsplit.form.lines import layout
from tests.cli.running import halfsplit
from tests.report.jobs import PRINT_ROOM


def form(folder: Path, **more: object) -> str:
    """A form on disk, with some keys replaced."""
    path = folder / "job.yaml"
    data = PRINT_ROOM | {key.replace("_", " "): value for key, value in more.items()}
    path.write_text(layout(data), encoding="utf-8")
    return str(path)


def test_prove_says_what_is_proved_and_by_which_rules(tmp_path: Path) -> None:
    """The standing, the rules, each test with its limit, and the cautions."""
    out = " ".join(halfsplit("prove", form(tmp_path)).out.split())
    assert out.startswith("Proved: every test that the mend calls for was made and passed.")
    for word in ("BS 7671:2018 with amendment 2", "0.8 of 2.19 Ω", "Dead means proved dead"):
        assert word in out


def test_prove_forbids_energising_first_of_all(tmp_path: Path) -> None:
    """With an open item the first line forbids energising, and the item is named."""
    out = halfsplit("prove", form(tmp_path, open_items=["L-E link at Board"])).out
    assert out.startswith("! Not to be energised:\n  ! still open: L-E link at Board")


def test_before_the_tests_prove_says_what_each_should_read(tmp_path: Path) -> None:
    """With nothing tested yet it is the plan: expected values, and steps where asked for."""
    file = form(tmp_path, tests_after=[])
    out = " ".join(halfsplit("prove", file).out.split())
    assert "R1+R2 at Folder, line and protective conductor of east: should read 0.38 Ω" in out
    assert "1. " not in out
    assert "    1. " in halfsplit("prove", file, "--steps").out


def test_prove_prints_one_object(tmp_path: Path) -> None:
    """``--json`` has the standing, the rules, every test with results, limit and expected value."""
    found = json.loads(halfsplit("prove", form(tmp_path), "--json").out)
    assert found["standing"] == "proved"
    assert found["may_energise"] is True
    assert found["rules"]["id"] == "uk-2022"
    test = next(t for t in found["tests"] if t["id"] == "loop L-E at Guillotine")
    assert test["outcome"] == "pass"
    assert test["limit"]["most"] == pytest.approx(0.8 * 218.5 / 100)
    assert test["expected"]["from"] < test["expected"]["value"] < test["expected"]["to"]
    assert test["results"][0]["shown"] == "0.86 Ω"


@pytest.mark.parametrize(
    ("ending", "start"), [(".pdf", b"%PDF"), (".html", b"<!doctype html>"), (".txt", b"PRINT ROOM")]
)
def test_a_record_is_written_and_its_seal_holds(tmp_path: Path, ending: str, start: bytes) -> None:
    """PDF, page or text by the name's ending; the seal it tells is the form's until it changes."""
    file, made = form(tmp_path), tmp_path / f"record{ending}"
    told = halfsplit("report", file, "-o", str(made)).out
    assert made.read_bytes().startswith(start)
    seal = told.split()[-1]
    assert "nothing was changed" in halfsplit("verify", file, seal).out
    other = form(tmp_path.parent, title="Another room")
    changed = halfsplit("verify", other, seal)
    assert changed.status == 2
    assert "is another form" in changed.err


def test_wrong_names_and_editions_end_in_sentences(tmp_path: Path) -> None:
    """An unknown ending, an edition not held, a form without its seal: status 2, in words."""
    file = form(tmp_path)
    for arguments, words in (
        (("report", file, "-o", "record.doc"), "ends in .pdf, .html or .txt"),
        (("verify", file), "give the one printed on its record"),
        (("report", file, "-o", str(tmp_path / "no" / "x.txt")), "can be written"),
    ):
        ran = halfsplit(*arguments)
        assert ran.status == 2
        assert words in ran.err
    odd = tmp_path / "odd.yaml"
    odd.write_text(layout(PRINT_ROOM | {"edition": "1881"}), encoding="utf-8")
    ran = halfsplit("prove", str(odd))
    assert ran.status == 2
    assert "2022" in ran.err
