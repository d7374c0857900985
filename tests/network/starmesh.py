"""Oracle: star-mesh elimination, which only ever adds, multiplies and divides.

Made independently of the program, in ordinary floating point. With resistances alone nothing is
subtracted, so every digit of a ghost voltage survives. With alternating current the sum of a
node's admittances may cancel; `worst_sum` is the smallest abs(sum y) / sum(abs(y)) met, and the
answer is good to about 1e-15 divided by it. (Star-mesh transform: A. Rosen, 1924.)
"""

from collections.abc import Sequence

from halfsplit.network import Bridge, Change, Network, Series, V


class StarMesh:
    """Node voltages against the reference; sources stand between the reference and one node."""

    def __init__(self, network: Network, omega: float, changes: Sequence[Change] = ()) -> None:
        self.reference = network.reference
        self.worst_sum = 1.0
        self.fixed: dict[str, complex] = {}
        self._parent: dict[str, str] = {}
        opened = {
            c.branch: c.added_ohm for c in changes if isinstance(c, Series) and c.added_ohm > 0
        }
        edges: list[tuple[str, str, complex]] = []
        for branch in network.branches:
            z = complex(branch.r + opened.get(branch.name, 0.0), omega * branch.l)
            if z.real == float("inf"):
                continue
            a = branch.a
            if branch.emf:
                assert branch.a == self.reference, "the oracle wants sources on the reference"
                a = f"source {branch.name}"
                self.fixed[a] = complex(branch.emf)
            if z == 0:
                self._join(a, branch.b)
            else:
                edges.append((a, branch.b, 1 / z))
        for change in changes:
            if isinstance(change, Bridge):
                if abs(change.added_siemens) == float("inf"):
                    self._join(change.a, change.b)
                else:
                    edges.append((change.a, change.b, complex(change.added_siemens)))
        edges += [(s.a, s.b, complex(s.g, omega * s.c)) for s in network.shunts]
        self.graph: dict[str, dict[str, complex]] = {}
        for a, b, y in edges:
            self._link(self.graph, self.find(a), self.find(b), y)

    def _join(self, a: str, b: str) -> None:
        self._parent[self.find(a)] = self.find(b)

    def find(self, node: str) -> str:
        """The node that stands for everything joined solidly to `node`."""
        while self._parent.get(node, node) != node:
            node = self._parent[node]
        return node

    @staticmethod
    def _link(graph: dict[str, dict[str, complex]], a: str, b: str, y: complex) -> None:
        if a != b and y != 0:
            for p, q in ((a, b), (b, a)):
                near = graph.setdefault(p, {})
                near[q] = near.get(q, 0) + y

    def voltage(self, node: str) -> complex:
        """Volts of `node` against the reference."""
        node = self.find(node)
        held = {self.find(name): volts for name, volts in self.fixed.items()}
        held[self.find(self.reference)] = 0j
        if node in held:
            return held[node]
        graph = {p: dict(near) for p, near in self.graph.items()}
        out = set(graph) - set(held) - {node}
        while out:
            p = min(out, key=lambda name: len(graph[name]))
            out.remove(p)
            self._remove(graph, p)
        near = graph[node]
        total = self._sum(list(near.values()))
        return sum((y / total) * held[q] for q, y in near.items())

    def _sum(self, ys: list[complex]) -> complex:
        total = sum(ys)
        self.worst_sum = min(self.worst_sum, abs(total) / sum(map(abs, ys)))
        return total

    def _remove(self, graph: dict[str, dict[str, complex]], p: str) -> None:
        near = list(graph.pop(p).items())
        total = self._sum([y for _, y in near]) if near else 1.0
        for q, _ in near:
            del graph[q][p]
        for k, (q, y) in enumerate(near):
            for r, other in near[k + 1 :]:
                self._link(graph, q, r, y * (other / total))

    def difference(self, asked: V) -> complex:
        """v_a - v_b; the difference of two good voltages."""
        return self.voltage(asked.a) - self.voltage(asked.b)
