"""Laws of loads, against the trade's figures and against their own promises."""

from __future__ import annotations

import math
from itertools import pairwise

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.behaviour.laws import KINDS, dead_law, law, unknown_candidates
from halfsplit.errors import NotInTable
from halfsplit.network.ports import settle
from halfsplit.tables import lamps

OMEGA = 2 * math.pi * 50
kinds = st.sampled_from(KINDS)
FIXED = ("surge protector", "neon", "nothing")  # kinds whose size watts do not set


def _in_series(first: float, second: float, kind: str, supply: float) -> np.ndarray:
    """Volts across two loads of 120 V in series on ``supply``, their junction held by nothing."""
    free = 1e7
    Z = np.array([[[free, -free], [-free, free]]], complex)
    voc = np.full((1, 2), supply / 2, complex)
    laws = [law(kind, watts, 120.0) for watts in (first, second)]
    settled = settle(voc, Z, laws)
    assert settled.converged.all()
    volts: np.ndarray = np.abs(settled.v[0])
    return volts


def test_two_filament_lamps_after_a_lost_neutral() -> None:
    """60 and 100 W lamps on 240 V: fixed resistances say 150/90 V, the true law 172/68 V.

    Source: stated with the design; the exponent of the law is from memory.
    """
    assert _in_series(60.0, 100.0, "heater", 240.0) == pytest.approx([150.0, 90.0], abs=0.01)
    assert _in_series(60.0, 100.0, "filament", 240.0) == pytest.approx([172.0, 68.0], abs=1.0)


def test_a_hundred_and_two_hundred_watts_of_heat_see_saw() -> None:
    """144 and 72 Ω across an open neutral take 160 and 80 V. Source: published worked example."""
    assert _in_series(100.0, 200.0, "heater", 240.0) == pytest.approx([160.0, 80.0], abs=0.01)


@given(first=st.floats(15, 200), second=st.floats(15, 200))
def test_filaments_in_series_share_as_an_independent_root_says(first: float, second: float) -> None:
    """The solved split equals the root mpmath finds of one current through both lamps."""
    e = mpmath.mpf(lamps.RESISTANCE_EXPONENT.value)
    cold = mpmath.mpf(lamps.COLD_SHARE.value) ** (2 / e)
    cold = cold / (1 - cold)

    def amps(v: mpmath.mpf, watts: float) -> mpmath.mpf:
        x2 = (v / 120) ** 2
        return watts / mpmath.mpf(120) ** 2 * ((x2 + cold) / (1 + cold)) ** (-e / 2) * v

    free = mpmath.mpf(1e7)
    # At the junction: one current in, the other out, and what the 10 MΩ of nothing carries.
    root = mpmath.findroot(
        lambda v: amps(v, first) - amps(240 - v, second) - (120 - v) / free,
        (5, 235),
        solver="anderson",
        tol=1e-20,
    )
    assert _in_series(first, second, "filament", 240.0)[0] == pytest.approx(float(root), abs=1e-5)


def test_a_filament_cold_is_a_tenth_of_hot() -> None:
    """At 0 V its resistance is a tenth of that at rated volts; its power goes as about V^1.54.

    Source: from memory (cold share, exponents of tungsten lamps).
    """
    its = law("filament", 100.0, 230.0)
    g, _ = its.conductance(np.array([0.0, 230.0, 0.9 * 230.0]))
    assert g[0] / g[1] == pytest.approx(10.0, rel=1e-6)
    assert (g[2] * 0.81) / g[1] == pytest.approx(0.9**lamps.POWER_EXPONENT.value, rel=2e-3)


@given(kind=kinds, watts=st.floats(1, 3000), rated=st.sampled_from([110.0, 120.0, 230.0, 240.0]))
def test_rated_watts_at_rated_volts(kind: str, watts: float, rated: float) -> None:
    """Every load whose size watts set draws them at its rated volts."""
    if kind in FIXED:
        return
    y, _ = law(kind, watts, rated, OMEGA).admittance(np.array([rated]))
    assert float(y[0].real) * rated**2 == pytest.approx(watts, rel=1e-9)


@given(kind=kinds, watts=st.floats(1, 3000), at=st.floats(0, 2), more=st.floats(0, 2))
def test_conducting_current_never_falls_as_voltage_rises(
    kind: str, watts: float, at: float, more: float
) -> None:
    """At supply frequency (its real part) and at 0 Hz, more volts never draw less current."""
    its = law(kind, watts, 230.0, OMEGA)
    v = np.array([at * 230.0, (at + more) * 230.0])
    y, _ = its.admittance(v)
    g, _ = its.conductance(v)
    for i in (y.real * v, g * v):
        assert i[1] >= i[0] * (1 - 1e-12)


