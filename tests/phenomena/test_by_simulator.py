"""Rows 1, 5, 8, 11 and 13 against a separate circuit simulator with netlists of our own."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfsplit.wiring.effects import Added, Bridged
from tests.phenomena.rows import row, stiff
from tests.phenomena.site import METER, clamp, made, three, volts
from tests.phenomena.spice import HOLD, solve
from tests.phenomena.test_line_and_earth import frames, unearthed
from tests.phenomena.test_residual import PLAIN, SENSES, on, shared
from tests.phenomena.test_supply import LEGS, combined, lost, two_legs, watts

pytestmark = pytest.mark.outside
COPPER = {1.0: 18.1e-3, 1.5: 12.1e-3, 2.5: 7.41e-3, 6.0: 3.08e-3, 16.0: 1.15e-3}  # Ω/m, IEC 60228


@pytest.mark.parametrize(("one", "two"), [(144.0, 72.0), (333.33, 500.0), (25.0, 400.0)])
@pytest.mark.parametrize("neutral", [1e9, 10.0, 1.0, 0.001])
def test_row_5_legs_by_simulator(
    ngspice: str, tmp_path: Path, one: float, two: float, neutral: float
) -> None:
    """Split phase, neutral from sound to lost: both legs agree within 1 % with two sources,
    two resistors and the neutral's ohms between (ngspice)."""
    lines = [
        "v1 a 0 ac 120 0", "v2 b 0 ac 120 180", f"r1 a n {one}", f"r2 b n {two}",
        f"rn n 0 {neutral}", "rw a b 115.2",
    ]  # fmt: skip
    asked = solve(ngspice, tmp_path, lines, ["v(a,n)", "v(b,n)"], 60.0)
    s = two_legs(watts(one), watts(two))
    fault = lost(s) if neutral > 1e6 else made(Added("service N", neutral))
    assert s.shows(*LEGS, fault=fault) == pytest.approx(asked, rel=0.01)


@pytest.mark.parametrize("electrode", [1.0, 20.0, 200.0])
@pytest.mark.parametrize("load", [100.0, 1000.0, 7000.0])
@pytest.mark.parametrize("source", [0.001, 5.0])
def test_row_8_rise_by_simulator(
    ngspice: str, tmp_path: Path, electrode: float, load: float, source: float
) -> None:
    """Combined conductor lost: load with 0.11 Ω of contacts, cord and poles, both electrodes;
    the rise of everything earthed agrees within 1 % (ngspice)."""
    ohms = 230.0**2 / load + 0.11
    lines = ["v1 l s ac 230 0", f"rs s 0 {source}", f"rload l e {ohms}", f"re e 0 {electrode}"]
    rise, left = solve(ngspice, tmp_path, lines, ["v(e)", "v(l,e)"], 50.0)
    s = combined(electrode, load, source)
    shown = s.shows(
        volts("Board.E", "earth"), three("One")[0], fault=s.fault("combined conductor lost")
    )
    assert shown == pytest.approx([rise, left], rel=0.01)


@pytest.mark.parametrize("bridge", [0.001, 0.1, 1.0, 10.0])
def test_row_11_residual_by_simulator(ngspice: str, tmp_path: Path, bridge: float) -> None:
    """Neutral-earth contact in one circuit while an oven runs on another: the residual current of
    the first agrees within 2 % with eight resistors of copper and joints (ngspice)."""
    joint, pole = 0.003, 0.004
    branch_n = 10.0 * COPPER[2.5] + 4 * joint + pole  # lounge's neutral back to the board
    branch_e = 10.0 * COPPER[1.5] + 4 * joint
    oven = 230.0**2 / 2000.0
    # The oven's line and neutral, to the board's bars: cable, joints, contacts, cord, poles.
    way = 7.0 * COPPER[6.0] + 2 * joint + 0.01 + 0.03
    lines = [
        "v1 sl sn ac 230 0", "rse sn 0 5",
        f"rl sl bl {0.12 + joint + pole}",
        f"rn sn bn {0.08 + joint + pole}",
        f"re sn be {0.25 + joint}",
        f"roven bl bn {oven + 2 * way + 3 * pole}",
        f"rbn bn ln {branch_n}",
        f"rbe be le {branch_e}",
        "vprobe ln lx ac 0",
        f"rb lx le {bridge}",
    ]  # fmt: skip
    amps = solve(ngspice, tmp_path, lines, ["i(vprobe)"], 50.0)[0]
    s = shared(PLAIN)
    fault = made(Bridged("Lounge.N", "Lounge.E", 1 / bridge))
    assert s.shows(clamp(*SENSES, when=on(s, "Oven")), fault=fault)[0] == pytest.approx(
        amps, rel=0.02
    )


@pytest.mark.parametrize("length", [3.0, 10.0, 60.0])
@pytest.mark.parametrize("meter", [10e6, 200e3, 5e3])
def test_row_1_ghost_by_simulator(
    ngspice: str, tmp_path: Path, length: float, meter: float
) -> None:
    """A free neutral in flat cable between line and earth: 40 and 120 pF/m (published pair of
    100 pF/m), a meter across; the figures agree within 3 % (ngspice)."""
    lines = [
        "v1 l 0 ac 230 0", f"c1 l n {40e-12 * length}", f"c2 n 0 {120e-12 * length + 8e-12}",
        f"rh n 0 {HOLD}", f"rm l n {meter}",
    ]  # fmt: skip
    shown = solve(ngspice, tmp_path, lines, ["v(l,n)"], 50.0)[0]
    s = row("uk", (10.0, 10.0, length), supply=stiff(230.0))
    fault = s.fault("open joint", "joint Two N", "One–Two")
    read = s.metered("Three.L:front", "Three.N:front", meter, fault)
    assert read == pytest.approx(shown, rel=0.03, abs=0.3)


@pytest.mark.parametrize("count", [1, 10])
@pytest.mark.parametrize("region", ["uk", "na"])
def test_row_13_frame_by_simulator(ngspice: str, tmp_path: Path, count: int, region: str) -> None:
    """A frame between two filter capacitors, meter from frame to neutral: within 4 % (ngspice)."""
    u, hertz, pair = (230.0, 50.0, 120e-12) if region == "uk" else (120.0, 60.0, 80e-12)
    farads = count * 4.7e-9 + 3.0 * pair
    strays = 3.0 * 25e-12 + 1e-11
    lines = [
        f"v1 l 0 ac {u} 0", f"c1 l f {farads}", f"c2 f 0 {farads + strays}", f"rh f 0 {HOLD}",
        "rm f 0 10meg", "cm f 0 100p",
    ]  # fmt: skip
    shown = solve(ngspice, tmp_path, lines, ["v(f)"], hertz)[0]
    s = frames(region, 3.0, count)
    port = volts("Three.E:front", "Three.N:front", METER)
    assert s.shows(port, fault=unearthed(s))[0] == pytest.approx(shown, rel=0.04)
