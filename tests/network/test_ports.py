"""Loads that are not linear, against closed forms and a general root finder."""

import numpy as np
import pytest
from scipy.optimize import root

from halfsplit.network import reflect, settle


class Filament:
    """i = (P/U) (v/U)^0.54, softened near nothing (exponent: common textbook figure)."""

    def __init__(self, watt: float, volt: float, power: float = -0.46) -> None:
        self.g, self.u, self.p = watt / volt**2, volt, power

    def admittance(self, vmag):
        soft = np.sqrt(vmag**2 + (1e-3 * self.u) ** 2) / self.u
        y = self.g * soft**self.p
        return y, y * self.p * vmag / (self.u**2 * soft**2)


class Steady:
    """A fixed admittance."""

    def __init__(self, y: complex) -> None:
        self.y = y

    def admittance(self, vmag):
        return np.full(vmag.shape, self.y), np.zeros(vmag.shape)


class Threshold:
    """An LED lamp: next to nothing below a threshold, then steeply more."""

    def __init__(self, volt: float, siemens: float, capacitive: float = 0.0) -> None:
        self.volt, self.g, self.b = volt, siemens, capacitive

    def admittance(self, vmag):
        rise = 1 / (1 + np.exp(-(vmag - self.volt) / 3))
        return 1e-8 + self.g * rise + 1j * self.b, self.g * rise * (1 - rise) / 3


def test_two_filament_lamps_after_a_lost_neutral_follow_the_closed_form() -> None:
    """60 W and 100 W in series on 240 V share as (P2/P1)^(1/0.54), not as fixed resistances."""
    # One port per lamp, each seen with the other's leg in series: 240 V behind a tiny resistance,
    # the midpoint held by 1 GOhm. v1 + v2 = 240; current through both is the same.
    big, small = 1e9, 1e-3
    Z = np.array([[[big, -big], [-big, big + small]]])
    voc = np.array([[120.0, 120.0]])
    got = settle(voc, Z, [Filament(60, 120), Filament(100, 120)])
    assert got.converged.all()
    ratio = (100 / 60) ** (1 / 0.54)
    want = 240 * ratio / (1 + ratio)
    assert got.v[0] == pytest.approx([want, 240 - want], abs=0.01)
    assert abs(want - 150) > 20


@pytest.mark.parametrize("kind", ["live", "dead"])
def test_settle_agrees_with_a_general_root_finder(kind: str) -> None:
    """Random ports with filament, steady and threshold loads meet scipy's root to 1e-6 V."""
    rng = np.random.default_rng(8)
    B, P = 60, 3
    A = rng.normal(size=(B, P, P)) * 10 ** rng.uniform(0, 2, (B, 1, 1))
    Z = A @ A.transpose(0, 2, 1) + np.eye(P)
    voc = rng.uniform(20, 240, (B, P))
    tail = 0.0
    if kind == "live":
        Z = Z + 1j * rng.uniform(0, 5, (B, 1, 1)) * np.eye(P)
        voc, tail = voc * np.exp(1j * rng.uniform(0, 6, (B, P))), 1e-6
    laws = [Filament(60, 230), Steady(1 / 400), Threshold(70, 4e-4, tail)]
    got = settle(voc, Z, laws)
    assert got.converged.all(), f"{(~got.converged).sum()} of {B} did not settle"
    for row in range(B):

        def wrong(parts, row=row):
            v = parts[:P] + 1j * parts[P:]
            y = np.array([law.admittance(np.abs(v[k : k + 1]))[0][0] for k, law in enumerate(laws)])
            left = v + Z[row] @ (y * v) - voc[row]
            return np.concatenate([left.real, left.imag])

        start = np.concatenate([got.v[row].real, got.v[row].imag]) * 1.02 + 0.1
        found = root(wrong, start, tol=1e-12)
        v = found.x[:P] + 1j * found.x[P:]
        assert np.abs(v - got.v[row]).max() < 1e-6
        assert np.abs(wrong(np.concatenate([got.v[row].real, got.v[row].imag]))).max() < 1e-6


def test_currents_belong_to_the_voltages() -> None:
    """What a port draws is its law at its voltage, and v = voc - Z i holds."""
    voc, Z = np.array([[230.0 + 0j]]), np.array([[[900.0 + 40j]]])
    got = settle(voc, Z, [Filament(60, 230)])
    assert got.i[0, 0] == pytest.approx((voc - got.v)[0, 0] / Z[0, 0, 0], rel=1e-9)
    other = reflect(np.array([[230.0 + 0j]]), np.array([[[100.0 + 0j]]]), got.i)
    assert other[0, 0] == pytest.approx(230.0 - 100.0 * got.i[0, 0])


def test_load_not_plugged_in_leaves_the_source_alone() -> None:
    """A share of nothing draws nothing; the same row with the load draws."""
    voc, Z = np.full((2, 1), 230.0), np.full((2, 1, 1), 1000.0)
    got = settle(voc, Z, [Steady(1e-3)], share=np.array([[0.0], [1.0]]))
    assert got.v[:, 0] == pytest.approx([230.0, 115.0])


class Relay:
    """Draws 1 A above 50 V and lets go below."""

    def admittance(self, vmag):
        held = vmag > 50
        v = np.where(held, vmag, 1.0)
        return np.where(held, 1 / v, 0.0), np.where(held, -1 / v**2, 0.0)


def test_no_solution_is_reported_row_by_row() -> None:
    """Behind 80 ohm a relay chatters: that row says so, its neighbour behind 10 ohm settles."""
    got = settle(np.full((2, 1), 100.0), np.array([[[80.0]], [[10.0]]]), [Relay()])
    assert got.converged.tolist() == [False, True]
    assert got.v[1, 0] == pytest.approx(90.0, rel=1e-9)
