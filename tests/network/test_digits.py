"""Digits against oracles made without the program: 60-digit node form, and star-mesh."""

from functools import cache

import numpy as np
import pytest

from halfsplit.network import (
    Branch,
    Bridge,
    Network,
    Series,
    Shunt,
    SingularNetwork,
    V,
    apply_guarded,
    batch_of,
    factorise,
    solve_guarded,
    touched,
)
from tests.network.exact import Exact
from tests.network.houses import INF, House, everywhere, faults, house
from tests.network.starmesh import StarMesh

MICROVOLT = 1e-6
FAMILIES = (
    "opened",
    "resistive",
    "shorted",
    "joined solidly",
    "crossed",
    "opened twice",
    "opened and damp",
    "ring opened twice",
)


@cache
def built(seed: int, live: bool) -> tuple[House, dict, list[V]]:
    rng = np.random.default_rng(seed)
    made = house(rng, live, circuits=3, places=int(rng.integers(4, 9)))
    return made, faults(made, rng), everywhere(made)


@cache
def exactly(seed: int, live: bool, family: str) -> np.ndarray:
    made, changes, asked = built(seed, live)
    oracle = Exact(made.network, made.omega, changes[family])
    return np.array([oracle.voltage(v) for v in asked])


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("live", [True, False], ids=["live", "dead"])
@pytest.mark.parametrize("seed", [0, 1, 5])
def test_guard_keeps_every_voltage_within_a_microvolt(seed: int, live: bool, family: str) -> None:
    """Left to the guard, and forced through it, every voltage is within 1 uV of 60 digits."""
    made, changes, asked = built(seed, live)
    want = exactly(seed, live, family)
    for force in (None, "guarded"):
        got = solve_guarded(made.network, made.omega, changes[family], asked, force=force)
        off = np.abs(got.values - want)
        worst = int(off.argmax())
        assert off[worst] < MICROVOLT, f"{force}: {off[worst]:.3g} V at {asked[worst]}"


@pytest.mark.parametrize("family", FAMILIES[:5] + FAMILIES[6:7])
@pytest.mark.parametrize("live", [True, False], ids=["live", "dead"])
@pytest.mark.parametrize("seed", [0, 1, 5])
def test_update_alone_is_good_where_no_conductor_is_opened_twice(
    seed: int, live: bool, family: str
) -> None:
    """Forced past the guard, singles, shorts and crossed pairs are within 1 uV of 60 digits."""
    made, changes, asked = built(seed, live)
    got = solve_guarded(made.network, made.omega, changes[family], asked, force="fast")
    worst = np.abs(got.values - exactly(seed, live, family)).max()
    assert worst < MICROVOLT, f"worst {worst:.3g} V"


@pytest.mark.parametrize("seed", [0, 1, 5])
def test_guard_speaks_up_where_digits_are_lost(seed: int) -> None:
    """A dead ring's earth opened twice: the update alone errs by over 1 uV; the guard says so."""
    made, _, asked = built(seed, False)
    earth = made.core(made.ring, "E")
    change = [Series(earth[3], INF), Series(earth[8], INF)]
    oracle = Exact(made.network, 0.0, change)
    want = np.array([oracle.voltage(v) for v in asked])
    fast = solve_guarded(made.network, 0.0, change, asked, force="fast")
    assert np.abs(fast.values - want).max() > MICROVOLT
    kept = solve_guarded(made.network, 0.0, change, asked)
    assert kept.route == "guarded"
    assert np.abs(kept.values - want).max() < MICROVOLT


@pytest.mark.parametrize("live", [True, False], ids=["live", "dead"])
def test_impedances_at_ports_agree_to_nine_digits(live: bool) -> None:
    """Port and transfer impedances after each fault match the 60-digit ones."""
    made, changes, asked = built(1, live)
    ports = [asked[4], asked[30], asked[-2]]
    for family, change in changes.items():
        oracle = Exact(made.network, made.omega, change)
        want = np.array([[oracle.impedance(p, q) for q in ports] for p in ports])
        got = solve_guarded(made.network, made.omega, change, ports).transfer
        size = np.sqrt(np.abs(np.outer(np.diag(want), np.diag(want))))
        worst = (np.abs(got - want) / size).max()
        assert worst < 1e-9, f"{family}: {worst:.3g}"


