"""Oracle: OpenDSS, a distribution-system simulator, in steady state at 50 or 60 Hz.

Every conductor and every leak is one of its series reactors (R + jX between two nodes of any
kind), every source with the service conductor behind it one of its voltage sources. It solves in
node form, in doubles: where a chain of milliohms hangs on picofarads it keeps seven digits.
``inner`` are the nodes between a source and its service, which are not nodes to it.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
from opendssdirect import dss

from tests.oracles.circuit import GROUND, Circuit, Wire

STRAY_FED_OHMS = 1e-3  # a source wants an impedance; what it feeds here is under a microampere


class Network:
    """A circuit as it is put to OpenDSS; it has one circuit at a time."""

    def __init__(self, circuit: Circuit) -> None:
        self.at = circuit.at
        self.number = {GROUND: "earth.0"}
        self.number |= {name: f"n{k}.1" for k, name in enumerate(circuit.nodes(), 1)}
        self._hertz = circuit.hertz
        self.inner = {self.at(w.b): w for w in circuit.wires if w.emf}
        self._ends: dict[str, str] = {}
        self.reactor: dict[str, str] = {}  # what each conductor is called there
        self.lines = [
            "clear",
            f"set defaultbasefrequency={circuit.hertz!r}",
            "new circuit.oracle basekv=0.1 bus1=spare.1 bus2=spare.0 phases=1",
            *self._sources(circuit),
            *self._parts(circuit),
            "set mode=snap",
            "set controlmode=off",
        ]

    def _sources(self, circuit: Circuit) -> list[str]:
        """Each source with the service behind it as its own impedance."""
        lines: list[str] = []
        self._served: set[str] = set()
        for wire in circuit.wires:
            inner = {self.at(wire.a), self.at(wire.b)} & set(self.inner)
            if not inner or wire.emf:
                continue
            live = inner.pop()
            source = self.inner[live]
            far = self.at(wire.b) if self.at(wire.a) == live else self.at(wire.a)
            self._ends[live] = far
            self._served.add(wire.name)
            lines.append(self._source(len(lines), source, far, wire.ohms))
        for live, source in self.inner.items():
            if live not in self._ends:  # the service is gone: only its strays are left on it
                lines.append(self._source(len(lines), source, live, STRAY_FED_OHMS))
        return lines

    def _source(self, k: int, source: Wire, far: str, ohms: float) -> str:
        size, angle = abs(source.emf) / 1000, math.degrees(cmath.phase(source.emf))
        ends = f"bus1={self.number[far]} bus2={self.number[self.at(source.a)]}"
        z = f"[{ohms!r} 0]"
        return (
            f"new vsource.v{k} phases=1 {ends} basekv={size!r} pu=1 angle={angle!r} "
            f"z1={z} z0={z} z2={z}"
        )

    def _parts(self, circuit: Circuit) -> list[str]:
        w = 2 * math.pi * circuit.hertz
        found: list[tuple[str, str, complex]] = []
        for wire in circuit.wires:
            if not wire.emf and wire.name not in self._served:
                self.reactor[wire.name] = f"reactor.r{len(found)}"
                found.append((wire.a, wire.b, complex(wire.ohms, w * wire.henry)))
        for leak in circuit.leaks:
            y = complex(leak.siemens, w * leak.farads)
            ends = [self._ends.get(self.at(node), self.at(node)) for node in (leak.a, leak.b)]
            if y:
                found.append((ends[0], ends[1], 1 / y))
        for load in circuit.loads:
            assert load.kind == "heater", f"OpenDSS is asked for straight lines, not {load.kind}"
            found.append((load.a, load.b, complex(load.rated**2 / load.watts)))
        lines = []
        for k, (a, b, z) in enumerate(found):
            p, q = self.number[self.at(a)], self.number[self.at(b)]
            if p != q:
                lines.append(
                    f"new reactor.r{k} phases=1 bus1={p} bus2={q} r={z.real!r} x={z.imag!r}"
                )
        return lines

    def solve(self) -> dict[str, complex]:
        """Node voltages by the oracles' own names; sources' inner nodes are not among them."""
        dss.Text.Commands(self.lines)
        dss.Text.Command("solve mode=direct")
        flat = np.asarray(dss.Circuit.AllBusVolts())
        volts = dict(zip(dss.Circuit.AllNodeNames(), flat[0::2] + 1j * flat[1::2], strict=True))
        return {
            name: complex(volts[number]) if name != GROUND else 0j
            for name, number in self.number.items()
            if name == GROUND or number in volts
        }
