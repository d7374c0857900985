"""The arithmetic of what a check settles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from halfsplit.checks.gain import Binned, Grouped, binned, by_cause, information, screen
from halfsplit.checks.rows import Rows
from halfsplit.checks.trial import Shown
from halfsplit.instruments.misread import SLIP_CHANCE

Real = NDArray[np.float64]


def rows(*weight: float, none: float = 0.0) -> Rows:
    """Rows of these weights with nothing else to them."""
    count = len(weight)
    scaled = np.array(weight) * (1 - none) / sum(weight)
    return Rows(np.arange(count), scaled, np.arange(count), ((),) * count, (0,) * count, none)


def figures(*mean: float, sigma: float = 1.0) -> Shown:
    """A check that shows these figures."""
    return Shown(np.array(mean), np.full(len(mean), sigma), np.zeros(len(mean)))


def each(count: int) -> Grouped:
    """Every row its own group."""
    return by_cause([str(k) for k in range(count)])


def gained(shown: Shown, these: Rows, groups: Grouped) -> float:
    """Bits that one check settles."""
    return float(information(binned([shown]), these, groups)[0])


def test_two_causes_far_apart_are_worth_a_bit_less_slips() -> None:
    """Even odds told apart surely are one bit; the slips take a little of it.

    Outside figure: mutual information of a symmetric channel, 1 - H(error), from memory.
    """
    gain = gained(figures(0.0, 230.0), rows(1, 1), each(2))
    wrong = SLIP_CHANCE / 2
    least = 1 + wrong * math.log2(wrong) + (1 - wrong) * math.log2(1 - wrong)
    assert least - 0.02 < gain < 1.0


def test_two_causes_at_two_sigmas_match_numerical_integration() -> None:
    """The bins lose under a twentieth of the information of two overlapping normals."""
    x = np.linspace(-12, 14, 20001)
    a, b = (np.exp(-0.5 * (x - m) ** 2) / math.sqrt(2 * math.pi) for m in (0.0, 2.0))
    mix = (a + b) / 2
    exact = float(np.trapezoid((a * np.log2(a / mix) + b * np.log2(b / mix)) / 2, x))
    found = binned([figures(0.0, 2.0)])[0]
    pure = (found.chance - SLIP_CHANCE / found.chance.shape[1]) / (1 - SLIP_CHANCE)
    gain = float(information([Binned(found.edges, pure)], rows(1, 1), each(2))[0])
    assert gain <= exact + 1e-6
    assert gain == pytest.approx(exact, rel=0.05)


def test_what_looks_the_same_is_worth_nothing() -> None:
    """Causes that predict the same figure are not told apart by it."""
    assert gained(figures(7.0, 7.0, 7.0), rows(1, 2, 3), each(3)) < 1e-9


def test_inside_one_group_nothing_is_gained() -> None:
    """A check that only tells members of one group apart is worth no bits over groups."""
    both = Grouped(np.zeros(2, dtype=np.intp), 1)
    assert gained(figures(0.0, 230.0), rows(1, 1), both) < 1e-9


def test_a_look_that_always_finds_is_worth_its_entropy() -> None:
    """Found or not found parts one cause in four from the rest: H(1/4) bits."""
    chance = np.array([[1.0, 0.0], [0.0, 1.0]])
    shown = Shown(np.zeros(2), np.zeros(2), np.zeros(2), ("found", "not found"), chance)
    entropy = -(0.25 * math.log2(0.25) + 0.75 * math.log2(0.75))
    assert gained(shown, rows(1, 3), each(2)) == pytest.approx(entropy)


@given(
    st.lists(
        st.tuples(st.floats(0, 300), st.floats(0.1, 30), st.floats(0, 1), st.floats(0.01, 1)),
        min_size=2,
        max_size=12,
    ),
    st.floats(0, 0.5),
)
def test_a_gain_is_never_negative_nor_above_what_is_unknown(
    drawn: list[tuple[float, float, float, float]], none: float
) -> None:
    """0 <= gain <= the entropy of the groups, whatever is predicted; the chances add to one."""
    mean, sigma, over, weight = (np.array(x) for x in zip(*drawn, strict=True))
    shown, these = Shown(mean, sigma, over), rows(*weight, none=none)
    found = binned([shown])[0]
    assert found.chance.sum(axis=1) == pytest.approx(np.ones(len(mean)))
    assert (found.chance >= 0).all()
    p = np.append(these.weight, none)
    p = p[p > 0]
    gain = gained(shown, these, each(len(mean)))
    assert -1e-12 <= gain <= float(-(p * np.log2(p)).sum()) + 1e-9


@given(st.lists(st.floats(0, 300), min_size=2, max_size=10))
def test_the_quick_look_ranks_a_useless_check_last(mean: list[float]) -> None:
    """What parts nothing screens at zero; what parts something does not screen below it."""
    shown = [figures(*mean), figures(*([5.0] * len(mean)))]
    quick = screen(shown, rows(*([1.0] * len(mean))), each(len(mean)))
    assert quick[1] < 1e-9
    assert quick[0] >= quick[1]