@pytest.mark.parametrize("live", [True, False], ids=["live", "dead"])
@pytest.mark.parametrize("seed", [2, 3])
def test_star_mesh_agrees(seed: int, live: bool) -> None:
    """Star-mesh elimination, which never subtracts, finds the same voltages within 1 uV."""
    made, changes, asked = built(seed, live)
    some = [asked[k] for k in range(0, len(asked), 17)]
    for family, change in changes.items():
        oracle = StarMesh(made.network, made.omega, change)
        want = np.array([oracle.difference(v) for v in some])
        assert oracle.worst_sum > (0.999999 if not live else 0.05)
        got = solve_guarded(made.network, made.omega, change, some).values
        worst = np.abs(got - want).max()
        assert worst < MICROVOLT, f"{family}: {worst:.3g} V"


@pytest.mark.parametrize("core", ["L", "N", "E"])
@pytest.mark.parametrize("seed", [1, 2, 7])
def test_circuit_that_floats_when_sound_loses_nothing(seed: int, core: str) -> None:
    """With a conductor lifted, so that insulation alone holds it, one more open is still exact."""
    made, _, asked = built(seed, False)
    circuit = next(c for c in range(3) if c != made.ring)
    along = made.core(circuit, core)
    lifted = Network(
        made.network.reference,
        tuple(
            Branch(b.name, b.a, b.b, INF, b.l, b.emf) if b.name == along[1] else b
            for b in made.network.branches
        ),
        made.network.shunts,
    )
    for name in along[2::3]:
        change = [Series(name, INF)]
        got = solve_guarded(lifted, 0.0, change, asked, force="fast").values
        oracle = Exact(lifted, 0.0, change)
        worst = np.abs(got - np.array([oracle.voltage(v) for v in asked])).max()
        assert worst < MICROVOLT, f"{name}: {worst:.3g} V"


@pytest.mark.parametrize("live", [True, False], ids=["live", "dead"])
def test_batch_agrees_with_the_oracle_row_by_row(live: bool) -> None:
    """All families in one padded batch, rerouted where needed, match 60 digits within 1 uV."""
    made, changes, asked = built(1, live)
    factored = factorise(made.network, made.omega)
    touches = [touched(change) for members in changes.values() for change in members]
    view = factored.view(tuple(dict.fromkeys((*asked, *touches))))
    batch = batch_of(view, list(changes.values()))
    got = apply_guarded(factored, view, batch, range(len(asked)), [0, 1])
    assert got.flagged.size == 0
    for row, family in enumerate(changes):
        worst = np.abs(got.values[row] - exactly(1, live, family)).max()
        assert worst < MICROVOLT, f"{family}: {worst:.3g} V"


def test_what_a_pair_of_opens_leaves_hanging_on_nothing_is_named() -> None:
    """A joint cut off on both sides, with no insulation given, is named and never guessed."""
    network = Network(
        "earth",
        (Branch("source", "earth", "p", 1.0, emf=230), Branch("one", "p", "q", 0.1),
         Branch("two", "q", "r", 0.1)),
        (Shunt("leak", "r", "earth", g=1e-9),),
    )  # fmt: skip
    changes = [Series("one", INF), Series("two", INF)]
    with pytest.raises(SingularNetwork, match="nothing holds 'q'"):
        solve_guarded(network, 0.0, changes, [V("q", "earth")])
    factored = factorise(network, 0.0)
    view = factored.view([V("q", "earth"), *map(touched, changes)])
    got = apply_guarded(factored, view, batch_of(view, [changes, changes[:1]]), [0], [0])
    assert got.flagged.tolist() == [0]
    assert np.isnan(got.values[0, 0])
    assert got.values[1, 0] == pytest.approx(0.0, abs=1e-12)


def test_leakage_behind_a_load_still_counts() -> None:
    """A load inside a floating pair does not drown insulation of 1e-12 S: divider by hand."""
    network = Network(
        "earth",
        (Branch("source", "earth", "board", 1.0, emf=230),),
        (
            Shunt("load", "line", "neutral", g=0.05),
            Shunt("to the board", "board", "line", g=3e-12),
            Shunt("to earth", "neutral", "earth", g=1e-12),
        ),
    )
    got = solve_guarded(network, 0.0, [], [V("neutral", "earth")]).values[0]
    assert got == pytest.approx(230 * 0.75, abs=MICROVOLT)


def test_solid_joint_between_joined_nodes_changes_nothing() -> None:
    """Joining solidly what is solid already leaves every voltage as it was."""
    network = Network(
        "earth",
        (Branch("source", "earth", "p", 1.0, emf=230), Branch("link", "p", "q"),
         Branch("load", "q", "earth", 22.0)),
    )  # fmt: skip
    got = solve_guarded(network, 0.0, [Bridge("p", "q", INF)], [V("q", "earth")])
    assert got.values[0] == pytest.approx(220.0, rel=1e-12)
