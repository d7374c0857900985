"""The sketch: every pattern reads, every button does what it says, nothing typed is dropped."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.errors import BadInput, NotFound
from halfsplit.service import jobs, sketch

BASE: dict[str, Any] = {"title": "Mill", "region": "uk"}


@pytest.mark.parametrize("pattern", list(sketch.PATTERNS))
def test_every_pattern_reads(pattern: str) -> None:
    """A circuit drawn in any pattern is a form that reads, with as many places as asked for."""
    wiring = sketch.new_circuit(BASE, pattern, 5, "B16", "")
    job = jobs.check_wiring(wiring)
    wanted = 1 if pattern == "feeds" else 5
    kinds = [p for p in job.installation.points() if p.kind != "switch"]
    assert len(kinds) == wanted
    drawn = sketch.drawn_circuits(wiring)[0]
    assert drawn.pattern == pattern
    assert len(drawn.places) == wanted


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
    jobs.check_wiring(wiring)
    drawn = sketch.drawn_circuits(wiring)[0]
    assert drawn.pattern == pattern
    again, _ = sketch.change(wiring, drawn)
    assert again == wiring


def test_details_that_rows_do_not_show_are_kept() -> None:
    """History, access, legs and a device written in full survive a row being renamed."""
    wiring, _ = jobs.imported(
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
    jobs.check_wiring(made)


def test_what_rows_cannot_say_is_left_alone() -> None:
    """A circuit in longhand is marked as written, and is not touched by changing another."""
    wiring, _ = jobs.imported(
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
        ({"places": (sketch.Place(""),)}, "a name for the place"),
        ({"places": (sketch.Place("5 m"),)}, "a name that is not a length"),
        ({"places": (sketch.Place("A"), sketch.Place("A"))}, "a name that no other place has"),
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
        sketch.change(BASE, sketch.Drawn("x", "run", was="x"))
