"""Prior weights: sourced or owned as judgement, raised by history, never by finesse."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import NotInTable
from halfsplit.faults import grids
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.faults.rates import (
    CALLED,
    HISTORY,
    RATES,
    Rate,
    conductor_factor,
    meanings,
    multiplier,
    pair_factor,
    rate,
)
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Installation
from tests.faults.houses import barn, house, radial

GRIDS = {
    name: grid for name, grid in vars(grids).items() if name.isupper() and isinstance(grid, tuple)
}


@pytest.mark.parametrize("row", RATES.values(), ids=lambda row: row.id)
def test_every_rate_has_a_reason_and_a_source(row: Rate) -> None:
    """Each row is positive, below one, and says why, and by whom."""
    assert 0 < row.weight < 1
    assert len(row.reason) > 10
    assert row.source


@pytest.mark.parametrize("name", sorted(GRIDS))
def test_grids_are_whole_and_rise(name: str) -> None:
    """A grid's shares sum to one and its steps rise, logarithmically once above an ohm."""
    grid = GRIDS[name]
    assert math.fsum(share for _, share in grid) == pytest.approx(1.0)
    steps = [ohm for ohm, _ in grid]
    assert steps == sorted(set(steps))


def total(installation: Installation, *families: str) -> float:
    """The weight of these families, or of all."""
    faults = enumerate_faults(installation, lay_out(installation))
    return sum(f.rate for f in faults if not families or f.family in families)


def test_nothing_wrong_is_neither_likely_nor_absurd() -> None:
    """When called to twelve outlets, between 5 and 20 % of calls find nothing wrong."""
    assert 0.05 < 1 / (1 + total(radial(12))) < 0.20


def test_two_faults_are_rarer_than_one_but_common() -> None:
    """Pairs hold a few percent to a fifth of the single faults' weight, small house or large."""
    for installation in (radial(12), house()):
        singles = total(installation)
        assert 0.02 < singles**2 / 2 / CALLED / singles < 0.20


def test_line_and_neutral_joints_fail_more_than_earth_ones() -> None:
    """A joint that carries load current fails more than one that carries none."""
    assert conductor_factor("L") == conductor_factor("N") > conductor_factor("E")


def test_line_and_neutral_are_the_likeliest_pair_to_be_crossed() -> None:
    """Crossing line with neutral beats any pair with the protective conductor."""
    assert pair_factor("L", "N") > pair_factor("N", "E") > pair_factor("L", "E")
    assert pair_factor("L", "N") == pair_factor("N", "L")


def test_water_makes_leakage_likelier_there_only() -> None:
    """Water at one place raises leaks there, and leaves the place before it alone."""
    installation = barn()
    faults = {f.id: f for f in enumerate_faults(installation, lay_out(installation))}
    wet, dry = (faults[f"leak at point: Pen {k} L-N"].rate for k in (2, 1))
    assert wet == pytest.approx(6 * dry)


def test_history_is_read_from_free_words() -> None:
    """Plain phrases name the row; words that only contain one do not."""
    assert [row.word for row in meanings(["A rat chewed it"])] == ["rodents"]
    assert [row.word for row in meanings(["new fitting last week", "damp wall"])] == [
        "worked on",
        "water",
    ]
    assert (
        meanings(
            [
                "generator in the yard",
                "a gold frame",
                "rated 16 A",
                "by the window",
                "works again",
                "hotel",
            ]
        )
        == ()
    )


@given(
    st.lists(
        st.sampled_from([word.rstrip("*") for row in HISTORY for word in row.means]), max_size=8
    )
)
def test_history_never_makes_a_fault_impossible(words: list[str]) -> None:
    """Whatever is said, a factor stays from 1 to 20, and the house counts less than the place."""
    for group in {group for row in HISTORY for group, _ in row.times}:
        here, everywhere = multiplier(group, words), multiplier(group, (), words)
        assert 1.0 <= everywhere <= here <= 20.0


def test_an_unknown_rate_lists_those_there_are() -> None:
    """Asking for a rate that is not there shows the name asked for and the rows."""
    with pytest.raises(NotInTable, match="fault rates: no row for luck; the table has open joint"):
        rate("luck")
