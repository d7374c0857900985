"""The scoring itself: what counts as right, where none of these stands, and its intervals."""

from __future__ import annotations

from pathlib import Path

import pytest

from bench._found import CLASSES, Accepted, Key, read_explained, read_keys
from bench._pushed import NOT_NAMED, Pushed
from bench._scored import placed, read_case
from bench.cases import _line, counted, main, wilson
from halfsplit.diagnosis.result import Cause, Diagnosis, Suspect
from halfsplit.faults.both import both
from halfsplit.faults.catalogue import FAMILIES, enumerate_faults
from halfsplit.faults.fault import Fault
from halfsplit.wiring.layout import lay_out

KEYS = read_keys()
KEY = Key("r000", "identifiable", "figures", (
    Accepted(frozenset({"open joint"}), frozenset({frozenset({"N"})}), frozenset({"Porch"})),
))  # fmt: skip


def _fault(family: str, conductors: tuple[str, ...], *places: str) -> Fault:
    return Fault(f"{family} {conductors} {places}", family, conductors, places, (), 1e-3)


RIGHT = _fault("open joint", ("N",), "Porch")


def _diagnosis(none: float, *groups: tuple[float, tuple[Fault, ...]]) -> Diagnosis:
    suspects: list[Suspect] = []
    causes: list[Cause] = []
    for probability, faults in groups:
        members = tuple(Cause(f, probability / len(faults), (), 0.0) for f in faults)
        causes += members
        places = tuple(dict.fromkeys(p for f in faults for p in f.places))
        suspects.append(
            Suspect(faults[0].family, faults[0].conductors, places, probability, members, "")
        )
    return Diagnosis(tuple(suspects), tuple(causes), 0, none, (), (), (), (), 0, False)


@pytest.mark.parametrize(
    ("fault", "right", "there"),
    [
        (RIGHT, True, True),
        (_fault("loose joint", ("N",), "Porch"), False, True),
        (_fault("open joint", ("L",), "Porch"), False, True),
        (_fault("open joint", ("N",), "Hall"), False, False),
        (_fault("broken core", ("N",), "Porch", "Hall"), False, False),
        (_fault("lead open", ()), False, False),
    ],
)
def test_family_conductors_and_zone_must_all_fit(fault: Fault, right: bool, there: bool) -> None:
    """A cause is right when all three fit; its place when all it concerns lies in the zone."""
    suspect = _diagnosis(0, (1.0, (fault,))).suspects[0]
    assert (KEY.right(suspect), KEY.there(suspect)) == (right, there)


def test_none_of_these_takes_a_rank_where_it_is_believed_more() -> None:
    """An answer that says "none of these" first has not found the cause first."""
    job = read_case("r001")
    groups = ((0.4, (RIGHT,)), (0.1, (_fault("open joint", ("L",), "Hall"),)))
    assert placed(KEY, job, (RIGHT,), _diagnosis(0.3, *groups)).rank == 1
    assert placed(KEY, job, (RIGHT,), _diagnosis(0.5, *groups)).rank == 2


def test_a_cause_is_ruled_out_only_by_an_answer_that_claims_to_be_complete() -> None:
    """Next to no belief in the cause is no exclusion while "none of these" is left open."""
    job = read_case("r001")
    other = (0.9, (_fault("open joint", ("L",), "Hall"),))
    assert placed(KEY, job, (RIGHT,), _diagnosis(0.01, other)).excluded
    assert not placed(KEY, job, (RIGHT,), _diagnosis(0.10, other)).excluded


def test_cause_outside_the_catalogue_is_counted_and_missed() -> None:
    """What the catalogue cannot say is a miss, not a case left out."""
    job = read_case("r001")
    wrong = _fault("open joint", ("L",), "Hall")
    scored = placed(KEY, job, (wrong,), _diagnosis(0.5, (0.5, (wrong,))))
    row = counted([scored])["identifiable"]
    assert scored.missed
    assert (row["cases"], row["not in the catalogue"], row["cause first"]["hits"]) == (1, 1, 0)


