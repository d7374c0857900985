"""What the solver refuses, and the words it uses."""

import pickle

import numpy as np
import pytest

from halfsplit.network import (
    Branch,
    Bridge,
    I,
    Network,
    NetworkError,
    Series,
    Shunt,
    SingularNetwork,
    UnknownName,
    V,
    factorise,
)

FED = Branch("source", "earth", "board", 0.1, emf=230.0)


def test_floating_conductors_are_named_in_order() -> None:
    """Nodes without a path to the reference are named, sorted; capacitance holds nothing dead."""
    loose = (FED, Branch("core", "z end", "a end", 0.1))
    only_c = (Shunt("c", "a end", "earth", c=1e-9),)
    with pytest.raises(SingularNetwork, match="nothing holds 'a end', 'z end'") as caught:
        factorise(Network("earth", loose, only_c), 0.0)
    assert caught.value.nodes == ("a end", "z end")
    factorise(Network("earth", loose, only_c), 314.0)


def test_loop_without_impedance_names_its_branches() -> None:
    """Two perfect conductors side by side leave their shares undecided, and are named."""
    twins = (FED, Branch("left", "board", "end"), Branch("right", "end", "board"))
    with pytest.raises(SingularNetwork, match="'left', 'right' close a loop") as caught:
        factorise(Network("earth", twins), 0.0)
    assert caught.value.branches == ("left", "right")


def test_open_branch_carries_nothing_and_can_be_asked() -> None:
    """A branch of infinite resistance reads 0 A and its far end is held by what is left."""
    parts = (FED, Branch("core", "board", "end", np.inf))
    factored = factorise(Network("earth", parts, (Shunt("r", "end", "earth", g=1e-9),)), 0.0)
    view = factored.view([I("core"), V("end", "earth"), V("board", "end")])
    assert view.f0 == pytest.approx([0.0, 0.0, 230.0])
    assert not view.G[0].any()
    assert factored.index_i("core") == factored.index_v("earth") == factored.size


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda: Branch("b", "p", "q", -1.0), "branch 'b': r is -1.0; give 0 ohm or more"),
        (lambda: Branch("b", "p", "q", np.nan), "branch 'b': r is nan"),
        (lambda: Branch("b", "p", "p"), "joins 'p' to itself"),
        (lambda: Shunt("s", "p", "q", g=-1e-9), "shunt 's': g is -1e-09; give 0 or more"),
        (lambda: Series("b", -2.0), "added to 'b' is -2.0; give 0 ohm or more"),
        (lambda: Bridge("p", "q", -1.0), "between 'p' and 'q' is -1.0"),
        (lambda: Network("earth", (FED, FED)), "are called 'source'"),
        (lambda: factorise(Network("earth", (FED,)), -1.0), "omega is -1.0 rad/s"),
        (lambda: factorise(Network("earth", ()), 0.0), "no parts"),
    ],
)
def test_refusals_show_the_value_and_the_next_step(ask, said: str) -> None:
    """Each refusal shows what was read and what to give instead."""
    with pytest.raises(NetworkError, match=said):
        ask()


def test_unknown_names_list_what_there_is() -> None:
    """Asking for what is not there says what is."""
    factored = factorise(Network("earth", (FED,)), 0.0)
    with pytest.raises(UnknownName, match="no node 'shed'; this network has 'board', 'earth'"):
        factored.view([V("shed", "earth")])
    with pytest.raises(UnknownName, match="no branch 'cable'; this network has 'source'"):
        factored.index_i("cable")


def test_refusals_travel_between_processes() -> None:
    """A refusal pickled and read back says the same and names the same."""
    for error in (SingularNetwork(nodes=("q", "p")), UnknownName("node", "shed", ("board",))):
        back = pickle.loads(pickle.dumps(error))
        assert str(back) == str(error)
        assert vars(back) == vars(error)


def test_view_agrees_with_the_dense_inverse() -> None:
    """G is F^T M F with M from numpy's own dense inverse, and M is the matrix's inverse."""
    parts = (FED, Branch("core", "board", "end", 0.4, l=1e-6), Branch("load", "end", "earth", 50))
    factored = factorise(Network("earth", parts, (Shunt("c", "end", "board", c=1e-9),)), 314.0)
    M = np.linalg.inv(factored.dense())
    np.testing.assert_allclose(factored.inverse(), M, rtol=1e-9, atol=1e-12)
    view = factored.view([V("end", "board"), I("load")])
    e, b, i = factored.index_v("end"), factored.index_v("board"), factored.index_i("load")
    F = np.zeros((factored.size, 2))
    F[e, 0], F[b, 0], F[i, 1] = 1, -1, 1
    np.testing.assert_allclose(view.G, F.T @ M @ F, rtol=1e-9, atol=1e-12)
