"""How a circuit may stand once its devices have acted: every end, each with its chance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.behaviour import trips
from halfsplit.behaviour.states import TripState, acting, trip_states, undecided
from halfsplit.wiring.plan import Way
from tests.behaviour.test_trips import DEVICES, RCD, way

Currents = Callable[[frozenset[str]], tuple[list[float], list[float]]]
OTHER = way("rcd", 40.0, "", 30.0)
FINE = way("rcd", 25.0, "", 10.0)


def steady(amps: list[float], leaks: list[float]) -> Currents:
    """Currents that do not care who has parted."""
    return lambda parted: (amps, leaks)


def stopped_by_any(amps: list[float], leaks: list[float]) -> Currents:
    """Devices in series: once one has parted nothing flows."""
    return lambda parted: ([0.0] * len(amps), [0.0] * len(leaks)) if parted else (amps, leaks)


def chances(found: tuple[TripState, ...]) -> dict[tuple[str, ...], float]:
    """Chance by who has parted."""
    return {state.parted: state.chance for state in found}


def test_a_leak_inside_the_band_ends_either_way() -> None:
    """At 24 mA a 30 mA device may hold or trip, each with the chance its band gives; at 15 mA it
    holds, at 30 mA it trips (IEC 61008-1: half the rating and the rating), and one end is left."""
    p = float(trips.residual_trip(RCD, 0.024))
    assert 0.2 < p < 0.8
    found = chances(trip_states((RCD,), stopped_by_any([0.0], [0.024])))
    assert found == pytest.approx({(RCD.name,): p, (): 1 - p})
    assert chances(trip_states((RCD,), stopped_by_any([0.0], [0.015]))) == {(): 1.0}
    assert chances(trip_states((RCD,), stopped_by_any([0.0], [0.030]))) == {(RCD.name,): 1.0}


def test_two_breakers_in_series_on_a_dead_short_are_a_toss_up() -> None:
    """Both would part at once at 1 kA; whichever does spares the other: two consistent ends."""
    big, small = way(amps=32.0), way()
    found = trip_states((big, small), stopped_by_any([1000.0] * 2, [0.0] * 2))
    assert chances(found) == pytest.approx({(big.name,): 0.5, (small.name,): 0.5})


def test_earth_fault_current_is_the_residual_devices_to_clear() -> None:
    """With 5 A to earth, a 30 mA device acts and the 16 A breaker below it holds."""
    found = trip_states((RCD, way()), stopped_by_any([5.0, 5.0], [5.0, 5.0]))
    assert chances(found) == {(RCD.name,): 1.0}


def test_a_selective_device_waits_for_the_general_one() -> None:
    """Behind a type S, a general 30 mA device acts first on 0.5 A. From memory (IEC 61008-1)."""
    upstream = way("rcd", 80.0, "", 100.0, "A S")
    found = chances(trip_states((upstream, RCD), stopped_by_any([0.0] * 2, [0.5] * 2)))
    assert found[(RCD.name,)] > 0.9


def test_a_device_that_held_a_current_holds_it_again() -> None:
    """One device sure to part leaves the other's 24 mA as it was: that one trips with its one
    chance p, not with a second throw 1-(1-p)²."""
    p = float(trips.residual_trip(RCD, 0.024))
    found = chances(trip_states((OTHER, RCD), steady([0.0] * 2, [0.1, 0.024])))
    assert found == pytest.approx({(OTHER.name,): 1 - p, (OTHER.name, RCD.name): p}, abs=1e-9)


def test_a_rise_after_the_first_trip_is_weighed_from_what_was_borne() -> None:
    """Held at 22 mA, then seeing 26 mA once the other has parted: parted with chance p(26), held
    with 1 - p(26), as its one threshold says."""

    def solve(parted: frozenset[str]) -> tuple[list[float], list[float]]:
        return [0.0, 0.0], [0.1, 0.026 if parted else 0.022]

    p = float(trips.residual_trip(RCD, 0.026))
    found = chances(trip_states((OTHER, RCD), solve))
    assert found[(OTHER.name, RCD.name)] == pytest.approx(p, abs=1e-9)
    assert found[(OTHER.name,)] == pytest.approx(1 - p, abs=1e-9)


def test_a_borrowed_neutral_trips_one_device_and_may_trip_the_other() -> None:
    """Both see the borrowed load, 24 mA; the first to part stops it, so never both. The chance
    that neither acts is (1-p)² (each with a threshold of its own)."""
    p = float(trips.residual_trip(RCD, 0.024))
    found = chances(trip_states((OTHER, RCD), stopped_by_any([0.0] * 2, [0.024] * 2)))
    assert found[()] == pytest.approx((1 - p) ** 2, rel=1e-6)
    assert (OTHER.name, RCD.name) not in found
    assert found[(OTHER.name,)] + found[(RCD.name,)] == pytest.approx(1 - (1 - p) ** 2, rel=1e-6)


def test_minutes_count_only_when_one_waits() -> None:
    """At 1.45 times its rating a breaker holds for seconds and parts within the hour
    (IEC 60898-1, from memory)."""
    device = way()
    amps = stopped_by_any([1.45 * 16.0], [0.0])
    assert chances(trip_states((device,), amps))[()] > 0.97
    assert chances(trip_states((device,), amps, soon=False))[(device.name,)] > 0.97


def test_without_devices_there_is_one_end() -> None:
    """Nothing in series never acts."""
    assert trip_states((), steady([], [])) == (TripState((), 1.0),)


def drawn(ways: tuple[Way, ...], solve: Currents, draw: np.random.Generator) -> tuple[str, ...]:
    """One end by throwing dice: a threshold for each device, then the quickest of those over it."""
    u = draw.random(len(ways))
    parted: frozenset[str] = frozenset()
    while True:
        amps, leaks = solve(parted)
        over = [k for k, w in enumerate(ways) if w.name not in parted
                and float(acting(w, amps[k], leaks[k])) > u[k]]  # fmt: skip
        if not over:
            return tuple(w.name for w in ways if w.name in parted)
        speed = np.array([float(trips.typical_seconds(ways[k], amps[k], leaks[k])) ** -2.0
                          for k in over])  # fmt: skip
        parted |= {ways[draw.choice(over, p=speed / speed.sum())].name}


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_chances_are_those_of_dice(seed: int) -> None:
    """Three devices whose currents rise as others part, thrown 3,000 times with one threshold each
    (an independent way to count): every end as often as said, within 4 standard deviations."""
    draw = np.random.default_rng(seed)
    ways = (RCD, OTHER, FINE)
    base, rise = draw.uniform(0.016, 0.027, 3), draw.uniform(0.0, 0.006, 3)
    base[2], rise[2] = base[2] / 3, rise[2] / 3

    def solve(parted: frozenset[str]) -> tuple[list[float], list[float]]:
        return [0.0] * 3, list(base + rise * len(parted))

    said = chances(trip_states(ways, solve, least=0.0))
    seen = Counter(drawn(ways, solve, draw) for _ in range(3000))
    for end in said.keys() | seen.keys():
        p = said.get(end, 0.0)
        assert seen[end] / 3000 == pytest.approx(p, abs=4 * (p * (1 - p) / 3000) ** 0.5 + 2e-3)


@given(
    chosen=st.lists(st.sampled_from(DEVICES), min_size=1, max_size=4, unique_by=lambda w: w.name),
    amps=st.floats(0, 2000),
    leak=st.floats(0, 0.5),
)
def test_somebody_parts_or_nobody(chosen: list[Way], amps: float, leak: float) -> None:
    """Chances add to 1; nobody parts just as often as every device holds; and whoever decides
    whether the end is undecided agrees with the number of ends."""
    n = len(chosen)
    ways = tuple(chosen)
    found = chances(trip_states(ways, stopped_by_any([amps] * n, [leak] * n), least=0.0))
    assert sum(found.values()) == pytest.approx(1.0)
    idle = np.prod([1 - float(acting(w, amps, leak)) for w in chosen])
    assert found.get((), 0.0) == pytest.approx(idle, abs=1e-5)
    many = [end for end, chance in found.items() if chance > 0.05]
    assert bool(undecided(ways, np.full(n, amps), np.full(n, leak))) or len(many) == 1
