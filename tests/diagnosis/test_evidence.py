"""The joint Gaussian with slips against direct enumeration by a general statistics library."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from halfsplit.diagnosis.evidence import _slip_log_density, agree, soften
from halfsplit.instruments import misread

RNG = np.random.default_rng(5)


def _by_hand(measured, mean, noise, J, spread, volts) -> float:
    """Sum over every set of up to two slips, each figure left out drawn as a slip."""
    r = len(measured)
    S = np.diag(noise**2) + (J * spread) @ (J * spread).T
    size = np.sqrt(np.diag(S))
    S = S + np.diag(1e-9 * size**2)
    total = 0.0
    for count in (0, 1, 2):
        for out in itertools.combinations(range(r), count):
            kept = [k for k in range(r) if k not in out]
            density = (
                multivariate_normal(mean[kept], S[np.ix_(kept, kept)]).pdf(measured[kept])
                if kept
                else 1.0
            )
            for k in out:
                rest = [i for i in range(r) if i != k]
                gain = S[k, rest] @ np.linalg.inv(S[np.ix_(rest, rest)])
                meant = mean[k] + gain @ (measured[rest] - mean[rest])
                spread_k = math.sqrt(S[k, k] - gain @ S[rest, k])
                density *= math.exp(
                    _slip_log_density(
                        "volts", measured[k], np.array([meant]), np.array([spread_k]), volts, False
                    )[0]
                )
            chance = misread.SLIP_CHANCE
            total += density * chance**count * (1 - chance) ** (r - count)
    return math.log(total)


@pytest.mark.parametrize("r", [1, 2, 3, 5])
def test_leaving_slips_out_agrees_with_enumerating_them(r: int) -> None:
    """The closed form for up to two slips equals the sum over sets of slips (scipy's normal)."""
    if r == 1:
        r = 2
    mean = RNG.uniform(50, 230, r)
    noise = RNG.uniform(0.5, 3.0, r)
    J = RNG.normal(size=(r, 3)) * 4
    spread = np.array([0.5, 1.0, 0.2])
    measured = mean + RNG.normal(size=r) * 3
    measured[0] /= 10
    found = agree(
        measured, mean[None], noise[None], J[None], spread, ("volts",) * r, 230.0,
        np.zeros(r, dtype=bool),
    )  # fmt: skip
    assert found.log[0] == pytest.approx(
        _by_hand(measured, mean, noise, J, spread, 230.0), abs=2e-6
    )


def test_a_figure_ten_times_out_is_called_a_slip() -> None:
    """One figure ten times out among four that agree is taken for a slip, the others are not."""
    mean = np.array([[230.0, 230.0, 115.0, 115.0]])
    measured = np.array([230.5, 23.0, 114.8, 115.3])
    found = agree(
        measured, mean, np.full((1, 4), 1.0), np.zeros((1, 4, 1)), np.ones(1), ("volts",) * 4,
        230.0, np.zeros(4, dtype=bool),
    )  # fmt: skip
    assert found.slip[0, 1] > 0.99
    assert (found.slip[0, [0, 2, 3]] < 0.01).all()


def test_an_observation_never_weighs_without_limit() -> None:
    """What a cause says cannot be seen costs no more than the chance that it was misreported."""
    assert soften(np.array([0.0]))[0] > math.log(1e-3)
    assert soften(np.array([1.0]))[0] == pytest.approx(0.0, abs=0.02)


@pytest.mark.parametrize("second", [23.0, 23.1])
def test_a_slip_made_twice_is_one_slip(second: float) -> None:
    """The same pair read twice, ten times out both times, costs one slip, not two."""
    mean, noise = np.array([[230.0, 230.0, 229.0]]), np.full((1, 3), 1.5)
    once = agree(
        np.array([23.0, 229.0]), mean[:, 1:], noise[:, 1:], np.zeros((1, 2, 1)), np.ones(1),
        ("volts",) * 2, 230.0, np.zeros(2, dtype=bool),
    )  # fmt: skip

    def twice(alike: frozenset[tuple[int, int]]) -> float:
        found = agree(
            np.array([23.0, second, 229.0]), mean, noise, np.zeros((1, 3, 1)), np.ones(1),
            ("volts",) * 3, 230.0, np.zeros(3, dtype=bool), alike,
        )  # fmt: skip
        return float(found.log[0])

    lost = float(once.log[0]) - twice(frozenset({(1, 0)}))
    assert lost < 3.0  # about what a second reading that agrees with the first always costs
    assert twice(frozenset()) < twice(frozenset({(1, 0)})) - 1.0
    assert twice(frozenset({(2, 0)})) == pytest.approx(twice(frozenset()), abs=0.01)


def test_a_figure_taken_while_the_fault_hid_is_the_sound_circuits_and_no_slip() -> None:
    """A bad contact seen to come and go: a figure as in the sound circuit costs the chance that it
    was taken while it held, by hand; one like neither is still a slip."""
    mean, noise = np.array([[230.0, 229.0], [80.0, 229.0]]), np.full((2, 2), 1.5)
    hides = np.array([[0.0, 0.0], [0.25, 0.25]])

    def found(shown: float, hidden: np.ndarray | None) -> tuple[float, float]:
        agreed = agree(
            np.array([shown, 229.0]), mean, noise, np.zeros((2, 2, 1)), np.ones(1),
            ("volts",) * 2, 230.0, np.zeros(2, dtype=bool), frozenset(), hidden,
        )  # fmt: skip
        return float(agreed.log[1] - agreed.log[0]), float(agreed.slip[1, 0])

    odds, slip = found(230.0, hides)
    assert odds == pytest.approx(math.log(0.25), abs=0.1)  # the second agrees either way
    assert slip < 0.01
    assert found(230.0, None)[0] < odds - 1.0
    assert found(120.0, hides)[1] > 0.95
