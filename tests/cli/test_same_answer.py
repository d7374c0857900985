"""The same job gives the same answer: in any order, on any number of threads, every time."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import SHED, STAIRS, WORKSHOP, halfsplit, in_a_process


def _without_lines(found: dict[str, Any]) -> dict[str, Any]:
    """The object with its readings in a fixed order and without their numbers."""
    readings = [{k: v for k, v in r.items() if k != "id"} for r in found["readings"]]
    return {**found, "readings": sorted(readings, key=lambda r: json.dumps(r, sort_keys=True))}


@pytest.mark.parametrize("file", [SHED, WORKSHOP, STAIRS], ids=lambda file: file.stem)
def test_the_order_of_readings_does_not_matter(file: Path) -> None:
    """Readings typed backwards give the same object, to the last digit printed."""
    text = file.read_text(encoding="utf-8")
    head, readings = text.split("readings:\n")
    lines = [line for line in readings.splitlines() if line.strip()]
    turned = head + "readings:\n" + "\n".join(reversed(lines)) + "\n"
    one, other = (
        json.loads(halfsplit("diagnose", "-", "--json", given=given).out)
        for given in (text, turned)
    )
    assert len(lines) > 3
    assert _without_lines(one) == _without_lines(other)


def test_threads_do_not_matter() -> None:
    """One thread or two in the linear algebra: the same answer, byte for byte."""
    one, two = (
        in_a_process("diagnose", str(SHED), "--json", OPENBLAS_NUM_THREADS=number)
        for number in ("1", "2")
    )
    assert one.status == 0
    assert one.out == two.out


def test_the_demo_is_the_same_every_time() -> None:
    """Two runs of the demo print the same text, with no time of day and no timing in it."""
    one, two = in_a_process("demo"), in_a_process("demo", PYTHONHASHSEED="7")
    assert one.status == 0
    assert one.out == two.out
    assert not re.search(r"\d:\d\d|\bms\b|second", one.out)


def test_the_thread_limit_is_set_before_numpy_is_loaded_and_can_be_overruled() -> None:
    """The program limits itself to one thread unless the person said otherwise."""
    import halfsplit.bootstrap as bootstrap

    assert bootstrap.read_settings({}).threads == "1"
    assert bootstrap.read_settings({"OPENBLAS_NUM_THREADS": "4"}).threads == "4"
