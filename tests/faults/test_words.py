"""Trade words by region; keys never change."""

from __future__ import annotations

from dataclasses import replace

import pytest

from halfsplit.faults.catalogue import enumerate_faults, family
from halfsplit.faults.words import conductor_words, describe, joined, terminal_words, title_words
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import Region
from tests.faults.houses import american, house, radial


@pytest.mark.parametrize(
    ("key", "british", "american"),
    [
        ("L", "line", "hot"),
        ("L2", "line 2", "hot 2"),
        ("N", "neutral", "neutral"),
        ("E", "protective conductor", "equipment ground"),
        ("SL", "switched line", "switched hot"),
        ("T1", "strapper 1", "traveler 1"),
        ("PEN", "combined neutral and earth (PEN)", "service neutral"),
    ],
)
def test_conductors_have_their_regions_words(key: str, british: str, american: str) -> None:
    """A key is spoken as the region's trade speaks it."""
    assert conductor_words(key, "uk") == british
    assert conductor_words(key, "na") == american


def test_the_region_changes_words_and_nothing_else() -> None:
    """The same wiring in two regions has the same ids, conductors, effects and weights."""
    british = radial(3)
    other = replace(british, region="na")
    ours, theirs = (enumerate_faults(i, lay_out(i)) for i in (british, other))
    assert ours == theirs


@pytest.mark.parametrize(
    ("region", "sentence"),
    [
        (
            "uk",
            "The neutral joint at P2 is open: the neutral core of P1–P2 at P2 no longer meets the "
            "neutral terminal at P2.",
        ),
        (
            "na",
            "The neutral joint at P2 is open: the neutral core of P1–P2 at P2 no longer meets the "
            "neutral terminal at P2.",
        ),
    ],
)
def test_a_break_names_both_terminals(region: Region, sentence: str) -> None:
    """An open joint says which core end and which terminal have parted."""
    installation = replace(radial(3), region=region)
    faults = {f.id: f for f in enumerate_faults(installation, lay_out(installation))}
    fault = faults["open joint: joint P2 N P1–P2"]
    assert describe(fault, family(fault.family), installation) == sentence


@pytest.mark.parametrize(
    ("node", "said"),
    [
        ("Panel.N", "the neutral bar at Panel"),
        ("Panel.L1:way kitchen", "the hot 1 terminal of the way for kitchen at Panel"),
        ("Vanity.L:line", "the incoming hot terminal at Vanity"),
        ("Porch.E:front", "the front equipment ground contact at Porch"),
        ("Porch.N:Vanity–Porch", "the neutral core of Vanity–Porch at Porch"),
        ("Porch.N:splice", "the spliced neutral terminal at Porch"),
        ("origin.N", "the neutral terminal at the service"),
        ("earth", "the earth itself"),
    ],
)
def test_terminals_are_named_as_a_person_would(node: str, said: str) -> None:
    """Every kind of terminal has its own words."""
    assert terminal_words(node, "na", american()) == said


def test_a_bar_behind_a_device_is_named_by_it() -> None:
    """A group's bar says which device it stands behind."""
    said = terminal_words("Board.N:group light rcd", "uk", house())
    assert said == "the neutral bar behind light rcd at Board"


def test_a_place_with_dots_and_colons_keeps_its_name() -> None:
    """A place may be called anything: its own dots and colons are not separators."""
    odd = radial(1)
    point = replace(odd.circuits[0].points[0], name="No. 3: shed")
    odd = replace(odd, circuits=(replace(odd.circuits[0], points=(point,)),))
    said = terminal_words("No. 3: shed.L:front", "uk", odd)
    assert said == "the front line contact at No. 3: shed"


def test_lists_read_as_speech() -> None:
    """One, two, three; a word said twice is said once."""
    assert joined(("line",)) == "line"
    assert joined(("line", "neutral")) == "line and neutral"
    assert joined(("line", "neutral", "earth", "line")) == "line, neutral and earth"


def test_titles_change_with_the_region() -> None:
    """A title speaks of hot and ground in North America."""
    assert title_words(family("line to frame"), "uk") == "Line touches the frame"
    assert title_words(family("line to frame"), "na") == "Hot touches the frame"
    assert title_words(family("supply earth lost"), "na") == "Supply ground lost"
