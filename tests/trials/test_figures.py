"""The figures of a run: right on rows made by hand."""

from __future__ import annotations

import math
from random import Random
from typing import Any
from xml.etree import ElementTree

import pytest

from bench._trial_figures import (
    Share,
    alarmed,
    bins,
    bootstrap,
    brier,
    calibration_error,
    log_loss,
    mean_of,
)
from bench._trial_one import Row, as_json
from bench._trial_picture import picture
from bench._trial_report import as_object, as_text


def row(seed: int, **figures: Any) -> dict[str, Any]:
    """A row with these figures, the others as of a plain hit."""
    plain = Row(seed, "as-assumed", "radial", "open joint", "open joint: x", False, True, False, [],
                rank=1, end_rank=1, claimed=0.9, belief=0.9)  # fmt: skip
    return {**as_json(plain), **figures}


def test_intervals_are_wilsons() -> None:
    """5 of 10 gives 0.237 to 0.763, 0 of 10 gives 0 to 0.278: the usual worked figures."""
    assert Share(5, 10).interval == pytest.approx((0.2366, 0.7634), abs=1e-4)
    assert Share(0, 10).interval == pytest.approx((0.0, 0.2775), abs=1e-4)
    assert Share(0, 0).interval == (0.0, 1.0)


def test_log_loss_and_brier_are_as_by_hand() -> None:
    """Two rows: belief 0.5 and 1 give ln 2 / 2; claimed 0.9 right and 0.6 wrong give 0.185."""
    rows = [row(1, belief=0.5, claimed=0.9), row(2, belief=1.0, claimed=0.6, rank=0)]
    assert log_loss(rows) == pytest.approx(math.log(2) / 2)
    assert brier(rows) == pytest.approx((0.01 + 0.36) / 2)


def test_an_honest_claim_has_little_calibration_error_and_a_boast_much() -> None:
    """2,000 rows right as often as claimed: about 0.02; the same rows claiming 0.95: far more.

    A perfect predictor shows 0.011 to 0.032 at 2,000 rows.
    """
    random = Random(3)
    claims = [random.uniform(0.3, 1.0) for _ in range(2000)]
    honest = [row(k, claimed=c, rank=int(random.random() < c)) for k, c in enumerate(claims)]
    assert calibration_error(honest) < 0.04
    assert calibration_error([{**r, "claimed": 0.95} for r in honest]) > 0.2


def test_bins_hold_equal_numbers_and_every_row() -> None:
    """47 rows in ten bins: four or five in each, 47 in all."""
    table = bins([row(k, claimed=k / 50) for k in range(47)])
    assert sum(n for _, _, n in table) == 47
    assert {n for _, _, n in table} <= {4, 5}


def test_a_bootstrap_is_the_same_each_time_and_holds_its_figure() -> None:
    """The mean of 0 to 9 is 4.5, inside its interval, twice alike."""
    rows = [row(k, checks=k) for k in range(10)]
    once, twice = bootstrap(rows, mean_of("checks")), bootstrap(rows, mean_of("checks"))
    assert once == twice
    assert once.low < once.value == 4.5 < once.high


def test_an_alarm_is_a_fault_believed_where_nothing_is_wrong() -> None:
    """Half sure of a fault is an alarm; of nothing wrong, or a third sure of a fault, is none."""
    assert alarmed(row(1, leader="open joint: x", claimed=0.5))
    assert not alarmed(row(1, leader="nothing wrong", claimed=0.9))
    assert not alarmed(row(1, leader="open joint: x", claimed=0.33))


def test_two_faults_are_counted_apart() -> None:
    """A trial with two faults changes none of the shares of single ones."""
    single = [row(1), row(2, rank=0, end_rank=0)]
    double = row(3, two=True, rank=0, end_rank=0, family="open joint and load off")
    found = as_object([*single, double], "as-assumed")["shares"]
    assert found["first in the last answer, before a look"]["hits"] == 1
    assert found["first in the last answer, before a look"]["of"] == 2
    assert found["two faults: one of them first"] == {
        "hits": 0, "of": 1, "interval": pytest.approx([0.0, 0.793], abs=1e-3)
    }  # fmt: skip


def test_the_report_and_the_picture_hold_every_family() -> None:
    """A family among the rows has its line in the text and its bar in a well-formed picture."""
    rows = [row(1), row(2, family="worn contact <&>", rank=0), row(3, sound=True)]
    assert "worn contact <&>" in as_text(rows, "as-met")
    drawn = ElementTree.fromstring(picture(rows, "as-met"))
    assert any("worn contact <&>" in (t.text or "") for t in drawn.iter() if t.tag.endswith("text"))
