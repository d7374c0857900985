"""The divider of a free conductor and the path of the current, true to the circuit."""

from __future__ import annotations

import pytest

from halfsplit.report.ladder import length_words
from halfsplit.service import live, paths, story, written
from halfsplit.service.standing import Kept, Standing
from halfsplit.wiring.model import About

BENCH = """region: uk
supply: TN-S 230 V
circuits:
  bench:
    device: B16
    run: [8 m, Bench, 4 m, Shelf, 5 m, Desk]
    plugged in: {Shelf: electronics, Desk: electronics}
readings:
  - {at: Bench, L-E: 231, N-E: 0.4, by: multimeter}
  - {at: Desk, L-E: 116, N-E: 112, by: multimeter}
"""


def standing_of(text: str) -> Standing:
    wiring, entries = written.imported(text, "the form")
    kept = tuple(Kept(f"r{k}", entry, "", "") for k, entry in enumerate(entries, 1))
    return Standing(wiring=wiring, kept=kept)


def test_a_divider_gives_what_the_solver_found() -> None:
    """A free protective conductor between equal filters stands at half the supply, and the parts
    named in the sentence give that figure by themselves."""
    found = story.dividers(standing_of(BENCH))
    assert len(found) == 1
    assert found[0].gives == pytest.approx(found[0].solved, rel=0.02)
    assert found[0].solved == pytest.approx(115, rel=0.06)
    assert "joined to nothing by copper" in found[0].says
    assert "towards the line at 230 V" in found[0].says
    assert "the filter of electronics at Desk" in found[0].says


def test_another_circuit_has_another_divider() -> None:
    """An appliance taken out of the circuit is gone from the words."""
    found = story.dividers(standing_of(BENCH.replace(", Desk: electronics", "")))
    assert "the filter of electronics at Shelf" in found[0].says
    assert "electronics at Desk" not in found[0].says


def test_the_path_goes_out_by_the_line_and_back_another_way() -> None:
    """From the line down to the meter, and from its other lead back up by what still holds."""
    route = paths.routes(standing_of(BENCH), only="r4")[0]
    ways = {(leg.key, leg.down) for leg in route.legs}
    assert ("L", True) in ways
    assert ("N", False) in ways
    assert set(route.ends) == {("Desk", "N"), ("Desk", "E")}
    assert any("filter" in words for _, words in route.passes)
    assert any(hop.startswith("through the filter") for hop in route.hops)


@pytest.mark.parametrize("earthing", ["TN-S", "TN-C-S"])
def test_a_path_is_told_in_the_order_it_is_gone(earthing: str) -> None:
    """Every path begins at the supply's line and ends at the supply, whatever leads back."""
    for route in paths.routes(standing_of(BENCH.replace("TN-S", earthing))):
        assert route.hops[0].startswith("line, the transformer to ")
        assert route.hops[-1].endswith(" to the transformer")


def test_the_oddest_reading_is_drawn_first() -> None:
    """The current drawn when nobody asks for one is that of the reading that moved most."""
    scene = live.scene(standing_of(BENCH))
    assert paths.strangest(scene.answer.compared) in ("r3", "r4")


def test_a_drop_of_a_few_volts_has_no_path() -> None:
    """Between two held conductors a volt is a drop along copper; no path is made up for it."""
    assert [route.id for route in paths.routes(standing_of(BENCH))] == ["r1", "r3", "r4"]


@pytest.mark.parametrize(
    ("value", "spread", "words"),
    [(10.668, 0.0, "35 ft"), (6.096, 0.2, "about 20 ft"), (1.9, 0.0, "6.2 ft"),
     (5.0, 0.9, "length unknown")],
)  # fmt: skip
def test_lengths_in_feet(value: float, spread: float, words: str) -> None:
    """North American lengths are said in feet (1 ft is 0.3048 m exactly, by its definition)."""
    assert length_words(About(value, spread), "na") == words