@given(kind=kinds, watts=st.floats(1, 3000), v=st.floats(0.5, 900))
def test_slopes_are_the_slopes(kind: str, watts: float, v: float) -> None:
    """The stated slope equals a central difference, live and dead, so that Newton is Newton."""
    its = law(kind, watts, 230.0, OMEGA)
    h = 1e-5 * v
    around = np.array([v - h, v, v + h])
    for y, dy in (its.admittance(around), its.conductance(around)):
        found = (y[2] - y[0]) / (2 * h)
        scale = abs(dy[1]) + 1e-7 * abs(y[1]) / v + 1e-18
        assert abs(found - dy[1]) <= 1e-4 * scale + 1e-9 * abs(y[1]) / h * 1e-6


@pytest.mark.parametrize("kind", KINDS)
def test_laws_stay_finite_wherever_a_solver_looks(kind: str) -> None:
    """At 0 V, and at a million volts, admittance and slope are finite and quiet."""
    v = np.array([0.0, 1e-9, 1.0, 1e3, 1e6])
    for pair in (
        law(kind, 60.0, 230.0).admittance(v),
        law(kind, 60.0, 230.0).conductance(v),
        dead_law(kind, 60.0, 230.0).admittance(v),
    ):
        assert all(np.isfinite(part).all() and part.shape == v.shape for part in pair)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("ohms", [0.5, 1e3, 1e6])
def test_every_load_settles_behind_any_source(kind: str, ohms: float) -> None:
    """Behind half an ohm, a kilohm or a megohm, live or dead, a load finds its one voltage."""
    voc, Z = np.array([[230.0], [400.0], [20.0]]), np.full((3, 1, 1), ohms)
    live = settle(voc + 0j, Z + 0j, [law(kind, 100.0, 230.0)])
    dead = settle(voc, Z, [dead_law(kind, 100.0, 230.0)])
    for settled in (live, dead):
        assert settled.converged.all()
        assert settled.v + ohms * settled.i == pytest.approx(voc, abs=1e-6)


def test_electronics_pull_a_broken_neutral_to_line() -> None:
    """One charger beyond a broken neutral leaves almost all of 230 V on a 10 MΩ meter.

    Practice (row 2 of the list of phenomena): the neutral beyond bites.
    """
    y, _ = law("electronics", 60.0, 230.0).admittance(np.array([1.0]))
    held = 230.0 * abs(y[0]) / abs(y[0] + 1e-7)
    assert held > 228


def test_a_surge_protector_spoils_five_hundred_volts_not_two_hundred_and_fifty() -> None:
    """About 0.3 MΩ at 500 V, above 100 MΩ at 250 V. Source: common practice, row 25."""
    g, _ = law("surge protector", 0.0, 230.0).conductance(np.array([500.0, 250.0]))
    assert 1 / g[0] == pytest.approx(0.3e6, rel=0.01)
    assert 1 / g[1] > 100e6


def test_what_is_left_in_spoils_an_insulation_test() -> None:
    """On a 500 V tester a lamp, a heater or electronics show next to nothing, a neon under 1 MΩ."""
    opens, ohms = 625.0, 125e3
    shown = {}
    for kind in ("filament", "heater", "electronics", "led", "neon"):
        settled = settle(np.array([[opens]]), np.array([[[ohms]]]), [dead_law(kind, 60.0, 230.0)])
        shown[kind] = float(settled.v[0, 0] / settled.i[0, 0])
    assert shown["filament"] < 1e3
    assert shown["heater"] < 1e3
    assert max(shown["electronics"], shown["led"], shown["neon"]) < 1e6


def test_capacitors_do_not_pass_direct_current() -> None:
    """At 0 Hz an LED lamp below its threshold is all but open; at 50 Hz its capacitor is not."""
    its = law("led", 5.0, 230.0, OMEGA)
    v = np.array([5.0])
    assert its.conductance(v)[0][0] < 1e-9
    assert its.admittance(v)[0][0].imag == pytest.approx(OMEGA * 1e-9)


def test_unknown_loads_are_weighed() -> None:
    """Shares add to one and every candidate has a law; "" itself has none and says what has."""
    assert sum(share for _, _, share in unknown_candidates()) == pytest.approx(1.0)
    for kind, watts, _ in unknown_candidates():
        assert law(kind, watts, 230.0)
    with pytest.raises(NotInTable, match='no row for ""; the table has heater, filament'):
        law("", 60.0, 230.0)


def test_a_motor_draws_more_for_its_volts_as_it_stalls() -> None:
    """Its admittance only falls from locked to running, and lags by its power factor."""
    y, _ = law("motor", 150.0, 230.0).admittance(np.array([10.0, 100.0, 150.0, 230.0]))
    assert all(abs(a) > abs(b) for a, b in pairwise(y))
    assert y[-1].real / abs(y[-1]) == pytest.approx(0.75)
    assert abs(y[0]) / abs(y[-1]) > 3
