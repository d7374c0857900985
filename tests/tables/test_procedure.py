"""The order of work, report codes and probe rules against what was published of them."""

from __future__ import annotations

from itertools import product

import pytest

from halfsplit.errors import NotInTable
from halfsplit.tables import procedure as p


def test_isolation_proves_the_tester_before_and_after() -> None:
    """Identify, isolate, lock, prove, test, prove again (college revision page on GS38/EAWR)."""
    steps = list(p.ISOLATION)
    assert steps.index("lock and notice") < steps.index("prove tester")
    assert steps.index("test dead") - steps.index("prove tester") == 1
    assert steps[-1] == "prove tester again"
    assert len(steps) == 6


def test_live_dead_live() -> None:
    """NFPA 70E asks the same of the instrument (Kentucky OSH reply letter quoting 120.1(5))."""
    assert p.PROVING == ("live", "dead", "live")


@pytest.mark.parametrize(
    ("conductors", "count"), [(["L", "N", "E"], 3), (["L1", "L2", "L3", "N", "E"], 10)]
)
def test_pairs_to_prove_dead(conductors: list[str], count: int) -> None:
    """Three tests on single phase, ten on three phase (safety training article)."""
    pairs = p.pairs_to_prove_dead(conductors)
    assert len(pairs) == count
    assert len({frozenset(pair) for pair in pairs}) == count


def test_live_work_needs_all_three() -> None:
    """EAWR 1989 reg. 14 sets three conditions, all of them (safety training article)."""
    assert len(p.LIVE_WORK) == 3


def test_dead_tests_come_first() -> None:
    """Four dead tests, then electrode, loop, fault current, residual device, functional.

    Testing notes; course notes citing 643.2 to 643.11.
    """
    assert p.out_of_order(p.VERIFICATION) == ()
    assert p.VERIFICATION[4:] == (
        "electrode",
        "loop",
        "prospective fault current",
        "residual device",
        "functional",
    )
    assert p.out_of_order(["loop", "insulation", "functional"]) == ("loop",)
    for dead, live in product(p.DEAD_TESTS, p.VERIFICATION[4:]):
        assert p.out_of_order([live, dead]) == (live,)
        assert p.out_of_order([dead, live]) == ()
    with pytest.raises(NotInTable, match="verification tests: no row for guess"):
        p.out_of_order(["guess"])


def test_codes() -> None:
    """C1, C2 or FI make a report unsatisfactory, C3 alone does not.

    Contractor guide to condition-report codes (Best Practice Guide 4); 18th-edition course notes.
    """
    assert [p.unsatisfactory([code]) for code in ("C1", "C2", "FI", "C3")] == [True] * 3 + [False]
    assert p.unsatisfactory(["C3", "C2"])
    assert not p.unsatisfactory([])
    with pytest.raises(NotInTable, match="report codes: no row for C9; the table has C1, C2"):
        p.unsatisfactory(["C3", "C9"])


def test_rented_homes_in_england() -> None:
    """28 days to put right, five years between (contractor page on the 2020 Regulations)."""
    assert (p.REMEDY_DAYS.value, p.INSPECTION_YEARS.value) == (28, 5)


def test_probes() -> None:
    """4 mm of tip at most, 2 preferred; 500 mA, 10 A for loop testers (HSE GS38 par. 9, forum)."""
    found = (p.PROBE_TIP_MAX, p.PROBE_TIP_PREFERRED, p.LEAD_FUSE, p.LEAD_FUSE_LOOP)
    assert [figure.value for figure in found] == [0.004, 0.002, 0.5, 10]


def test_how_others_classed_is_listed_where_they_disagree_too() -> None:
    """Electricians' forum: an open conductor on a ring C2, some FI. Local contractor how-to page:
    reversed polarity at an accessory C2, at the origin C1; a training page C1 for sockets in use.
    None is picked: each stands with its source, and the person's own class is never changed."""
    by_what: dict[str, set[str]] = {}
    for row in p.CLASSED:
        by_what.setdefault(row.what, set()).update(row.codes)
    assert by_what == {
        "a conductor of a ring open": {"C2", "FI"},
        "polarity reversed at an accessory": {"C2"},
        "polarity reversed at a socket-outlet in use": {"C1"},
        "polarity reversed at the origin": {"C1"},
    }
    assert all(p.unsatisfactory(codes) for codes in by_what.values())
