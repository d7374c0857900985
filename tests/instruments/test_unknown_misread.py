"""Unknown instruments and slips as data: shares add up, and the flat remainder is a density."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.errors import NotInTable
from halfsplit.instruments.catalogue import INSTRUMENTS, instrument
from halfsplit.instruments.misread import SLIP_CHANCE, SLIPS, SPAN, anything_density, slips
from halfsplit.instruments.unknown import candidates

NUMBERS = ("volts", "ohms", "megohms", "loop", "amps", "ramp")


@pytest.mark.parametrize("region", ["uk", "eu", "na", "au"])
@pytest.mark.parametrize("kind", [*NUMBERS, "lamps", "glow", "proved dead"])
def test_the_shares_of_candidates_add_to_one(kind: str, region: str) -> None:
    """Whatever the kind of reading and the region, all weight is given, and only to the able."""
    found = candidates(kind, region=region)
    assert sum(share for _, share in found) == pytest.approx(1.0)
    assert all(share > 0 and kind in one.kinds for one, share in found)


def test_volts_from_an_unknown_meter_are_most_likely_a_multimeters() -> None:
    """A multimeter takes about six tenths, and every class down to a few kΩ is among the rest."""
    found = candidates("volts")
    assert max(found, key=lambda pair: pair[1])[0].id == "multimeter"
    assert min(one.r_in for one, _ in found) < 10e3
    assert sum(share for one, share in found if one.id == "multimeter") == pytest.approx(
        0.6, abs=0.02
    )


@pytest.mark.parametrize("id", sorted(INSTRUMENTS))
def test_a_known_instrument_stays_itself(id: str) -> None:
    """With an id only its own band is left, inside the band it states."""
    one = instrument(id)
    found = candidates(one.kinds[0], id)
    assert sum(share for _, share in found) == pytest.approx(1.0)
    for member, _ in found:
        assert member.id == id
        assert not one.r_high or one.r_low <= member.r_in <= one.r_high


def test_what_people_see_has_no_instrument() -> None:
    """No candidate for a touch or a smell; an unknown id says which there are."""
    assert candidates("touch") == ()
    with pytest.raises(NotInTable, match="no row for divining rod"):
        candidates("volts", "divining rod")


@pytest.mark.parametrize("kind", NUMBERS)
def test_the_chance_of_a_slip_is_one_to_three_per_cent(kind: str) -> None:
    """Whatever the kind, slips together take the stated chance, between 1 and 3 %."""
    assert 0.01 <= SLIP_CHANCE <= 0.03
    assert sum(chance for _, chance in slips(kind)) == pytest.approx(SLIP_CHANCE)


def test_slips_are_distinct_and_of_known_kinds() -> None:
    """Ids are unique, each kind has a flat remainder, and what is felt has no numeric slip."""
    assert len({slip.id for slip in SLIPS}) == len(SLIPS)
    for kind in NUMBERS:
        assert [s.id for s, _ in slips(kind) if s.how == "anything"] == ["anything"]
    assert slips("touch") == ()
    assert {slip.factor for slip in SLIPS} == {1.0, 10.0, 0.1, 1e3, 1e-3}


@pytest.mark.parametrize("kind", NUMBERS)
def test_the_flat_remainder_is_a_density(kind: str) -> None:
    """It integrates to one over its span and is nought outside."""
    low, high = SPAN[kind]
    x = np.geomspace(low, high, 20_001)
    density = anything_density(kind, np.clip(x, low, high))
    area = float(np.sum((density[1:] * x[1:] + density[:-1] * x[:-1]) / 2 * np.diff(np.log(x))))
    assert area == pytest.approx(1.0, abs=1e-6)
    assert anything_density(kind, np.array([low / 2, high * 2, 0.0, -1.0])).tolist() == [0.0] * 4


def test_leads_were_probably_nulled_and_if_not_read_high() -> None:
    """A continuity test most likely has nulled leads; otherwise they add tenths of an ohm."""
    nulled, forgotten = candidates("ohms", "continuity")
    assert (nulled[0].lead_ohms, nulled[1] > 0.5) == (0.0, True)
    assert 0.1 <= forgotten[0].lead_ohms <= 1.0


def test_a_two_pole_tester_is_rarer_in_north_america() -> None:
    """Region shifts which meter it may have been, and only that."""
    share = {
        region: sum(s for one, s in candidates("volts", region=region) if one.id == "two-pole")
        for region in ("uk", "na")
    }
    assert share["na"] < 0.7 * share["uk"]
