"""Prior weights: sourced or owned as judgement, raised by history, never by finesse."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import NotInTable
from halfsplit.faults import grids
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.faults.fault import Fault
from halfsplit.faults.rates import (
    CALLED,
    HISTORY,
    RATES,
    Group,
    Rate,
    conductor_factor,
    meanings,
    multiplier,
    pair_factor,
    rate,
)
from halfsplit.wiring.history import WORDS
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
    plain = ("generator in the yard", "a gold frame", "rated 16 A", "by the window", "works again",
             "hotel")  # fmt: skip
    assert meanings(plain) == ()


def test_every_plain_word_of_history_has_its_row_and_no_row_is_unsayable() -> None:
    """The words that can be read and the rows that weigh them are the same."""
    assert {row.word for row in HISTORY} == set(WORDS)


GROUPS = sorted({group for row in HISTORY for group, _ in row.times})


@given(st.lists(st.sampled_from(WORDS), max_size=8))
def test_history_never_makes_a_fault_impossible(words: list[str]) -> None:
    """Whatever is said, of the place or of the house, a factor stays from 0.05 to 20."""
    for group in GROUPS:
        assert 0.05 <= multiplier(group, words) <= 20.0
        assert 0.05 <= multiplier(group, (), words) <= 20.0


@pytest.mark.parametrize("word", WORDS)
@pytest.mark.parametrize("group", GROUPS)
def test_a_word_about_the_house_counts_less_than_one_about_the_place(
    word: str, group: Group
) -> None:
    """The house is larger than any place of it; only its supply is as singular as a place."""
    here, everywhere = (abs(math.log(multiplier(group, *w))) for w in (((word,),), ((), (word,))))
    assert everywhere <= here
    assert (everywhere == here) == (here == 0 or (group == "supply" and word != "worked on"))


def test_only_hands_cross_conductors() -> None:
    """Where somebody has worked a crossing is likelier by 15 to 20; where it worked before and
    nobody has since, it is rarer than anywhere."""
    assert 15 <= multiplier("crossing", ["worked on"]) <= 20
    assert multiplier("crossing", ["worked until Sunday"]) < 0.5
    assert multiplier("crossing", ["worked until Sunday", "rewired"]) >= 15
    assert multiplier("joint", ["worked until Sunday"]) == 1.0


def by_id(installation: Installation) -> dict[str, Fault]:
    """The faults of an installation."""
    return {f.id: f for f in enumerate_faults(installation, lay_out(installation))}


def test_work_at_the_board_lifts_what_is_made_there_and_nothing_else() -> None:
    """A board renewed: crossed at it and joints of it rise, and a crossing there is no longer one
    that was noticed long ago; the points stay as they were."""
    before = house()
    (board,) = before.boards
    at_board = replace(before, boards=(replace(board, history=("renewed",)),))
    of_house = replace(before, history=("panel renewed last week",))
    plain = by_id(before)
    for after in (by_id(at_board), by_id(of_house)):
        crossed = "crossed at run end: joint Board L Board–U1 with joint Board N Board–U1"
        assert after[crossed].rate == pytest.approx(plain[crossed].rate * 15 / 0.3)
        joint = "loose joint: joint Board N Board–U1"
        assert after[joint].rate == pytest.approx(plain[joint].rate * 4)
        for id in ("loose joint: joint U1 N Board–U1", "crossed front: U2 L-N"):
            assert after[id].rate == pytest.approx(plain[id].rate)


def test_what_befell_the_service_is_said_of_the_service() -> None:
    """A storm lifts lost supply lines in full, whether said of the service or of the house; work
    at the service makes a reversed supply likelier by fifteen."""
    before = radial(3)
    plain = by_id(before)
    lost, turned = "supply line lost: service L", "supply reversed: service L with service PEN"
    for after in (
        by_id(replace(before, supply=replace(before.supply, history=("storm",)))),
        by_id(replace(before, history=("a storm",))),
    ):
        assert after[lost].rate == pytest.approx(5 * plain[lost].rate)
    worked = by_id(replace(before, supply=replace(before.supply, history=("meter changed",))))
    assert worked[turned].rate == pytest.approx(15 * plain[turned].rate)


def _with(installation: Installation, place: str, *history: str) -> dict[str, Fault]:
    (circuit,) = installation.circuits
    points = tuple(replace(p, history=history) if p.name == place else p for p in circuit.points)
    return by_id(replace(installation, circuits=(replace(circuit, points=points),)))


def test_what_was_renewed_without_effect_is_all_but_cleared() -> None:
    """Joints remade in vain keep a twentieth, there alone and of the conductor named alone; a
    socket replaced in vain clears its contacts too, and no other place."""
    base = radial(3)
    plain = by_id(base)
    remade = _with(base, "P2", "neutral joint remade without effect")
    changed = _with(base, "P2", "socket replaced without effect")
    neutral, line = ("loose joint: joint P2 N P1–P2", "loose joint: joint P2 L P1–P2")
    contact, beside = "worn contact: front P2 N", "loose joint: joint P3 N P2–P3"
    for found, cleared in ((remade, {neutral}), (changed, {neutral, line, contact})):
        for id in (neutral, line, contact, beside, "broken core: core P1–P2 N"):
            assert found[id].rate == pytest.approx(
                plain[id].rate * (0.05 if id in cleared else 1.0)
            )


@pytest.mark.parametrize(
    ("said", "cleared"),
    [
        ("breaker replaced without effect", "pole burnt: pole outlets breaker L"),
        ("all sockets replaced without effect", "worn contact: front P3 L"),
        ("socket replaced without effect", ""),
    ],
)
def test_of_a_circuit_only_what_is_said_of_it_all_is_cleared(said: str, cleared: str) -> None:
    """A circuit has one breaker and many sockets: one socket replaced, nobody says which, clears
    none of them."""
    base = radial(3)
    (circuit,) = base.circuits
    after = by_id(replace(base, circuits=(replace(circuit, history=(said,)),)))
    for id, before in by_id(base).items():
        if id == cleared:
            assert after[id].rate == pytest.approx(0.05 * before.rate)
    changed = {id for id, f in by_id(base).items() if after[id].rate != f.rate}
    assert bool(changed) == bool(cleared)
    assert not cleared or cleared in changed


def test_an_unknown_rate_lists_those_there_are() -> None:
    """Asking for a rate that is not there shows the name asked for and the rows."""
    with pytest.raises(NotInTable, match="fault rates: no row for luck; the table has open joint"):
        rate("luck")
