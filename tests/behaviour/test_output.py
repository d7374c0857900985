"""What is seen of a lamp or an appliance at the voltage it has."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.behaviour import output
from halfsplit.behaviour.laws import KINDS, law
from halfsplit.behaviour.output import GLOW, WORKS
from halfsplit.errors import NotInTable
from halfsplit.network.ports import settle

LAMPS = ("filament", "led", "fluorescent", "neon", "electronics", "heater")


def _most(kind: str, volts: float, rated: float = 230.0, watts: float = 10.0) -> str:
    return GLOW[int(np.argmax(output.glow(kind, volts, rated, watts)))]


@pytest.mark.parametrize(
    ("volts", "word"),
    [
        (0.0, "off"),
        (10.0, "off"),
        (40.0, "glimmer"),
        (120.0, "dim"),
        (230.0, "normal"),
        (290.0, "bright"),
    ],
)
def test_a_filament_is_called_what_its_light_is(volts: float, word: str) -> None:
    """Off at 10 V, a glimmer at 40, dim at half, normal at rated, bright a quarter above.

    Source: light as V^3.4, from memory; the steps are judgement.
    """
    assert _most("filament", volts) == word


def test_an_led_glows_on_a_current_that_leaves_a_filament_dark() -> None:
    """Behind ten metres of switch cable an LED is seen to glow or flash, a filament never.

    Source: UK electrician's explanation, 73 µA through 10 m; mains LED lamps need tens of
    microamperes to glow (from memory); row 19 of the list of phenomena.
    """
    ghost = np.array([[1 / (2j * np.pi * 50 * 1e-9)]])[None]
    lit = {}
    for kind in ("led", "filament"):
        settled = settle(np.array([[230.0 + 0j]]), ghost, [law(kind, 5.0, 230.0)])
        assert abs(settled.i[0, 0]) < 75e-6
        lit[kind] = 1 - output.glow(kind, abs(settled.v[0, 0]), 230.0, 5.0)[0]
    assert lit["led"] > 0.5
    assert lit["filament"] < 1e-3


def test_led_glow_follows_microamperes_not_volts() -> None:
    """One microampere is dark on a mains lamp, ten may be seen, two hundred surely are.

    Source: from memory (tens of microamperes); an efficient bare LED glows at 1 µA (electronics
    blog), so its light at that is near nothing through a lamp's diffuser.
    """
    volts = np.linspace(1, 115, 20_000)
    amps = output.lamp_amps("led", volts, 230.0, 5.0)
    chance = 1 - output.glow("led", volts, 230.0, 5.0)[:, 0]
    at = [float(np.interp(i, amps, chance)) for i in (1e-6, 1e-5, 3e-5, 2e-4)]
    assert at[0] < 0.05
    assert 0.05 < at[1] < 0.5
    assert at[2] == pytest.approx(0.5, abs=0.01)
    assert at[3] > 0.9


def test_a_starved_led_may_be_called_flickering_a_filament_not() -> None:
    """Only lamps with electronics flash on a small current."""
    assert output.glow("led", 40.0, 230.0, 5.0)[GLOW.index("flicker")] > 0.1
    assert output.glow("filament", 40.0, 230.0, 60.0)[GLOW.index("flicker")] == 0.0


@given(kind=st.sampled_from(LAMPS), volts=st.lists(st.floats(0, 500), min_size=1, max_size=5))
def test_chances_of_words_add_to_one(kind: str, volts: list[float]) -> None:
    """Whatever the lamp and the voltage, the words share one whole, none negative."""
    for shares in (
        output.glow(kind, volts, 230.0, 20.0),
        output.works(kind, volts, 230.0),
    ):
        assert (shares >= 0).all()
        assert shares.sum(axis=-1) == pytest.approx(np.ones(len(volts)))


@given(kind=st.sampled_from(LAMPS), at=st.floats(0, 400), more=st.floats(0, 200))
def test_more_volts_never_make_darkness_or_death_likelier(
    kind: str, at: float, more: float
) -> None:
    """Off and dead become less likely as the voltage rises; bright and works more."""
    low, high = output.glow(kind, np.array([at, at + more]), 230.0, 20.0)
    assert high[0] <= low[0] + 1e-12
    assert high[GLOW.index("bright")] >= low[GLOW.index("bright")] - 1e-12
    worse, better = output.works(kind, np.array([at, at + more]), 230.0)
    assert better[WORKS.index("dead")] <= worse[WORKS.index("dead")] + 1e-12
    assert better[WORKS.index("works")] >= worse[WORKS.index("works")] - 1e-12


def test_electronics_work_where_a_heater_is_weak_and_a_motor_hums() -> None:
    """At two thirds of the voltage: electronics work, heaters are weak, a motor stalls.

    Electronics from 0.4 to 0.75 of rated is common practice; the rest judgement.
    """
    said = {
        k: WORKS[int(np.argmax(output.works(k, 150.0, 230.0)))]
        for k in ("electronics", "heater", "motor")
    }
    assert said == {"electronics": "works", "heater": "weak", "motor": "weak"}
    for share, word in ((0.35, "dead"), (0.8, "works")):
        assert WORKS[int(np.argmax(output.works("electronics", share * 230, 230.0)))] == word


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"nothing", "surge protector"}))
def test_everything_works_at_its_rated_volts_and_nothing_at_none(kind: str) -> None:
    """At rated volts it works; at 0 V it is dead; lamps are normal or off."""
    assert output.works(kind, 230.0, 230.0)[WORKS.index("works")] > 0.9
    assert output.works(kind, 0.0, 230.0)[WORKS.index("dead")] > 0.999
    if kind in LAMPS:
        assert (_most(kind, 0.0), _most(kind, 230.0)) == ("off", "normal")


def test_what_shows_nothing_says_so() -> None:
    """A surge protector neither works nor glows, and the message lists what does."""
    with pytest.raises(NotInTable, match="no row for surge protector; the table has heater"):
        output.works("surge protector", 230.0, 230.0)
    with pytest.raises(NotInTable, match="no row for torch"):
        output.glow("torch", 230.0, 230.0)
    assert output.glow("motor", 230.0, 230.0)[0] > 0.999
