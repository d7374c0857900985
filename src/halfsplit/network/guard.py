"""The guard: where the update would lose digits, solve with one member of the change applied.

Two opens on one ring conductor leave a piece held by insulation alone, and the update finds it
as a small difference of large numbers. When cond(K) * eps * U exceeds 0.1 microvolt, the opens
are looked at by their differences (`rebase`); where that does not help, one member is built into
the network exactly and the rest stays an update; if that is still not enough, all are built in.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from halfsplit.network.assemble import Clusters
from halfsplit.network.changes import Bridge, Change, Emf, Series, touched
from halfsplit.network.elements import Branch, Network
from halfsplit.network.errors import SingularNetwork, UnknownName
from halfsplit.network.factor import Factored, View, factorise
from halfsplit.network.functionals import Functional, I
from halfsplit.network.rebase import apply_rebased, can_rebase
from halfsplit.network.update import (
    TOLERATED_VOLTS,
    Batch,
    Changed,
    apply,
    batch_of,
    lost_volts,
)

Route = Literal["fast", "guarded"]
MOST_REMEMBERED = 64  # factorisations with members built in, of one sound network


@dataclass(frozen=True, slots=True)
class Solved:
    """One hypothesis: `values` (s,), `transfer` (s, s), and the route that gave them."""

    values: NDArray[Any]
    transfer: NDArray[Any]
    route: Route

    def __iter__(self) -> Any:
        return iter((self.values, self.transfer, self.route))


def with_change(network: Network, omega: float, change: Change) -> Network:
    """The network with a change built in, as an electrician would make it.

    An open branch stays as a name that carries nothing; a solid joint is a branch of 0 ohm, and
    joining what is solidly joined already changes nothing. Raises UnknownName for a branch the
    network does not have.
    """
    if isinstance(change, Bridge):
        return _with_bridge(network, omega, change)
    for at, branch in enumerate(network.branches):
        if branch.name == change.branch:
            if isinstance(change, Series):
                new = replace(branch, r=branch.r + change.added_ohm)
            else:
                new = replace(branch, emf=branch.emf + change.added_volts)
            parts = (*network.branches[:at], new, *network.branches[at + 1 :])
            return replace(network, branches=parts)
    raise UnknownName("branch", change.branch, (branch.name for branch in network.branches))


def _with_bridge(network: Network, omega: float, change: Bridge) -> Network:
    y = complex(change.added_siemens)
    if y == 0:
        return network
    z = 0j if np.isinf(abs(y)) else 1 / y
    if change.a == change.b or (z == 0 and _solidly_joined(network, omega, change.a, change.b)):
        return network
    taken = {branch.name for branch in network.branches}
    name = next(name for k in count() if (name := f"bridge {k}") not in taken)
    inductance = z.imag / omega if omega else 0.0
    added = Branch(name, change.a, change.b, r=max(z.real, 0.0), l=inductance)
    return replace(network, branches=(*network.branches, added))


def _solidly_joined(network: Network, omega: float, a: str, b: str) -> bool:
    clusters = Clusters()
    for branch in network.branches:
        if branch.impedance(omega) == 0 and branch.emf == 0:
            clusters.join(branch.a, branch.b)
    return clusters.find(a) == clusters.find(b)


def solve_guarded(
    network: Network,
    omega: float,
    changes: Sequence[Change],
    functionals: Sequence[Functional],
    force: Route | None = None,
    factored: Factored | None = None,
) -> Solved:
    """Solve one hypothesis: values (s,) and transfer (s, s) of `functionals` after `changes`.

    `factored` saves factorising the sound network again. `force` takes a route whatever the
    guard says. Raises SingularNetwork naming what the changes leave held by nothing.
    """
    if force != "guarded":
        sound = factored or factorise(network, omega)
        changed = _update(sound, changes, functionals)
        if force == "fast" or changed.flagged.size == 0:
            return Solved(changed.values[0], changed.transfer[0], "fast")
    values, transfer = _exactly(network, omega, _order(changes), functionals)
    return Solved(values, transfer, "guarded")


def _update(
    factored: Factored, changes: Sequence[Change], functionals: Sequence[Functional]
) -> Changed:
    """The changes as an update through a view of just what is asked and touched."""
    asked = tuple(dict.fromkeys(functionals))
    view = factored.view(tuple(dict.fromkeys((*asked, *map(touched, changes)))))
    rows = [view.index(functional) for functional in functionals]
    return apply(view, batch_of(view, [changes]), rows, rows)


def _order(changes: Sequence[Change]) -> list[Change]:
    """Opens first: building one in exactly is what restores the digits."""

    def rank(change: Change) -> int:
        if isinstance(change, Series):
            return 0 if np.isinf(change.added_ohm) else 1
        return 2

    return sorted(changes, key=rank)


def _exactly(
    network: Network,
    omega: float,
    changes: Sequence[Change],
    functionals: Sequence[Functional],
) -> tuple[NDArray[Any], NDArray[Any]]:
    """One member built in and the rest an update; all built in when that is not enough."""
    if changes:
        first = with_change(network, omega, changes[0])
        rest = _still_felt(first, changes[1:])
        try:
            changed = _update(factorise(first, omega), rest, functionals)
        except SingularNetwork:
            if not rest:
                raise
        else:
            if changed.flagged.size == 0:
                return changed.values[0], changed.transfer[0]
    for change in changes:
        network = with_change(network, omega, change)
    view = factorise(network, omega).view(functionals)
    return view.f0, view.G


def _still_felt(network: Network, changes: Sequence[Change]) -> list[Change]:
    """Leave out what acts on a branch that is open already: it changes nothing."""
    opened = {branch.name for branch in network.branches if branch.is_open}
    return [
        change for change in changes if isinstance(change, Bridge) or change.branch not in opened
    ]


def changes_of(view: View, batch: Batch, hypothesis: int) -> list[Change]:
    """Read a hypothesis back from a batch as changes, padding left out."""
    found: list[Change] = []
    for j, at in enumerate(batch.touch[hypothesis]):
        functional = view.functionals[at]
        alpha, beta = batch.alpha[hypothesis, j], batch.beta[hypothesis, j]
        if beta != 0:
            size = complex(np.inf) if alpha == 0 else complex(beta / alpha)
            if isinstance(functional, I):
                found.append(Series(functional.branch, abs(size)))
            else:
                found.append(Bridge(functional.a, functional.b, size))
        if batch.emf is not None and isinstance(functional, I) and batch.emf[hypothesis, j] != 0:
            found.append(Emf(functional.branch, complex(batch.emf[hypothesis, j])))
    return found


def apply_guarded(
    factored: Factored,
    view: View,
    batch: Batch,
    rows: Sequence[int] | NDArray[np.intp],
    cols: Sequence[int] | NDArray[np.intp],
    tolerated: float = TOLERATED_VOLTS,
) -> Changed:
    """`apply`, then solve the flagged few again: by differences, else with a member built in.

    Hypotheses that share their first member share its factorisation. Afterwards `flagged` holds
    only those that leave something held by nothing; their rows are NaN. `tolerated` volts may be
    lost to rounding.
    """
    rows, cols = np.asarray(rows, dtype=np.intp), np.asarray(cols, dtype=np.intp)
    changed = apply(view, batch, rows, cols, tolerated)
    if changed.flagged.size:
        changed = _by_differences(factored, view, batch, changed, rows, cols)
    if changed.flagged.size == 0:
        return changed
    groups: dict[Change | None, list[tuple[int, list[Change]]]] = {}
    for h in changed.flagged:
        ordered = _order(changes_of(view, batch, int(h)))
        groups.setdefault(ordered[0] if ordered else None, []).append((int(h), ordered))
    left: list[int] = []
    asked = [view.functionals[k] for k in (*rows, *cols)]
    for first, members in groups.items():
        left += _group(factored, first, members, asked, changed)
    return replace(changed, flagged=np.array(sorted(left), dtype=np.intp))


def _by_differences(
    factored: Factored,
    view: View,
    batch: Batch,
    changed: Changed,
    rows: NDArray[np.intp],
    cols: NDArray[np.intp],
) -> Changed:
    """Solve again, in place, what `rebase` can; `flagged` keeps the others."""
    tried = changed.flagged[can_rebase(view, batch.part(changed.flagged))]
    if tried.size == 0:
        return changed
    again = apply_rebased(factored, view, batch.part(tried), rows, cols)
    good = lost_volts(again.condition, view) <= TOLERATED_VOLTS
    solved = tried[good]
    changed.values[solved] = again.values[good]
    changed.transfer[solved] = again.transfer[good]
    changed.condition[solved] = again.condition[good]
    return replace(changed, flagged=np.setdiff1d(changed.flagged, solved))


def _group(
    factored: Factored,
    first: Change | None,
    members: list[tuple[int, list[Change]]],
    asked: list[Functional],
    changed: Changed,
) -> list[int]:
    """Solve hypotheses that share `first`, in place; return those that nothing holds."""
    r = changed.values.shape[1]
    where = [h for h, _ in members]
    again = list(range(len(members)))
    known = all(tuple(changes) in factored.beside for _, changes in members)
    based = None if known else _built_in(factored, () if first is None else (first,))
    if based is not None:
        rests = [_still_felt(based.network, changes[1:]) for _, changes in members]
        touches = (touched(change) for rest in rests for change in rest)
        view = based.view(tuple(dict.fromkeys((*asked, *touches))))
        places = [view.index(functional) for functional in asked]
        redone = apply(view, batch_of(view, rests), places[:r], places[r:])
        changed.values[where] = redone.values
        changed.transfer[where] = redone.transfer
        changed.condition[where] = redone.condition
        again = [int(k) for k in redone.flagged]
    return [where[k] for k in again if not _alone(factored, members[k], asked, changed)]


def _alone(
    factored: Factored,
    member: tuple[int, list[Change]],
    asked: list[Functional],
    changed: Changed,
) -> bool:
    """Solve one hypothesis with every member built in; False when nothing holds a part."""
    h, changes = member
    r = changed.values.shape[1]
    built = _built_in(factored, tuple(changes))
    if built is None:
        changed.values[h], changed.transfer[h], changed.condition[h] = np.nan, np.nan, np.inf
        return False
    view, places = built.view(asked), np.arange(len(asked))
    changed.values[h], changed.transfer[h] = view.f0[:r], view.block(places[:r], places[r:])
    changed.condition[h] = 1.0
    return True


def _built_in(factored: Factored, changes: tuple[Change, ...]) -> Factored | None:
    """The network with changes built in, factorised once; None when nothing holds a part."""
    if changes not in factored.beside:
        network = factored.network
        for change in changes:
            network = with_change(network, factored.omega, change)
        while len(factored.beside) >= MOST_REMEMBERED:
            factored.beside.pop(next(iter(factored.beside)), None)
        try:
            factored.beside[changes] = factorise(network, factored.omega)
        except SingularNetwork:
            factored.beside[changes] = None
    return factored.beside[changes]
