"""Oracle: the same parts solved in node form with 60 digits (mpmath), the change really made.

Made independently of the program: node voltages only, ideal joints merged, elimination in the
order of fewest neighbours. Node form loses digits when what hangs is held by insulation alone;
with 60 of them it may lose 40.
"""

from collections import defaultdict
from collections.abc import Sequence

import mpmath as mp

from halfsplit.network import Branch, Change, Emf, Network, Series, V

DIGITS = 60


def made(network: Network, changes: Sequence[Change]) -> tuple[list[tuple], list[tuple]]:
    """Lists (a, b, y, emf) and (a, b) joined solidly, once the change is made; y still by omega."""
    series: dict[str, float] = defaultdict(float)
    emf: dict[str, complex] = defaultdict(complex)
    parts, joined = [], []
    for change in changes:
        if isinstance(change, Series):
            series[change.branch] += change.added_ohm
        elif isinstance(change, Emf):
            emf[change.branch] += change.added_volts
        elif mp.isinf(abs(change.added_siemens)):
            joined.append((change.a, change.b))
        else:
            parts.append((change.a, change.b, change.added_siemens, 0))
    for branch in network.branches:
        parts.append((branch, mp.mpf(branch.r) + mp.mpf(series[branch.name]), emf[branch.name]))
    return parts, joined


class Exact:
    """Node voltages of a network with changes made, to `DIGITS` digits."""

    def __init__(self, network: Network, omega: float, changes: Sequence[Change] = ()) -> None:
        with mp.workdps(DIGITS):
            self._build(network, omega, changes)

    def _build(self, network: Network, omega: float, changes: Sequence[Change]) -> None:
        parts, joined = made(network, changes)
        w = mp.mpf(omega)
        edges = []
        for part in parts:
            if isinstance(part[0], Branch):
                branch, r, added = part
                if mp.isinf(r):
                    continue
                emf = mp.mpc(branch.emf) + mp.mpc(added)
                z = mp.mpc(r, w * mp.mpf(branch.l))
                if z == 0:
                    assert emf == 0, "the oracle wants impedance beside a source"
                    joined.append((branch.a, branch.b))
                    continue
                edges.append((branch.a, branch.b, 1 / z, emf))
            else:
                a, b, y, _ = part
                edges.append((a, b, mp.mpc(y), mp.mpc(0)))
        for shunt in network.shunts:
            y = mp.mpc(mp.mpf(shunt.g), w * mp.mpf(shunt.c))
            if y != 0:
                edges.append((shunt.a, shunt.b, y, mp.mpc(0)))
        self.parent: dict[str, str] = {}
        for a, b in joined:
            self.parent[self.find(a)] = self.find(b)
        self.reference = self.find(network.reference)
        self.rows: dict[str, dict[str, mp.mpc]] = defaultdict(dict)
        self.injected: dict[str, mp.mpc] = defaultdict(mp.mpc)
        for a, b, y, emf in edges:
            self._stamp(self.find(a), self.find(b), y, emf)
        self._eliminate()
        self.v = self._solve(self.injected)

    def find(self, node: str) -> str:
        """The node that stands for everything joined solidly to `node`."""
        while self.parent.get(node, node) != node:
            node = self.parent[node]
        return node

    def _stamp(self, a: str, b: str, y: mp.mpc, emf: mp.mpc) -> None:
        if a == b:
            return
        for p, q, sign in ((a, b, -1), (b, a, 1)):
            if p != self.reference:
                self.rows[p][p] = self.rows[p].get(p, mp.mpc(0)) + y
                self.injected[p] += sign * y * emf
                if q != self.reference:
                    self.rows[p][q] = self.rows[p].get(q, mp.mpc(0)) - y

    def _eliminate(self) -> None:
        rows = {p: dict(row) for p, row in self.rows.items()}
        self.order: list[tuple[str, mp.mpc, dict[str, mp.mpc]]] = []
        while rows:
            p = min(rows, key=lambda node: len(rows[node]))
            row = rows.pop(p)
            pivot = row.pop(p)
            self.order.append((p, pivot, row))
            for q in row:
                other = rows[q]
                share = other.pop(p) / pivot
                for k, value in row.items():
                    other[k] = other.get(k, mp.mpc(0)) - share * value

    def _solve(self, injected: dict[str, mp.mpc]) -> dict[str, mp.mpc]:
        right = defaultdict(mp.mpc, injected)
        for p, pivot, row in self.order:
            for q, value in row.items():
                right[q] -= value / pivot * right[p]
        v = {self.reference: mp.mpc(0)}
        for p, pivot, row in reversed(self.order):
            v[p] = (right[p] - sum(value * v[q] for q, value in row.items())) / pivot
        return v

    def voltage(self, asked: V) -> complex:
        """v_a - v_b in volts, rounded once at the end."""
        with mp.workdps(DIGITS):
            return complex(self.v[self.find(asked.a)] - self.v[self.find(asked.b)])

    def impedance(self, row: V, port: V) -> complex:
        """Drop of `row` per ampere drawn at `port`, in ohm."""
        with mp.workdps(DIGITS):
            injected: dict[str, mp.mpc] = defaultdict(mp.mpc)
            injected[self.find(port.a)] += 1
            injected[self.find(port.b)] -= 1
            v = self._solve(injected)
            return complex(v[self.find(row.a)] - v[self.find(row.b)])
