"""The route diagnosis takes, against 50 digits (mpmath), where doubles are hardest put.

How the oracle was made: see ``exact`` and ``circuit``. What hangs is held by as little as 1e-12 S
of insulation or 10 pF of cable; conductors are opened, tired, shorted, changed over, cut off and
opened twice. A voltage agrees when it is within a microvolt.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from halfsplit.diagnosis.encoded import encode
from halfsplit.diagnosis.scene import build_scene
from halfsplit.network import V, changes_of, solve_guarded
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.effects import Added, Bridged
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.model import About, Installation
from halfsplit.wiring.plan import Plan
from tests.oracles.circuit import GROUND, make
from tests.oracles.exact import Exact
from tests.oracles.installations import EVERY
from tests.oracles.route import ports_to_try, present_nodes, tell
from tests.oracles.troubles import LIVE, Trouble, troubles

VOLT = 1e-6
TESTER_VOLTS, TESTER_OHMS = 250.0, 250e3  # an insulation tester: 1 mA into a short (IEC 61557-2)
ALL_OUT = Conditions(dead=True, unplugged=("all",))
LIVE_OUT = Conditions(unplugged=("all",))
HARD = (
    "short radial, TN-S",
    "branches from a joint box",
    "ring with a spur",
    "ceiling loop",
    "shared neutral",
    "sub-board, TT",
    "unearthed supply, IT",
)
each = pytest.mark.parametrize("name", EVERY)
hard = pytest.mark.parametrize("name", HARD)


def faint(installation: Installation, siemens: float, farads: float) -> Installation:
    """The same with every run's cores held to each other by this little, whatever its length."""
    circuits = tuple(
        replace(
            circuit,
            runs=tuple(
                replace(
                    run,
                    capacitance=About(farads / run.length.value),
                    insulation=About(run.length.value / siemens),
                )
                for run in circuit.runs
            ),
        )
        for circuit in installation.circuits
    )
    return replace(installation, circuits=circuits)


def twice(plan: Plan) -> list[Trouble]:
    """One conductor hit twice: the same joint, and two joints of one core's way."""
    landed = [e for e in plan.elements if e.kind == "joint" and e.run]
    keys = {e.conductor for e in landed}
    joints = [e for e in landed if e.conductor == ("N" if "N" in keys else "E")]
    core = next(e for e in plan.elements if e.kind == "core" and e.conductor.startswith("L"))
    first, last = joints[0], joints[-1]
    return [
        Trouble("tired twice", (Added(first.id, 5.0), Added(first.id, 7.0))),
        Trouble("open twice", (Added(first.id, math.inf), Added(first.id, math.inf))),
        Trouble("tired, then open", (Added(last.id, 40.0), Added(last.id, math.inf))),
        Trouble("first and last open", (Added(first.id, math.inf), Added(last.id, math.inf))),
        Trouble("core and joint open", (Added(core.id, math.inf), Added(joints[1].id, math.inf))),
        Trouble(
            "open and hardly held",
            (
                Added(last.id, math.inf),
                Bridged(last.a, GROUND, 1e-12),
            ),
        ),
    ]


def some(plan: Plan, name: str) -> list[Trouble]:
    """Of the drawn ones: opens, a tired joint, a short, a leak, crossed, cut off, cut twice."""
    drawn = troubles(plan, name)
    return [*drawn[0:8:2], *drawn[-9::2], *twice(plan)]


def voltage_apart(plan: Plan, conditions: Conditions, faults: list[Trouble]) -> tuple[float, str]:
    """The voltage to true earth furthest from the exact one, over all nodes and faults."""
    pairs = [(node, GROUND) for node in present_nodes(plan, conditions)]
    told = tell(plan, conditions, faults, pairs)
    found = []
    for h, fault in enumerate(faults):
        solved = Exact(make(plan, conditions, fault.effects))
        got = np.array([told.volts(h, pair) for pair in pairs])
        apart = np.abs(got - np.array([solved.volts(*pair) for pair in pairs]))
        assert np.isfinite(apart).all(), fault.name
        k = int(np.argmax(apart))
        found.append((float(apart[k]), f"{fault.name}: {pairs[k][0]} {got[k]} V"))
    return max(found)


@each
def test_live_with_loads(name: str) -> None:
    """Live with every load drawing, every voltage is within a microvolt of 50 digits."""
    plan = lay_out(EVERY[name])
    apart, words = voltage_apart(plan, LIVE, some(plan, name)[::2])
    assert apart <= VOLT, words


@hard
@pytest.mark.parametrize("farads", [10e-12, 1e-9])
def test_ghosts(name: str, farads: float) -> None:
    """What hangs on 10 pF or 1 nF a run is right to a microvolt, opened once, twice or crossed."""
    plan = lay_out(faint(EVERY[name], 1e-12, farads))
    apart, words = voltage_apart(plan, LIVE_OUT, some(plan, name))
    assert apart <= VOLT, words


