"""Wrong files through the command: a sentence that names the place, status 2, never a trace."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.running import SHED, halfsplit, in_a_process
from tests.form.test_wrong_files import WRONG

COMMANDS = ("diagnose", "predict", "validate")


def test_there_are_enough_wrong_files() -> None:
    """At least forty different mistakes are tried."""
    assert len(WRONG) >= 40


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_file_ends_in_a_sentence(case: str, tmp_path: Path) -> None:
    """Status 2, nothing on standard output, and a sentence with place, file, value and remedy."""
    text, place, read, accepted = WRONG[case]
    file = tmp_path / "job.yaml"
    file.write_text(text, encoding="utf-8")
    ran = halfsplit("diagnose", str(file))
    assert ran.status == 2
    assert ran.out == ""
    assert "Traceback" not in ran.err
    assert "job.yaml" in ran.err
    for words in (place, read[:40], accepted):
        assert words in ran.err


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_refuses_alike(command: str, tmp_path: Path) -> None:
    """Each command that takes a file says what was read and what is accepted."""
    file = tmp_path / "job.yaml"
    file.write_text("circuits: {hall: {device: zap 16, run: [Bench]}}\n", encoding="utf-8")
    ran = halfsplit(command, str(file))
    assert ran.status == 2
    assert 'read "zap"' in ran.err
    assert "accepted: a device such as" in ran.err
    assert "line 1" in ran.err


@pytest.mark.parametrize("command", COMMANDS)
def test_a_missing_file_is_named(command: str) -> None:
    """A file that is not there is named, with what to do instead."""
    ran = halfsplit(command, "nowhere.yaml")
    assert ran.status == 2
    assert 'nowhere.yaml: read "no such file"' in ran.err
    assert "halfsplit demo --form" in ran.err


def test_a_folder_is_not_a_form(tmp_path: Path) -> None:
    """A folder in place of a file is said to be one."""
    ran = halfsplit("diagnose", str(tmp_path))
    assert (ran.status, 'read "a folder"' in ran.err) == (2, True)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (b"\xff\xfe\x00\x01", "text in UTF-8"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "plain text"),
        (b"", "title:"),
        (b"title: [open\n", "standard input"),
        (b"a: &x 1\nb: *x\n", "standard input"),
        (b"{}" * 300_000, "400,000"),
        (b"circuits:\n\thall: {run: [Bench]}\n", "standard input"),
    ],
)
def test_what_is_no_form_is_refused_on_standard_input(given: bytes, words: str) -> None:
    """Pictures, other encodings, broken layout and floods end in a sentence too."""
    ran = halfsplit("diagnose", "-", given=given)
    assert ran.status == 2
    assert words in ran.err
    assert ran.out == ""


def test_a_wrong_file_gives_json_when_asked(tmp_path: Path) -> None:
    """With --json the problems come as data on standard output, and as sentences beside it."""
    file = tmp_path / "job.yaml"
    file.write_text("circuits: {hall: {run: [-2 m, Bench]}}\n", encoding="utf-8")
    ran = halfsplit("diagnose", str(file), "--json")
    problem = json.loads(ran.out)["problems"][0]
    assert ran.status == 2
    assert (problem["read"], problem["line"], problem["severity"]) == ("-2 m", 1, "error")
    assert problem["sentence"] in ran.err


def test_a_wrong_file_leaves_no_trace_in_a_process_of_its_own(tmp_path: Path) -> None:
    """What holds for the command holds for the program: status 2 and one sentence."""
    file = tmp_path / "job.yaml"
    file.write_text("circuits: {hall: {run: [8 V, Bench]}}\n", encoding="utf-8")
    ran = in_a_process("diagnose", str(file))
    assert ran.status == 2
    assert ran.err.count("\n") == 1
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--fault", "open joint: nothing"), 'no fault is called "open joint: nothing"; near it:'),
        (("--severity", "22 Ω"), 'severity "22 Ω" needs a fault'),
        (
            ("--fault", "open joint: tail Board L", "--severity", "bad"),
            'has no severity "bad"; it has open',
        ),
    ],
)
def test_a_fault_that_is_not_there_is_named(arguments: tuple[str, ...], words: str) -> None:
    """A wrong fault or severity is named with those there are."""
    ran = halfsplit("predict", str(SHED), *arguments)
    assert (ran.status, ran.out) == (2, "")
    assert words in ran.err


def test_an_unknown_demo_is_answered_with_those_there_are() -> None:
    """A demo's wrong name is answered with the right ones."""
    ran = halfsplit("demo", "castle")
    assert ran.status == 2
    assert 'no demo is called "castle"; there are boat-shed, workshop, stairs' in ran.err