@pytest.mark.parametrize(
    ("hits", "total", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_gives_the_published_intervals(
    hits: int, total: int, low: float, high: float
) -> None:
    """Score intervals without continuity correction of R. G. Newcombe, Statistics in Medicine 17
    (1998), table I, method 3."""
    assert list(wilson(hits, total)) == pytest.approx([low, high], abs=6e-5)


def test_a_key_may_say_a_place_that_must_be_concerned_a_name_and_metal() -> None:
    """Of a zone one place may be needed; of faults alike, one named; metal is what has a name."""
    one = Accepted(
        frozenset({"short in cable"}), frozenset({frozenset({"L", "metal"})}),
        frozenset({"Board", "Porch"}), frozenset({"Porch"}), ("tray",),
    )  # fmt: skip
    for right, fault in (
        (True, _fault("short in cable", ("L", "Cable tray"), "Board", "Porch")),
        (False, _fault("short in cable", ("L", "Cable tray"), "Board")),
        (False, _fault("short in cable", ("L", "E"), "Board", "Porch")),
        (False, _fault("short in cable", ("L", "Tap"), "Board", "Porch")),
    ):
        assert one.fits(fault) is right


def test_two_faults_at_once_are_right_only_where_both_were_found() -> None:
    """A pair that adds a fault nobody found is not what was found."""
    other = _fault("open joint", ("L",), "Hall")
    twice = both(RIGHT, RIGHT, ("", ""), ())
    assert KEY.fits(twice)
    assert not KEY.fits(both(RIGHT, other, ("", ""), ()))


def test_keys_name_only_families_places_and_faults_that_there_are() -> None:
    """A misspelt family, place or name in a key would silently never be met."""
    families = {entry.id for entry in FAMILIES} | {"nothing wrong"}
    wrong = []
    for code, key in KEYS.items():
        installation = read_case(code).installation
        faults = enumerate_faults(installation, lay_out(installation))
        places = {place for fault in faults for place in fault.places}
        for one in key.accepted:
            named = not one.named or any(one.fits(fault) for fault in faults)
            unmet = set() if named else set(one.named)
            unmet |= (one.families - families) | (one.zone - places) | (one.at - one.zone)
            wrong += [f"{code}: {name}" for name in unmet]
    assert not wrong


def test_counts_of_a_few_cases_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """Counting one case would tell what was found in it, so blind counts need several."""
    with pytest.raises(SystemExit):
        main(["r001"])
    assert "counts of 1 are not blind: name 5 or more" in capsys.readouterr().err


def test_every_explained_miss_is_a_case_of_a_known_class() -> None:
    """An explanation under a misspelt code or class would never be read beside its miss."""
    explained = read_explained()
    assert explained.keys() <= KEYS.keys()
    assert all(kind in CLASSES and why.endswith(".") for kind, why in explained.values())


def test_an_unknown_class_of_miss_is_refused(tmp_path: Path) -> None:
    """The case whose explanation has a class of its own is named, with the classes there are."""
    (tmp_path / "missed.yaml").write_text("r000: {class: luck, why: None.}")
    with pytest.raises(ValueError, match=r'r000: class "luck" is none of form, missing'):
        read_explained(tmp_path)


def test_a_miss_that_nobody_looked_into_says_so() -> None:
    """The explanation stands under the reason by the figures, or that there is none yet."""
    wrong = _fault("open joint", ("L",), "Hall")
    scored = placed(KEY, read_case("r001"), (wrong,), _diagnosis(0.5, (0.5, (wrong,))))
    reason = Pushed(NOT_NAMED, "why by the figures")
    assert _line(scored, reason, {}).splitlines()[1:] == [
        "     why by the figures", "     not yet explained",
    ]  # fmt: skip
    told = _line(scored, reason, {scored.code: ("form", "It cannot be said.")})
    assert told.endswith("     form: It cannot be said.")