@hard
@pytest.mark.parametrize("siemens", [1e-12, 1e-9])
def test_dead(name: str, siemens: float) -> None:
    """Dead, an insulation tester leaves every port within a microvolt, from 1e-12 S a run."""
    plan = lay_out(faint(EVERY[name], siemens, 10e-12))
    ports, faults = ports_to_try(plan, ALL_OUT), some(plan, name)
    told = tell(plan, ALL_OUT, faults, ports=ports)
    at = [told.answers.at[V(*port)] for port in ports]
    for h, fault in enumerate(faults):
        solved = Exact(make(plan, ALL_OUT, fault.effects))
        for k, port in enumerate(ports[:4]):
            exact = np.array(solved.ohms(port, ports))
            got = told.answers.T[h, at, k]
            volts = [TESTER_VOLTS * z / (TESTER_OHMS + z[k]) for z in (got, exact)]
            assert np.abs(volts[0] - volts[1]).max() <= VOLT, (fault.name, port)


@each
def test_port_resistance(name: str) -> None:
    """Dead with all unplugged, a tester finds the exact ohms to 1e-9 of them and a microhm.

    The microhm is for conductors that are solidly joined and held by nothing else: their milliohms
    are what an update leaves of gigohms. The finest meter shows ten thousand times as much.
    """
    plan = lay_out(EVERY[name])
    ports, faults = ports_to_try(plan, ALL_OUT)[::2], some(plan, name)
    told = tell(plan, ALL_OUT, faults, ports=ports)
    for h, fault in enumerate(faults):
        solved = Exact(make(plan, ALL_OUT, fault.effects))
        for port in ports:
            exact, got = solved.ohms(port, [port])[0], told.ohms(h, port)
            assert abs(got - exact) <= 1e-9 * abs(exact) + 1e-6, (fault.name, port, got, exact)


@hard
def test_both_routes(name: str) -> None:
    """The update where the guard lets it pass, and the guard's own way always, keep a microvolt.

    Forced upon the same lowered network and the same changes as diagnosis makes.
    """
    plan = lay_out(faint(EVERY[name], 1e-12, 10e-12))
    faults = some(plan, name)[1:]
    asked = [V(node, GROUND) for node in present_nodes(plan, LIVE_OUT)]
    scene, touches = build_scene(plan, LIVE_OUT, asked, [fault.effects for fault in faults])
    batch = encode(scene, [touches.all(fault.effects) for fault in faults]).batch
    network, omega = scene.lowered.network, scene.lowered.omega
    taken = []
    for h, fault in enumerate(faults):
        changes = changes_of(scene.view, batch, h)
        solved = Exact(make(plan, LIVE_OUT, fault.effects))
        exact = np.array([solved.volts(one.a, one.b) for one in asked])
        free = solve_guarded(network, omega, changes, asked, factored=scene.factored)
        slow = solve_guarded(network, omega, changes, asked, force="guarded")
        taken.append(free.route)
        assert np.abs(free.values - exact).max() <= VOLT, (fault.name, free.route)
        assert np.abs(slow.values - exact).max() <= VOLT, (fault.name, "guarded")
        if free.route == "fast":
            fast = solve_guarded(network, omega, changes, asked, force="fast")
            assert np.abs(fast.values - exact).max() <= VOLT, (fault.name, "fast")
    assert {"fast", "guarded"} == set(taken)


def test_what_the_guard_is_for() -> None:
    """On a ring opened twice the unguarded update loses ten times as much, and it is flagged."""
    plan = lay_out(faint(EVERY["ring with a spur"], 1e-12, 10e-12))
    ring = [e for e in plan.elements if e.kind == "joint" and e.run and e.conductor == "E"]
    cut = tuple(Added(e.id, math.inf) for e in (ring[2], ring[9]))
    asked = [V(node, GROUND) for node in present_nodes(plan, LIVE_OUT)]
    scene, touches = build_scene(plan, LIVE_OUT, asked, [cut])
    changes = changes_of(scene.view, encode(scene, [touches.all(cut)]).batch, 0)
    solved = Exact(make(plan, LIVE_OUT, cut))
    exact = np.array([solved.volts(one.a, one.b) for one in asked])
    network, omega = scene.lowered.network, scene.lowered.omega
    fast = solve_guarded(network, omega, changes, asked, force="fast")
    free = solve_guarded(network, omega, changes, asked)
    assert free.route == "guarded"
    assert np.abs(fast.values - exact).max() > 10 * np.abs(free.values - exact).max()
    assert np.abs(free.values - exact).max() <= VOLT
