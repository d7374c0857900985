"""The sketch: every pattern reads, every button does what it says, nothing typed is dropped."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import BadInput, NotFound
from halfsplit.form.guide import EXAMPLES
from halfsplit.service import sketch, sketch_rows, written

EXAMPLES_BY = {title: text for title, _, text in EXAMPLES}
BASE: dict[str, Any] = {"title": "Mill", "region": "uk"}


@pytest.mark.parametrize("pattern", list(sketch.patterns_for(("L",))))
def test_every_pattern_reads(pattern: str) -> None:
    """A circuit drawn in any pattern is a form that reads, with as many places as asked for."""
    wiring = sketch.new_circuit(BASE, pattern, 5, "B16", "")
    job = written.check_wiring(wiring)
    wanted = {"feeds": 1, "board": 0}.get(pattern, 5)
    kinds = [p for p in job.installation.points() if p.kind != "switch"]
    assert len(kinds) == wanted
    drawn = sketch.drawn_circuits(wiring)[0]
    assert drawn.pattern == ("run" if pattern == "board" else pattern)
    assert len(drawn.places) == (1 if pattern in sketch.ONE_PLACE else 5)


@given(
    st.sampled_from(["run", "ring", "lighting", "points"]),
    st.integers(1, 6),
    st.lists(st.tuples(st.sampled_from(["up", "down", "remove", "after", "spur", "end"]),
                       st.integers(0, 7)), max_size=8),
)  # fmt: skip
def test_buttons_never_spoil_the_sketch(
    pattern: str, count: int, presses: list[tuple[str, int]]
) -> None:
    """Whatever is pressed, the sketch reads, keeps its pattern, and rows say what the form says."""
    wiring = sketch.new_circuit(BASE, pattern, count, "B16", "")
    for what, row in presses:
        drawn = sketch.drawn_circuits(wiring)[0]
        try:
            wiring, renamed = sketch.change(wiring, drawn, f"{what} {row}")
        except BadInput:
            continue
        assert renamed == {}
    written.check_wiring(wiring)
    drawn = sketch.drawn_circuits(wiring)[0]
    assert drawn.pattern == pattern
    again, _ = sketch.change(wiring, drawn)
    assert again == wiring


def test_details_that_rows_do_not_show_are_kept() -> None:
    """History, access, legs and a device written in full survive a row being renamed."""
    wiring, _ = written.imported(
        """region: uk
circuits:
  store:
    device: {kind: rcbo, rating: 20 A, residual: 30 mA}
    history: [water]
    run: [8 m, Scales, 4 m, Fan]
    points: {Fan: {kind: appliance, access: loft}}
    plugged in: {Scales: [electronics, LED 5 W]}
""",
        "the form",
    )
    drawn = sketch.drawn_circuits(wiring)[0]
    places = (replace(drawn.places[0], name="Till"), drawn.places[1])
    made, renamed = sketch.change(wiring, replace(drawn, places=places))
    assert renamed == {"Scales": "Till"}
    circuit = made["circuits"]["store"]
    assert circuit["device"]["residual"] == "30 mA"
    assert circuit["history"] == ["water"]
    assert circuit["points"]["Fan"] == {"kind": "appliance", "access": "loft"}
    assert circuit["plugged in"] == {"Till": ["electronics", "LED 5 W"]}
    written.check_wiring(made)


def test_what_rows_cannot_say_is_left_alone() -> None:
    """A circuit in longhand is marked as written, and is not touched by changing another."""
    wiring, _ = written.imported(
        """circuits:
  feeder: {runs: [{from: Board, to: Hall, length: 5 m, cores: [L 2.5, N 2.5, E 1.5]}],
           points: {Hall: socket}}
  plain: {run: [Shed]}
