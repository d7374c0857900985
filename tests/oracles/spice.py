"""Oracle: ngspice, on a netlist written from the oracles' own reading of the plan.

ngspice (Berkeley SPICE, open source) adds its resistors as conductances between nodes, which
loses digits where a few picofarad hang on a few milliohm. So each conductor is written as SPICE's
current-controlled source: a voltage of R times the conductor's own current. That is a resistor
exactly, and the simulator keeps the current as an unknown. Many circuits go through one process:
each is sourced, solved and written as raw binary doubles (more digits than ``numdgt=12`` prints).
"""

from __future__ import annotations

import cmath
import math
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from halfsplit.tables import lamps
from tests.oracles.circuit import GROUND, Circuit, Drawing, Wire

OPTIONS = ".options pivtol=1e-40 pivrel=0.7 reltol=1e-12 abstol=1e-18 vntol=1e-14 gmin=1e-40"
# With a law to follow, currents settle no closer than their last digits.
LAWFUL = ".options pivtol=1e-40 pivrel=0.7 reltol=1e-9 abstol=1e-14 vntol=1e-10 gmin=1e-40"
TESTER_AMPS = 1e-3


@dataclass(frozen=True)
class Question:
    """A circuit to solve: live (one answer), or dead with a tester put on each of ``ports``."""

    circuit: Circuit
    ports: tuple[tuple[str, str], ...] = ()


class Deck:
    """The netlist of one circuit; ``direct`` solves real phasors as direct voltages."""

    def __init__(self, question: Question, direct: bool = False) -> None:
        circuit = question.circuit
        self.at = circuit.at
        self.direct = direct or circuit.hertz == 0
        self.number = {GROUND: "0"}
        self.number |= {name: f"n{k}" for k, name in enumerate(circuit.nodes(), 1)}
        self.lines = ["* oracle", LAWFUL if direct else OPTIONS]
        for k, wire in enumerate(circuit.wires):
            self._wire(k, wire, 0.0 if self.direct else wire.henry)
        for k, leak in enumerate(circuit.leaks):
            a, b = self._pair(leak.a, leak.b)
            if a != b and leak.siemens:
                self.lines.append(f"Rg{k} {a} {b} {1 / leak.siemens!r}")
            if a != b and leak.farads and not self.direct:
                self.lines.append(f"Cg{k} {a} {b} {leak.farads!r}")
        for k, load in enumerate(circuit.loads):
            self._load(k, load)
        for k, (a, b) in enumerate(question.ports):
            pair = " ".join(self._pair(a, b))
            self.lines.append(f"Itest{k} {pair} dc 0")
        self.ports = len(question.ports)
        # A source counts current from its first node through itself to its second.
        self.senses = {
            wire.name: (f"i(vw{k})", -1.0 if wire.emf else 1.0)
            for k, wire in enumerate(circuit.wires)
        }

    def _pair(self, a: str, b: str) -> tuple[str, str]:
        return self.number[self.at(a)], self.number[self.at(b)]

    def _wire(self, k: int, wire: Wire, henry: float) -> None:
        a, b = self._pair(wire.a, wire.b)
        if a == b:
            return
        sense, rest = f"s{k}", f"w{k}"
        size, angle = abs(wire.emf), math.degrees(cmath.phase(wire.emf))
        self.lines.append(
            f"Vw{k} {sense} {a} dc {wire.emf.real!r} ac {size!r} {angle!r}"
            if wire.emf
            else f"Vw{k} {a} {sense} dc 0"
        )
        ohms = -wire.ohms if wire.emf else wire.ohms
        self.lines.append(f"Hw{k} {sense} {rest if henry else b} Vw{k} {ohms!r}")
        if henry:
            self.lines.append(f"Lw{k} {rest} {b} {henry!r}")

    def _load(self, k: int, load: Drawing) -> None:
        a, b = self._pair(load.a, load.b)
        hot = load.rated**2 / load.watts
        if a == b:
            return
        if load.kind == "heater":
            self.lines.append(f"Rl{k} {a} {b} {hot!r}")
            return
        assert load.kind == "filament", f"the simulator knows no {load.kind}"
        assert self.direct, "a filament's law needs real phasors"
        self.lines.append(f"Bl{k} {a} {b} I={_filament(load, f'v({a},{b})')}")

    def script(self, out: Path) -> list[str]:
        """Solve and write: one raw file, or one for each port."""
        run = "op" if self.direct else None
        if self.ports == 0:
            return [run or "ac lin 1 {hz} {hz}", f"write {out}.raw all"]
        lines = []
        for k in range(self.ports):
            lines += [f"alter Itest{k} dc = {TESTER_AMPS!r}", "op", f"write {out}.{k}.raw all"]
            lines += [f"alter Itest{k} dc = 0", "destroy all"]
        return lines


