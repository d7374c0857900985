"""Oracle: node voltages with 50 digits (mpmath), on the oracles' own reading of the plan.

Node form, which a double cannot afford: what hangs on a few picofarad keeps 20 digits or more of
the 50. Nodes are eliminated in order of fewest neighbours, and nothing of the program's solver,
ordering or lowering is used.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

import mpmath as mp

from tests.oracles.circuit import GROUND, Circuit

DIGITS = 50
Number = Any  # mpf or mpc; mpmath has no types


class Exact:
    """A circuit solved; heaters are what they are, other loads are left out and hang on ports."""

    def __init__(self, circuit: Circuit) -> None:
        self.at = circuit.at
        self._rows: dict[str, dict[str, Number]] = defaultdict(dict)
        self._sources: dict[str, Number] = defaultdict(mp.mpf)
        with mp.workdps(DIGITS):
            self._stamp(circuit)
            self._eliminate()
            self._volts = self._back(self._sources)

    def _stamp(self, circuit: Circuit) -> None:
        w = 2 * mp.pi * mp.mpf(circuit.hertz)
        for wire in circuit.wires:
            ohms, henry = mp.mpf(wire.ohms), w * mp.mpf(wire.henry)
            if ohms == 0 and henry == 0:
                # An ideal source: a resistance that 50 digits do not see beside what follows it.
                ohms = mp.mpf(10) ** -24
            y = 1 / (mp.mpc(ohms, henry) if henry else ohms)
            a, b = self._admit(wire.a, wire.b, y)
            if wire.emf:
                emf = mp.mpc(wire.emf)
                self._sources[a] -= y * emf
                self._sources[b] += y * emf
        for leak in circuit.leaks:
            susceptance = w * mp.mpf(leak.farads)
            siemens = mp.mpf(leak.siemens)
            self._admit(leak.a, leak.b, mp.mpc(siemens, susceptance) if susceptance else siemens)
        for load in circuit.loads:
            if load.kind == "heater":
                self._admit(load.a, load.b, mp.mpf(load.watts) / mp.mpf(load.rated) ** 2)

    def _admit(self, a: str, b: str, y: Number) -> tuple[str, str]:
        a, b = self.at(a), self.at(b)
        if a != b and y != 0:
            for p, q in ((a, b), (b, a)):
                row = self._rows[p]
                row[p] = row.get(p, mp.mpf(0)) + y
                row[q] = row.get(q, mp.mpf(0)) - y
        return a, b

    def _eliminate(self) -> None:
        rows = {p: dict(row) for p, row in self._rows.items() if p != GROUND}
        for row in rows.values():
            row.pop(GROUND, None)
        self._steps: list[tuple[str, Number, dict[str, Number]]] = []
        while rows:
            p = min(rows, key=lambda node: len(rows[node]))
            row = rows.pop(p)
            pivot = row.pop(p)
            self._steps.append((p, pivot, row))
            for q in row:
                other = rows[q]
                share = other.pop(p) / pivot
                for k, value in row.items():
                    other[k] = other.get(k, mp.mpf(0)) - share * value

    def _back(self, injected: dict[str, Number]) -> dict[str, Number]:
        right: dict[str, Number] = defaultdict(mp.mpf, injected)
        for p, pivot, row in self._steps:
            if right[p]:
                for q, value in row.items():
                    right[q] -= value / pivot * right[p]
        found: dict[str, Number] = {GROUND: mp.mpf(0)}
        for p, pivot, row in reversed(self._steps):
            found[p] = (right[p] - mp.fsum(y * found[q] for q, y in row.items())) / pivot
        return found

    def volts(self, a: str, b: str) -> complex:
        """v_a - v_b, rounded once at the end."""
        with mp.workdps(DIGITS):
            return complex(self._volts[self.at(a)] - self._volts[self.at(b)])

    def ohms(self, port: tuple[str, str], seen: Iterable[tuple[str, str]]) -> list[complex]:
        """What each pair in ``seen`` drops per ampere drawn at ``port``."""
        injected: dict[str, Number] = defaultdict(mp.mpf)
        with mp.workdps(DIGITS):
            injected[self.at(port[0])] += 1
            injected[self.at(port[1])] -= 1
            back = self._back(injected)
            return [complex(back[self.at(a)] - back[self.at(b)]) for a, b in seen]
