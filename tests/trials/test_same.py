"""Which causes are one is worked out from what the simulator shows, not from their names."""

from __future__ import annotations

import math

from bench._trial_same import Sameness, alike, fitted, on_site
from bench._trial_spice import Simulator
from halfsplit.faults.catalogue import enumerate_faults
from halfsplit.form import read_job
from halfsplit.wiring.effects import Added, Bridged, LoadChange
from tests.trials.test_truth import SHED, site


def test_both_ends_of_a_core_and_the_core_are_one(ngspice: str) -> None:
    """A break in a core, at its joint before or at its joint behind shows the same everywhere."""
    with Simulator() as simulator:
        made = site(SHED, simulator, Added("core Bench–Winch N", math.inf))
        sameness = Sameness(made)
        assert sameness.same((Added("joint Bench N Bench–Winch", math.inf),))
        assert sameness.same((Added("joint Winch N Bench–Winch", math.inf),))


def test_a_break_elsewhere_is_another(ngspice: str) -> None:
    """The same conductor open one run earlier, or another conductor open, can be told apart."""
    with Simulator() as simulator:
        made = site(SHED, simulator, Added("core Bench–Winch N", math.inf))
        sameness = Sameness(made)
        assert not sameness.same((Added("core Board–Bench N", math.inf),))
        assert not sameness.same((Added("core Bench–Winch L", math.inf),))
        assert not sameness.same(())


def test_a_tired_joint_is_not_an_open_one(ngspice: str) -> None:
    """Three ohms at a joint are not a break there, and are the same as three ohms in its core."""
    with Simulator() as simulator:
        made = site(SHED, simulator, Added("joint Winch L Bench–Winch", 3.0))
        assert not Sameness(made).same((Added("joint Winch L Bench–Winch", math.inf),))
        assert Sameness(made).same((Added("core Bench–Winch L", 3.0),))


def test_an_appliance_switched_off_is_not_nothing(ngspice: str) -> None:
    """A lamp that draws nothing changes no voltage that a meter would see, but it is seen dark."""
    with Simulator() as simulator:
        made = site(SHED, simulator, LoadChange("Bench/LED", ""))
        assert not Sameness(made).same(())


def test_a_suspect_is_compared_at_the_true_size(ngspice: str) -> None:
    """A grid step of 3 Ω stands for 4.2 Ω where that is what the joint truly has."""
    with Simulator() as simulator:
        made = site(SHED, simulator, Added("joint Winch L Bench–Winch", 4.2))
        faults = {f.id: f for f in enumerate_faults(read_job(SHED).installation, made.parts.plan)}
        loose = faults["loose joint: joint Winch L Bench–Winch"]
        step = next(s.name for s in loose.severities if "3 Ω" in s.name)
        effects = fitted(loose, step, made.wrong.effects)
        assert effects == made.wrong.effects


def test_outcomes_are_one_within_a_quarter_of_what_a_reading_resolves() -> None:
    """0.5 V of 230 V cannot be told apart, 2 V can; words only when they are the same."""
    assert alike(("volts", 230.0), ("volts", 230.5), 230.0)
    assert not alike(("volts", 230.0), ("volts", 232.0), 230.0)
    assert alike(("ohms", math.inf), ("ohms", 5e3), 230.0)
    assert not alike(("ohms", 0.30), ("ohms", 0.35), 230.0)
    assert not alike(("word", "holds"), ("word", "at once"), 230.0)


def test_a_suspect_is_compared_in_the_names_of_the_site() -> None:
    """Where a point is missing from the description, its joint is another run's on the site."""
    alias = {"joint Winch N old": "joint Winch N new", "Winch.N:old": "Winch.N:new"}
    effects = (Added("joint Winch N old", 3.0), Bridged("Winch.N:old", "earth", 0.1))
    assert on_site(effects, alias) == (
        Added("joint Winch N new", 3.0), Bridged("Winch.N:new", "earth", 0.1)
    )  # fmt: skip