def _filament(load: Drawing, volts: str) -> str:
    """Current as the trade's law has it: about V^0.54, resistance cold a tenth of hot."""
    half = lamps.RESISTANCE_EXPONENT.value / 2
    root = lamps.COLD_SHARE.value ** (1 / half)
    square = root / (1 - root)
    warm = f"(({volts}*{volts}/{load.rated**2!r}+{square!r})/{1 + square!r})"
    return f"{volts}*{load.watts / load.rated**2!r}*{warm}^({-half!r})"


class Solution:
    """Node voltages of one analysis."""

    def __init__(self, deck: Deck, path: Path) -> None:
        self._deck, self._values = deck, read_raw(path)

    def volts(self, a: str, b: str) -> complex:
        """v_a - v_b."""
        return self._volt(a) - self._volt(b)

    def amps(self, wire: str) -> complex:
        """The current of a conductor, from its a to its b; 0 where it has been taken out."""
        sense, sign = self._deck.senses.get(wire, ("", 0.0))
        return sign * complex(self._values[sense]) if sense else 0j

    def _volt(self, node: str) -> complex:
        number = self._deck.number[self._deck.at(node)]
        return 0j if number == "0" else complex(self._values[f"v({number})"])


def solve(
    program: str, questions: Sequence[Question], folder: Path, direct: bool = False
) -> list[list[Solution]]:
    """Everything through one process; for each question its solutions, one per port if dead."""
    decks = [Deck(question, direct) for question in questions]
    script = ["* all", ".control", "set filetype=binary", "set numdgt=12"]
    for k, (deck, question) in enumerate(zip(decks, questions, strict=True)):
        netlist = folder / f"c{k}.cir"
        netlist.write_text("\n".join([*deck.lines, ".end", ""]))
        hertz = repr(question.circuit.hertz)
        lines = [line.replace("{hz}", hertz) for line in deck.script(folder / f"c{k}")]
        script += [f"source {netlist}", *lines, "destroy all", "remcirc"]
    master = folder / "all.cir"
    master.write_text("\n".join([*script, "quit", ".endc", ".end", ""]))
    done = subprocess.run(
        [program, "-b", str(master)], capture_output=True, text=True, timeout=120, check=False
    )
    found = []
    for k, deck in enumerate(decks):
        files = [f"c{k}.{port}.raw" for port in range(deck.ports)] or [f"c{k}.raw"]
        for name in files:
            assert (folder / name).exists(), f"no answer in {name}: {done.stdout}{done.stderr}"
        found.append([Solution(deck, folder / name) for name in files])
    return found


def read_raw(path: Path) -> dict[str, complex]:
    """The vectors of a binary raw file with one point."""
    head, _, body = path.read_bytes().partition(b"Binary:\n")
    text = head.decode()
    names = [line.split()[1] for line in text.partition("\nVariables:")[2].splitlines() if line]
    kind = np.complex128 if "Flags: complex" in text else np.float64
    values: NDArray[np.complex128] = np.frombuffer(body, dtype=kind)[: len(names)].astype(complex)
    return dict(zip(names, values, strict=True))
