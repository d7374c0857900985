"""The trials' truth: its own, and right by hand."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from bench._trial_meters import dead_ohms
from bench._trial_net import Draw, Net, Wrong
from bench._trial_parts import EARTH, Shunt, Spreads, Wire, draw_parts
from bench._trial_site import Limits, Site, draw_limits, seconds
from bench._trial_spice import Simulator
from halfsplit.form import read_job
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged, Effect, StateChange
from halfsplit.wiring.layout import lay_out

ROOT = Path(__file__).resolve().parents[2]
AS_WRITTEN = Spreads(0, 0, 0, 0, 0, 0, 0)
SHED = """
region: uk
supply: TN-S 230 V
circuits:
  shed:
    device: B16 RCBO 30 mA
    run: [8 m, Bench, 10 m, Winch]
    plugged in: {Bench: LED 8 W, Winch: heater 1150 W}
"""


def site(text: str, simulator: Simulator, *effects: Effect) -> Site:
    """The site exactly as written but for the supply, with these effects."""
    inst = read_job(text).installation
    plan = lay_out(inst)
    parts = draw_parts(inst, plan, AS_WRITTEN, Random(4))
    return Site(parts, Wrong(effects), draw_limits(parts, Random(1)), {}, simulator)


def test_truth_is_worked_out_without_the_programs_solver() -> None:
    """What says the truth imports neither the solver nor the lowering, nor anything that does."""
    code = (
        "import sys, bench._trial_same, bench._trial_danger, bench._trial_draw\n"
        "own = ('halfsplit.network', 'halfsplit.wiring.lower', 'halfsplit.behaviour')\n"
        "print([m for m in sys.modules if m.startswith(own)])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_two_filaments_in_series_share_as_tungsten_does(ngspice: str) -> None:
    """After a lost neutral a 15 W and a 60 W lamp on 240 V do not stand at 192 and 48 V.

    By the law of the filament (current as V^0.54, from memory) the ratio of voltages is the ratio
    of watts to the power 1/0.54.
    """
    net = Net(50.0, [Wire("source", EARTH, "top", 1e-4, 0.0, 240 + 0j)])
    net.draws += [Draw("small", "top", "middle", "filament", 15.0, 120.0),
                  Draw("large", "middle", EARTH, "filament", 60.0, 120.0)]  # fmt: skip
    net.shunts.append(Shunt("middle", EARTH, 1e-13, 2e-12))  # a terminal is somewhere
    with Simulator() as simulator:
        volts = simulator.solve(net)
    ratio = abs(volts.between("top", "middle")) / abs(volts.at("middle"))
    assert ratio == pytest.approx(4 ** (1 / 0.54), rel=0.01)


@pytest.mark.parametrize(("ohms", "shown"), [(10e6, 108.5), (200e3, 14.4), (5e3, 0.36)])
def test_a_floating_core_reads_as_its_capacitances_divide(
    ngspice: str, ohms: float, shown: float
) -> None:
    """10 m of floating neutral with 100 pF/m either way on 230 V, 50 Hz: 115 V behind 2 nF.

    By hand: |v| = 115 / |1 + 1/(jwC R)| with C = 2 nF; 10 MΩ is taken with 100 pF beside it.
    """
    net = Net(50.0, [Wire("source", EARTH, "line", 1e-4, 0.0, 230 + 0j)])
    net.shunts += [Shunt("line", "neutral", 0.0, 1e-9), Shunt("neutral", EARTH, 0.0, 1e-9)]
    farads = 100e-12 if ohms > 1e6 else 0.0
    net.shunts.append(Shunt("neutral", EARTH, 1 / ohms, farads))
    with Simulator() as simulator:
        volts = abs(simulator.solve(net).at("neutral"))
    omega = 2 * math.pi * 50
    y = 1 / ohms + 1j * omega * farads
    assert volts == pytest.approx(115 / abs(1 + y / (1j * omega * 2e-9)), rel=1e-4)
    assert volts == pytest.approx(shown, rel=0.02)


def test_a_lost_combined_conductor_lifts_everything_earthed(ngspice: str) -> None:
    """1 kW at 230 V on a 20 Ω electrode with the combined conductor gone: U Re/(Re + U²/P) = 63 V.

    The formula and its figure are a wiring handbook's worked example of the lost conductor.
    """
    text = SHED.replace("TN-S", "TN-C-S").replace("heater 1150 W", "heater 1000 W")
    with Simulator() as simulator:
        lost, rod = Added("service PEN", math.inf), Bridged("Board.E", EARTH, 1 / 20)
        made = site(text, simulator, lost, rod, StateChange("shed", "will not trip"))
        volts = made.found(Conditions()).volts
        u = abs(volts.between("origin.L", "source.N"))
        assert abs(volts.at("Winch.E")) == pytest.approx(
            u * 20 / (20 + 230**2 / 1000 + 5), rel=0.03
        )


def test_cores_have_the_resistance_of_their_copper(ngspice: str) -> None:
    """18 m of 2.5 mm² and back, linked at the board: R1+R2 of 2.5/1.5 is 19.51 mΩ/m, 0.35 Ω.

    The figure per metre is IEC 60228's 7.41 + 12.1 mΩ/m.
    """
    with Simulator() as simulator:
        made = site(SHED, simulator)
        apart = Conditions(dead=True, unplugged=("all",),
                           links=(("Board.L:way shed", "Board.E"),))  # fmt: skip
        asked = Reading("r", "ohms", "Winch.L:front", "Winch.E:front", conditions=apart)
        shown = dead_ohms(made, asked, instrument("continuity"))
    assert shown == pytest.approx(18 * 19.51e-3, abs=0.06)


def test_a_short_parts_its_breaker_and_leaves_the_circuit_dead(ngspice: str) -> None:
    """Line to neutral at the first point: hundreds of amperes, at once, then nothing beyond."""
    with Simulator() as simulator:
        made = site(SHED, simulator, Bridged("Bench.L", "Bench.N", math.inf))
        found = made.found(Conditions())
        assert found.parted["shed"] < 0.1
        assert abs(found.volts.between("Winch.L", "Winch.N")) < 1.0


def test_a_leak_parts_a_residual_device_and_a_smaller_one_does_not(ngspice: str) -> None:
    """230 V over 4 kΩ is 58 mA, over 40 kΩ is 6 mA: a 30 mA device trips on the first alone."""
    with Simulator() as simulator:
        leaking = site(SHED, simulator, Bridged("Winch.L", "Winch.E", 1 / 4e3))
        assert "shed" in leaking.found(Conditions()).parted
        damp = site(SHED, simulator, Bridged("Winch.L", "Winch.E", 1 / 40e3))
        assert not damp.found(Conditions()).parted


@pytest.mark.parametrize(
    ("through", "leak", "least", "most"),
    [(100.0, 0.0, 0.0, 0.1), (41.0, 0.0, 1.0, 60.0), (10.0, 0.0, math.inf, math.inf),
     (0.0, 0.05, 0.0, 0.1)],
)  # fmt: skip
def test_devices_part_as_their_standard_says(
    through: float, leak: float, least: float, most: float
) -> None:
    """A B16 with 30 mA: at once at 100 A, within a minute at 2.55 times, never at its load.

    IEC 60898-1 gives 1 s to 60 s at 2.55 times the rating (from memory).
    """
    assert least <= seconds(Limits(64.0, 20.0, 0.024), 16.0, through, leak) <= most
