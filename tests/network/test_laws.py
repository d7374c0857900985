"""Circuit laws as properties of generated networks."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.network import (
    Branch,
    Bridge,
    Emf,
    I,
    Network,
    Series,
    Shunt,
    V,
    apply,
    attach,
    batch_of,
    factorise,
    solve_guarded,
    with_change,
)

OHM = st.floats(-3, 4).map(lambda power: 10**power)
SIEMENS = st.floats(-12, -4).map(lambda power: 10**power)
OMEGA = st.sampled_from([0.0, 2 * np.pi * 50])


@st.composite
def networks(draw: st.DrawFn) -> Network:
    """A random tree with loops, sources and leakage; node 0 is the reference."""
    n = draw(st.integers(3, 9))
    branches = []
    for k in range(1, n):
        back = draw(st.integers(0, k - 1))
        emf = draw(st.sampled_from([0.0, 0.0, 12.0, 230.0]))
        branches.append(Branch(f"b{k}", f"n{back}", f"n{k}", draw(OHM), emf=emf))
    for k in range(draw(st.integers(0, 4))):
        a, b = draw(st.lists(st.integers(0, n - 1), min_size=2, max_size=2, unique=True))
        branches.append(Branch(f"loop{k}", f"n{a}", f"n{b}", draw(OHM), l=1e-5))
    shunts = [
        Shunt(f"s{k}", f"n{k}", f"n{draw(st.integers(0, k - 1))}", draw(SIEMENS), 1e-10)
        for k in range(1, n)
    ]
    return Network("n0", tuple(branches), tuple(shunts))


def all_asked(network: Network) -> list:
    return [V(n, "n0") for n in network.nodes] + [I(b.name) for b in network.branches]


@given(networks(), OMEGA)
@settings(deadline=None, max_examples=60)
def test_kirchhoff(network: Network, omega: float) -> None:
    """At every node the currents add up to nothing, and along every branch the voltages do."""
    factored = factorise(network, omega)
    view = factored.view(all_asked(network))
    volts = {"n0": 0.0} | {n: view.f0[view.index(V(n, "n0"))] for n in network.nodes}
    left: dict[str, complex] = dict.fromkeys(volts, 0.0)
    scale = 1e-12
    for b in network.branches:
        i = view.f0[view.index(I(b.name))]
        left[b.a] += i
        left[b.b] -= i
        scale = max(scale, abs(i))
        drop = volts[b.a] - volts[b.b] + b.emf - b.impedance(omega) * i
        assert abs(drop) <= 1e-10 * network.drive
    for s in network.shunts:
        i = s.admittance(omega) * (volts[s.a] - volts[s.b])
        left[s.a] += i
        left[s.b] -= i
    assert max(map(abs, left.values())) <= 1e-10 * scale


@given(networks(), OMEGA)
@settings(deadline=None, max_examples=60)
def test_reciprocity(network: Network, omega: float) -> None:
    """What one port does to another, the other does to it: G is symmetric."""
    G = factorise(network, omega).view(all_asked(network)).G
    size = np.sqrt(np.abs(np.outer(np.diag(G), np.diag(G)))) + 1e-12
    assert (np.abs(G - G.T) / size).max() < 1e-7


@given(networks(), OMEGA)
@settings(deadline=None, max_examples=40)
def test_superposition(network: Network, omega: float) -> None:
    """Sources one at a time, added up, give what they give together."""
    asked = all_asked(network)
    together = factorise(network, omega).view(asked).f0
    apart = np.zeros_like(together)
    for kept in network.branches:
        quiet = tuple(
            b if b is kept else Branch(b.name, b.a, b.b, b.r, b.l) for b in network.branches
        )
        apart = apart + factorise(Network("n0", quiet, network.shunts), omega).view(asked).f0
    assert np.abs(together - apart).max() <= 1e-9 * max(1.0, np.abs(together).max())


@given(networks(), OMEGA, OHM, SIEMENS, st.permutations([0, 1, 2]))
@settings(deadline=None, max_examples=60)
def test_order_of_changes_is_irrelevant_and_equals_building_them_in(
    network: Network, omega: float, ohm: float, siemens: float, order: list[int]
) -> None:
    """Changes in any order give the same, and the same as a network made with them."""
    changes = [Series("b1", ohm), Bridge("n1", "n2", siemens), Emf("b2", 7.0)]
    asked = all_asked(network)
    made = network
    for change in changes:
        made = with_change(made, omega, change)
    want = factorise(made, omega).view(asked)
    shuffled = [changes[k] for k in order]
    got = solve_guarded(network, omega, shuffled, asked, force="fast")
    bound = max(1.0, np.abs(want.f0).max())
    assert np.abs(got.values - want.f0).max() <= 1e-8 * bound
    size = np.sqrt(np.abs(np.outer(np.diag(want.G), np.diag(want.G)))) + 1e-9
    assert (np.abs(got.transfer - want.G) / size).max() < 1e-6


@given(networks(), OMEGA)
@settings(deadline=None, max_examples=40)
def test_padding_changes_nothing(network: Network, omega: float) -> None:
    """A hypothesis padded with nothing reads the same as alone."""
    view = factorise(network, omega).view(all_asked(network))
    one, long = [Series("b1", 3.0)], [Series("b2", 1.0), Bridge("n1", "n0", 1e-3)]
    rows = range(len(view.functionals))
    alone = apply(view, batch_of(view, [one]), rows, [0])
    padded = apply(view, batch_of(view, [one, long]), rows, [0])
    np.testing.assert_allclose(padded.values[0], alone.values[0], rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(padded.transfer[0], alone.transfer[0], rtol=1e-12, atol=1e-12)


@given(networks(), OMEGA, SIEMENS, SIEMENS)
@settings(deadline=None, max_examples=40)
def test_meters_attached_in_turn_equal_meters_solved_jointly(
    network: Network, omega: float, y1: float, y2: float
) -> None:
    """Rank-one attachment at two ports equals (I + Z Y)^-1 v, whichever comes first."""
    view = factorise(network, omega).view([V("n1", "n0"), V("n2", "n0")])
    voc, Z = attach(*attach(view.f0, view.G, 0, y1), 1, y2)
    back, _ = attach(*attach(view.f0, view.G, 1, y2), 0, y1)
    joint = np.linalg.solve(np.eye(2) + view.G * np.array([y1, y2]), view.f0)
    np.testing.assert_allclose(voc, joint, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(back, joint, rtol=1e-9, atol=1e-9)
    assert Z.shape == (2, 2)


def test_solid_link_attached_holds_a_port_at_nothing() -> None:
    """An infinite admittance at a port shorts it, and the other port sees the divider."""
    voc, _ = attach(np.array([10.0, 6.0]), np.array([[5.0, 2.0], [2.0, 4.0]]), 0, np.inf)
    assert voc == pytest.approx([0.0, 6.0 - 2.0 * 10.0 / 5.0])
