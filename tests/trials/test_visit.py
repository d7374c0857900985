"""What happens on a visit: looks, slips, first words, dangers."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

from bench._trial_danger import missed, truly_live
from bench._trial_looks import finds
from bench._trial_meters import Kit, Slips, draw_kit, trip_word
from bench._trial_spice import Simulator
from halfsplit.checks.check import Check
from halfsplit.diagnosis.result import Danger
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.faults.fault import Fault
from halfsplit.form import read_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, ReadingChange
from halfsplit.wiring.layout import lay_out
from tests.trials.test_truth import SHED, site

SHED_INSTALLATION = read_job(SHED).installation
SHED_PLAN = lay_out(SHED_INSTALLATION)
FAULTS = {f.id: f for f in enumerate_faults(SHED_INSTALLATION, SHED_PLAN)}
WINCH = Reading("v", "volts", "Winch.L:front", "Winch.N:front", instrument="multimeter",
                place="Winch")  # fmt: skip


def looked(kind: str, what: str, where: str, fault: Fault) -> float:
    """The chance that such a look finds the fault."""
    return finds(Check("x", kind, what, where), fault, SHED_PLAN)


def test_a_look_finds_what_is_at_its_place_alone() -> None:
    """An open joint is seen in its own box, seldom in a cable from its ends, nowhere else."""
    joint = FAULTS["open joint: joint Winch N Bench–Winch"]
    core = FAULTS["broken core: core Bench–Winch N"]
    assert looked("open", "Winch", "Winch", joint) > 0.8
    assert looked("open", "Bench", "Bench", joint) == 0.0
    assert 0 < looked("open", "Winch", "Winch", core) < 0.3
    assert looked("renew", "Bench–Winch", "Bench", core) == 1.0
    assert looked("remake", "Winch", "Winch", joint) == 1.0
    assert looked("devices", "devices and switches", "Board", joint) == 0.0


def test_devices_meters_and_appliances_are_found_where_they_are() -> None:
    """A device that stands off at a glance; a bad lead by proving it; an element elsewhere."""
    assert looked("devices", "devices and switches", "Board", FAULTS["device off: shed"]) > 0.9
    assert looked("meter", "the instrument", "", FAULTS["lead open: instrument"]) > 0.9
    assert looked("elsewhere", "Winch/heater", "Winch", FAULTS["load off: Winch/heater"]) > 0.9
    assert looked("elsewhere", "Bench/LED", "Bench", FAULTS["load off: Winch/heater"]) == 0.0
    assert looked("devices", "devices and switches", "Board", FAULTS["will not trip: shed"]) == 0.0


def kit(simulator: Simulator, slips: Slips, *effects: object) -> Kit:
    """An electrician in the shed."""
    return draw_kit(site(SHED, simulator, *effects), slips, "uk", Random(7))  # type: ignore[arg-type]


def test_a_figure_without_slips_is_what_is_there(ngspice: str) -> None:
    """The multimeter's figure lies within four of its sigmas of the simulator's volts."""
    with Simulator() as simulator:
        mine = kit(simulator, Slips(0.0))
        true = abs(mine.site.found(Conditions()).volts.between(WINCH.a, WINCH.b))
        shown = mine.take(WINCH).value
        assert shown is not None
        assert abs(shown - true) <= 4 * (0.008 * true + 0.15)


def test_slips_come_as_often_as_they_are_said_to(ngspice: str) -> None:
    """Of 400 figures with 3 % slips some 12 are off; none without."""
    with Simulator() as simulator:
        sure, slipping = kit(simulator, Slips(0.0)), kit(simulator, Slips(0.03))
        for _ in range(400):
            sure._slip(WINCH, 230.0)
            slipping._slip(WINCH, 230.0)
        assert sure.slipped == 0
        assert 4 <= slipping.slipped <= 24


def test_a_slip_of_the_range_may_repeat(ngspice: str) -> None:
    """With repeats certain, the figure after one ten times out is ten times out as well."""
    with Simulator() as simulator:
        mine = kit(simulator, Slips(0.0, repeats=1.0))
        mine.again["volts"] = 10.0
        assert mine._slip(WINCH, 23.0) == 230.0
        assert mine._slip(WINCH, 23.0) == 23.0


def test_an_open_lead_reads_next_to_nothing_and_a_clamp_does_not_care(ngspice: str) -> None:
    """A broken test lead: under a volt on a live socket; the clamp's amperes as they are."""
    with Simulator() as simulator:
        mine = kit(simulator, Slips(0.0), ReadingChange(("all",), "lead open"))
        assert (mine.take(WINCH).value or 0) < 2
        clamp = Reading("a", "amps", conductors=("core Board–Bench L",), instrument="clamp")
        assert (mine.take(clamp).value or 0) > 4


def test_over_range_is_said_so(ngspice: str) -> None:
    """Continuity along a broken core is over range, not a figure."""
    with Simulator() as simulator:
        mine = kit(simulator, Slips(0.0), Added("core Bench–Winch N", math.inf))
        asked = Reading("r", "ohms", "Board.N:way shed", "Winch.N:front", instrument="continuity",
                        conditions=Conditions(dead=True, unplugged=("all",)))  # fmt: skip
        taken = mine.take(asked)
    assert taken.bound == ">"
    assert taken.value == math.inf


def test_a_device_says_how_it_parted(ngspice: str) -> None:
    """A short parts it at once; sound, it holds."""
    with Simulator() as simulator:
        short = site(SHED, simulator, Bridged("Bench.L", "Bench.N", math.inf))
        assert trip_word(short.found(Conditions()), "shed") == "at once"
        assert trip_word(site(SHED, simulator).found(Conditions()), "shed") == "holds"


def test_a_neutral_pulled_up_by_a_load_is_truly_live(ngspice: str) -> None:
    """Beyond a broken neutral the heater lifts the neutral to the line; it is missed unless shown.

    Only a shock shown at that very conductor counts.
    """
    with Simulator() as simulator:
        made = site(SHED, simulator, Added("core Bench–Winch N", math.inf))
        live = list(truly_live(made))
        assert ("Winch", "N") in live
        assert not [x for x in live if x[0] in ("Bench", "Board")]
        assert list(truly_live(site(SHED, simulator))) == []
    known = frozenset(("Winch",))
    shown = Danger("Winch", "N", 230.0, 30.0, 0.5, "")
    assert missed([("Winch", "N")], (), known) == ("Winch.N",)
    assert missed([("Winch", "N")], (shown,), known) == ()
    assert missed([("Winch", "N")], (replace(shown, kind="heat"),), known) == ("Winch.N",)
