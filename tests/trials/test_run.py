"""A small run of trials from end to end, with floors that a worse program would not reach."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from bench import trials

ROOT = Path(__file__).resolve().parents[2]
SEED, COUNT = 1, 8
Rows = list[dict[str, Any]]


@pytest.fixture(scope="module")
def small(ngspice: str, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Rows]:
    """Eight trials as assumed, in a folder of their own."""
    folder = tmp_path_factory.mktemp("trials")
    return folder, trials.run("as-assumed", SEED, COUNT, 1, folder)


def test_every_trial_is_worked_out(small: tuple[Path, Rows]) -> None:
    """No trial ends in an error, and each says what was true, what was done and how sure it was."""
    for row in small[1]:
        assert not row["failed"]
        assert row["steps"] or row["stop"]
        assert 0 <= row["claimed"] <= 1
        assert 0 <= row["belief"] <= 1 + 1e-9


def test_it_finds_more_than_a_guesser_would(small: tuple[Path, Rows]) -> None:
    """At least half are found or first at the end; a guess among places would get one in ten."""
    single = [row for row in small[1] if not row["two"]]
    assert sum(row["end_rank"] == 1 for row in single) >= len(single) / 2


def test_belief_is_better_than_no_belief(small: tuple[Path, Rows]) -> None:
    """The log loss stays below that of one chance in fifty; a house has hundreds of faults."""
    sure = [r for r in small[1] if not r["two"]]
    loss = sum(-math.log(max(r["belief"], 1e-4)) for r in sure) / len(sure)
    assert loss < math.log(50)


def test_no_danger_of_a_cause_that_counts_is_shown_as_safe(small: tuple[Path, Rows]) -> None:
    """What stood above 50 V and could be felt was marked, unless its cause ended under 0.1 %."""
    assert [r["unsafe"] for r in small[1] if r["unsafe"] and r["belief"] >= 1e-3] == []


def test_a_run_cut_short_is_taken_up_again(small: tuple[Path, Rows], tmp_path: Path) -> None:
    """With its last line torn, a run gives the same rows, doing the torn trial alone again."""
    whole = (small[0] / "as-assumed.jsonl").read_text()
    lines = whole.splitlines(keepends=True)
    torn = "".join(lines[:3]) + lines[3][:40]
    (tmp_path / "as-assumed.jsonl").write_text(torn)
    trials.run("as-assumed", SEED, 4, 1, tmp_path)
    assert (tmp_path / "as-assumed.jsonl").read_text() == "".join(lines[:4])


def test_rows_do_not_depend_on_processes_or_threads(
    small: tuple[Path, Rows], tmp_path: Path
) -> None:
    """Two processes, each with two threads of linear algebra, write the same bytes."""
    command = [sys.executable, "-m", "bench.trials", "--count", "2", "--seed", str(SEED)]
    done = subprocess.run(
        [*command, "--jobs", "2", "--out", str(tmp_path)], cwd=ROOT, text=True,
        capture_output=True, env={**os.environ, "OPENBLAS_NUM_THREADS": "2"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    lines = (small[0] / "as-assumed.jsonl").read_text().splitlines()[:2]
    assert (tmp_path / "as-assumed.jsonl").read_text().splitlines() == lines


def test_a_run_leaves_rows_report_and_picture(small: tuple[Path, Rows]) -> None:
    """Every file is there and agrees on how many trials there were."""
    folder, rows = small
    assert len((folder / "as-assumed.jsonl").read_text().splitlines()) == len(rows) == COUNT
    assert json.loads((folder / "as-assumed.json").read_text())["trials"] == COUNT
    assert f"{COUNT} trials" in (folder / "as-assumed.txt").read_text()
    assert f"{COUNT} trials" in (folder / "as-assumed.svg").read_text()


def test_an_unknown_setting_is_refused() -> None:
    """A setting that does not exist ends with the list of those that do."""
    done = subprocess.run(
        [sys.executable, "-m", "bench.trials", "--setting", "perfect"],
        cwd=ROOT, text=True, capture_output=True,
    )  # fmt: skip
    assert done.returncode == 2
    assert "as-assumed" in done.stderr
