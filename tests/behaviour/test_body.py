"""A person as a load: IEC 60479-1's figures, and what is felt."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.behaviour import body
from halfsplit.behaviour.body import TOUCH, Person
from halfsplit.errors import NotInTable
from halfsplit.network.ports import settle


@pytest.mark.parametrize(
    ("volts", "p5", "p50"), [(25, 1750, 3250), (100, 990, 1725), (225, 775, 1225), (1000, 575, 775)]
)
def test_body_impedance(volts: float, p5: float, p50: float) -> None:
    """Hand to hand, dry. Source: IEC TS 60479-1:2005 Table 1, from memory."""
    assert float(body.person_ohms(volts, percentile=5)) == pytest.approx(p5)
    assert float(body.person_ohms(volts, percentile=50)) == pytest.approx(p50)


def test_water_lowers_it_at_low_voltage_only() -> None:
    """10 to 25 % less up to 50 V, the same from 150 V. Source: note quoting IEC 479-1."""
    wet = body.person_ohms(np.array([50.0, 230.0]), wet=True)
    dry = body.person_ohms(np.array([50.0, 230.0]))
    assert 0.75 <= wet[0] / dry[0] <= 0.90
    assert wet[1] == dry[1]


@given(
    path=st.sampled_from(sorted(body.PATHS)),
    percentile=st.sampled_from([5, 50, 95]),
    wet=st.booleans(),
    at=st.floats(1, 1000),
    more=st.floats(0, 1000),
)
def test_more_volts_drive_more_current(
    path: str, percentile: int, wet: bool, at: float, more: float
) -> None:
    """Impedance never rises with voltage when dry, and current never falls, dry or wet."""
    person = Person(path, percentile, wet)  # type: ignore[arg-type]
    v = np.array([at, at + more])
    g, _ = person.conductance(v)
    assert (g * v)[1] >= (g * v)[0] * (1 - 1e-9)
    ohms = body.person_ohms(v, path, percentile)  # type: ignore[arg-type]
    assert ohms[1] <= ohms[0] * (1 + 1e-12)


def test_a_person_settles_at_a_port() -> None:
    """Across 230 V behind an ohm, the worst person takes a few tenths of an ampere: deadly.

    775 Ω × 0.75 by IEC 60479-1 at the 5th percentile (from memory): 230 V drive about 0.4 A.
    """
    settled = settle(np.array([[230.0 + 0j]]), np.array([[[1.0 + 0j]]]), [body.worst_touch()])
    assert settled.converged.all()
    assert abs(settled.i[0, 0]) == pytest.approx(230 / (775 * 0.75), rel=0.02)
    assert bool(body.holds_fast(settled.i)[0, 0])


def test_a_frame_held_by_one_filter_tingles_and_cannot_hold_fast() -> None:
    """2 × 2.2 nF at 230 V give at most 0.16 mA: nothing or a tingle, not a shock.

    Source: 2.2 nF common practice; under 0.75 mA for a portable appliance, from memory.
    """
    z = 1 / (2j * np.pi * 50 * 2 * 2.2e-9)
    settled = settle(np.array([[115.0 + 0j]]), np.array([[[z]]]), [Person()])
    amps = abs(settled.i[0, 0])
    assert amps == pytest.approx(0.16e-3, rel=0.02)
    words = body.touch_words(amps)
    assert words[TOUCH.index("tingle")] > 0.2
    assert words[TOUCH.index("shock")] < 1e-3
    assert not bool(body.holds_fast(amps))


def test_thresholds_of_feeling() -> None:
    """Half feel a firm hold at 0.5 mA; at 10 mA everybody calls it a shock.

    Source: technical explainer on IEC 60479 (0.5 mA perceived, let-go about 10 mA).
    """
    nothing, tingle, shock = body.touch_words(np.array([1e-6, 0.8e-3, 10e-3]))
    assert nothing[0] > 0.99
    assert tingle[1] > 0.8
    assert shock[2] > 0.95
    assert body.holds_fast(np.array([4.9e-3, 5e-3])).tolist() == [False, True]


@given(at=st.floats(0, 0.1), more=st.floats(0, 0.1))
def test_more_current_is_never_felt_less(at: float, more: float) -> None:
    """Words share one whole; "nothing" only falls and "shock" only rises with current."""
    low, high = body.touch_words(np.array([at, at + more]))
    assert low.sum() == pytest.approx(1.0)
    assert high[0] <= low[0] + 1e-12
    assert high[2] >= low[2] - 1e-12


def test_ways_of_touching_share_one_whole_and_paths_are_named() -> None:
    """Shares add to one; an unknown path says which there are."""
    assert sum(share for _, share in body.touches()) == pytest.approx(1.0)
    with pytest.raises(NotInTable, match="no row for nose to toe; the table has hand to hand"):
        body.person_ohms(50.0, "nose to toe")