""",
        "the form",
    )
    first, second = sketch.drawn_circuits(wiring)
    assert not first.plain
    made, _ = sketch.change(wiring, replace(second, device="B6"))
    assert made["circuits"]["feeder"] == wiring["circuits"]["feeder"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": ""}, "a name that no other circuit has"),
        ({"places": (sketch_rows.Place(""),)}, "a name for the place"),
        ({"places": (sketch_rows.Place("5 m"),)}, "a name that is not a length"),
        (
            {"places": (sketch_rows.Place("A"), sketch_rows.Place("A"))},
            "a name that no other place has",
        ),
    ],
)
def test_a_wrong_row_is_refused(change: dict[str, Any], said: str) -> None:
    """A row without a usable name is refused with the reason, before anything is kept."""
    wiring = sketch.new_circuit(BASE, "run", 2, "", "")
    drawn = replace(sketch.drawn_circuits(wiring)[0], **change)
    with pytest.raises(BadInput, match=said):
        sketch.change(wiring, drawn)


def test_a_wrong_pattern_or_number_is_refused() -> None:
    """A pattern nobody offers and a number out of reach are refused with what is offered."""
    with pytest.raises(BadInput, match="run, ring, lighting"):
        sketch.new_circuit(BASE, "web", 3, "", "")
    with pytest.raises(BadInput, match="1 to 40"):
        sketch.new_circuit(BASE, "run", 41, "", "")
    with pytest.raises(NotFound, match='no circuit "x"'):
        sketch.change(BASE, sketch_rows.Drawn("x", "run", was="x"))


SPLIT: dict[str, Any] = {"title": "Annexe", "region": "na", "supply": "split phase 120/240 V"}


def test_a_neutral_is_shared_by_two_lines() -> None:
    """A pair of lines with one neutral is drawn by touch; each point has its line, and keeps it."""
    wiring = sketch.new_circuit(SPLIT, "pair", 4, "20 A breaker", "")
    inst = written.check_wiring(wiring).installation
    assert [leg for _, leg in inst.circuits[0].legs] == ["L1", "L2"]
    drawn = sketch.drawn_circuits(wiring)[0]
    assert [place.leg for place in drawn.places] == ["L1", "L2", "L1", "L2"]
    swapped = (replace(drawn.places[0], leg="L2"), *drawn.places[1:])
    made, _ = sketch.change(wiring, replace(drawn, places=swapped))
    assert made["circuits"]["Circuit 1"]["points"]["Point 1"] == {"leg": "L2"}
    written.check_wiring(made)


def test_one_line_shares_its_neutral_with_nobody() -> None:
    """On a single phase no pair of lines is offered, and asking for one says what is."""
    with pytest.raises(BadInput, match="run, ring, lighting"):
        sketch.new_circuit(BASE, "pair", 4, "B16", "")


def test_a_board_further_on_feeds_its_own_circuits() -> None:
    """A second board by touch, a circuit from it, the board renamed: everything follows."""
    wiring = sketch.new_circuit({**SPLIT, "board": {"main": "switch 100 A"}}, "run", 2, "", "")
    wiring = sketch.new_circuit(wiring, "board", 8, "40 A breaker", "", "annexe feed")
    assert sketch.boards_in(wiring) == ("Board", "Board 2")
    wiring = sketch.new_circuit(wiring, "run", 2, "15 A breaker", "", "bench", "Board 2")
    drawn = sketch.drawn_circuits(wiring)[1]
    places = (replace(drawn.places[0], name="Annexe panel"),)
    made, renamed = sketch.change(wiring, replace(drawn, places=places))
    assert renamed == {"Board 2": "Annexe panel"}
    inst = written.check_wiring(made).installation
    assert [(b.name, b.fed_by) for b in inst.boards] == [
        ("Board", ""),
        ("Annexe panel", "annexe feed"),
    ]
    assert inst.circuits[2].board == "Annexe panel"
    assert made["boards"]["Board"] == {"main": "switch 100 A"}


def test_a_board_in_use_is_not_dropped() -> None:
    """The circuit that feeds a board stays while others start there; then both can go."""
    wiring = sketch.new_circuit(SPLIT, "board", 1, "40 A breaker", "", "feed")
    wiring = sketch.new_circuit(wiring, "run", 2, "", "", "bench", "Board 2")
    feed, bench = sketch.drawn_circuits(wiring)
    with pytest.raises(BadInput, match='Drop "bench" first'):
        sketch.change(wiring, feed, "drop circuit")
    wiring, _ = sketch.change(wiring, bench, "drop circuit")
    wiring, _ = sketch.change(wiring, feed, "drop circuit")
    assert sketch.boards_in(wiring) == ("Board",)
    with pytest.raises(BadInput, match="Board"):
        sketch.new_circuit(wiring, "run", 2, "", "", "bench", "Board 2")


def test_lines_and_boards_survive_other_changes() -> None:
    """A circuit's lines and board, written in the form, are still there after a row is renamed."""
    wiring, _ = written.imported(
        EXAMPLES_BY["Several boards and ways behind a shared device"], "form"
    )
    for drawn in sketch.drawn_circuits(wiring):
        again, _ = sketch.change(wiring, drawn)
        assert again["circuits"] == wiring["circuits"]
