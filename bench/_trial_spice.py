"""Truth by ngspice: one working point of a circuit whose loads are what they are.

At supply frequency every node is written twice, its real and its imaginary part; a capacitor then
couples the two halves. On a dead test there is one half only. Loads that are not linear are
currents, set by iteration from what the simulator says they see. One process of ngspice (Berkeley
SPICE, open source) serves a whole visit; answers come back as binary doubles.
"""

from __future__ import annotations

import math
import shutil
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from threading import Timer
from types import TracebackType
from typing import IO

import numpy as np
from numpy.typing import NDArray

from bench._trial_laws import Fixed, Law, law_of
from bench._trial_net import Draw, Net
from bench._trial_parts import EARTH, Shunt, Wire
from bench._trial_settle import Unsolved, drawn, settled

OPTIONS = ".options pivtol=1e-40 pivrel=0.1 reltol=1e-4 abstol=1e-7 vntol=1e-5 gmin=1e-16 itl1=100"
STIFF, STILL = 3, 0.05  # looks at the loads, and volts by which they may still move then
PATIENCE = 30.0  # s: a simulator that says nothing for so long is ended
LEAST_OHMS = 1e-5
PROGRAM = "ngspice"


class Volts:
    """Node voltages of one working point, to true earth."""

    def __init__(self, values: Mapping[str, float], number: Mapping[str, int], both: bool) -> None:
        self._values, self._number, self._both = values, number, both

    def at(self, node: str) -> complex:
        """Volts of a node; 0 for one that nothing touches."""
        k = self._number.get(node)
        if k is None:
            return 0j
        real = self._values[f"v(r{k})"]
        return complex(real, self._values[f"v(i{k})"] if self._both else 0.0)

    def between(self, a: str, b: str) -> complex:
        """Volts of ``a`` above ``b``."""
        return self.at(a) - self.at(b)

    def amps(self, wire: Wire) -> complex:
        """The current of a wire without an e.m.f., from its a to its b."""
        return self.between(wire.a, wire.b) / max(wire.ohms, LEAST_OHMS)


class Simulator:
    """One process of the simulator; use it in a ``with``."""

    def __init__(self) -> None:
        memory = Path("/dev/shm")
        self._folder = Path(
            tempfile.mkdtemp(prefix="trial-", dir=memory if memory.is_dir() else None)
        )
        self.solves = 0
        self._start()

    def _start(self) -> None:
        self._process = subprocess.Popen(
            [PROGRAM, "-p"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL, text=True, cwd=self._folder,
        )  # fmt: skip
        self._say("set filetype=binary")

    def __enter__(self) -> Simulator:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, what: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        self.close()

    def close(self) -> None:
        """End the process and take its files away."""
        self._process.kill()
        self._process.communicate()
        shutil.rmtree(self._folder, ignore_errors=True)

    def _say(self, text: str) -> None:
        self._pipe(self._process.stdin).write(text + "\n")

    @staticmethod
    def _pipe(stream: IO[str] | None) -> IO[str]:
        assert stream is not None
        return stream

    def solve(self, net: Net, thresholds: Mapping[str, float] | None = None) -> Volts:
        """The working point. Raises: Unsolved where none is found."""
        laws = [law_of(draw, net.hertz, thresholds or {}) for draw in net.draws]
        bent = [k for k, law in enumerate(laws) if law.curve is not None]
        deck = Deck(net, frozenset(bent))
        (self._folder / "deck.cir").write_text("\n".join(deck.lines))
        self._do(["source deck.cir", *_analysed(0)])
        try:
            return self._settle(net, deck, {k: laws[k] for k in bent})
        finally:
            self._do(["remcirc"])

    def ports(self, net: Net, pairs: Sequence[tuple[str, str]]) -> list[tuple[complex, complex]]:
        """(open volts, ohms) between each pair of nodes of a circuit whose loads are all out."""
        assert not net.draws, "what is not linear has no ohms of its own"
        tests = [Draw(f"port {a} {b}", a, b, "electronics", 1.0, 1.0) for a, b in pairs]
        deck = Deck(replace(net, draws=tests), frozenset(range(len(pairs))), own=False)
        (self._folder / "deck.cir").write_text("\n".join(deck.lines))
        asked = ["source deck.cir", *_analysed(0)]
        for k in range(len(pairs)):
            asked += [*_set(k, 1 + 0j, False), *_analysed(k + 1), *_set(k, 0j, False)]
        self._do([*asked, "remcirc"])
        openly = self._volts(0, deck)
        found = []
        for k, (a, b) in enumerate(pairs):
            volts = openly.between(a, b)
            found.append((volts, volts - self._volts(k + 1, deck).between(a, b)))
        return found

    def _settle(self, net: Net, deck: Deck, laws: Mapping[int, Law]) -> Volts:
        """Where the loads settle: on a stiff supply after a look or two, else by iteration."""
        volts = self._volts(0, deck)
        across = openly = self._across(net, laws, volts)
        for _ in range(STIFF):
            if not laws:
                return volts
            volts = self._drawing(deck, laws, drawn(list(laws.values()), across))
            before, across = across, self._across(net, laws, volts)
            if np.abs(across - before).max() <= STILL:
                return volts
        asked = []
        for k in laws:
            one = _set(k, 1 + 0j, deck.both)
            asked += [*_none(laws, deck), *one, *_analysed(k)]
        self._do(asked)
        each = [openly - self._across(net, laws, self._volts(k, deck)) for k in laws]
        amps = settled(list(laws.values()), openly, np.stack(each, axis=1))
        return self._drawing(deck, laws, amps)

    def _drawing(self, deck: Deck, laws: Mapping[int, Law], amps: Sequence[complex]) -> Volts:
        """The volts with the loads drawing just these amperes."""
        asked = [c for k, i in zip(laws, amps, strict=True) for c in _set(k, i, deck.both)]
        self._do([*asked, *_analysed(0)])
        return self._volts(0, deck)

    def _across(self, net: Net, laws: Mapping[int, Law], volts: Volts) -> NDArray[np.complex128]:
        return np.array([volts.between(net.draws[k].a, net.draws[k].b) for k in laws])

    def _do(self, commands: Sequence[str]) -> None:
        """Have commands done. Raises: Unsolved when nothing is heard of them."""
        self.solves += 1
        mark = f"done {self.solves}"
        for old in self._folder.glob("*.raw"):
            old.unlink()
        self._say("\n".join([*commands, f"echo {mark}"]))
        self._pipe(self._process.stdin).flush()
        if not self._heard(mark):
            self._process.kill()
            self._process.communicate()
            self._start()
            raise Unsolved("the simulator fell silent")

    def _volts(self, number: int, deck: Deck) -> Volts:
        path = self._folder / f"{number}.raw"
        if not path.exists():
            raise Unsolved(f"the simulator gave no answer {number}")
        return Volts(_read(path), deck.number, deck.both)

    def _heard(self, mark: str) -> bool:
        """Whether the simulator came to the mark before patience ran out."""
        watch = Timer(PATIENCE, self._process.kill)
        watch.start()
        try:
            return any(line.strip().endswith(mark) for line in self._pipe(self._process.stdout))
        finally:
            watch.cancel()


def _set(k: int, amps: complex, both: bool) -> list[str]:
    """Commands that let a load draw so much."""
    asked = [f"alter I{k}r dc = {amps.real!r}"]
    return [*asked, f"alter I{k}i dc = {amps.imag!r}"] if both else asked


def _none(laws: Mapping[int, Law], deck: Deck) -> list[str]:
    """Commands that let no load draw anything."""
    return [command for k in laws for command in _set(k, 0j, deck.both)]


def _analysed(number: int) -> tuple[str, ...]:
    """Commands for one working point, its answer by number."""
    return ("op", f"write {number}.raw all", "destroy all")


def _read(path: Path) -> dict[str, float]:
    head, _, body = path.read_bytes().partition(b"Binary:\n")
    listed = head.decode().partition("\nVariables:")[2].splitlines()
    names = [line.split()[1] for line in listed if line.strip()]
    return dict(zip(names, np.frombuffer(body, dtype=np.float64)[: len(names)].tolist(),
                    strict=True))  # fmt: skip


class Deck:
    """The netlist of one circuit, each load's own law left open as a current to be set."""

    def __init__(self, net: Net, bent: frozenset[int], own: bool = True) -> None:
        self.bent = bent
        self.own = own  # whether what stands beside a load's law is there
        self.both = net.hertz > 0
        self.omega = 2 * math.pi * net.hertz
        self.number: dict[str, int] = {}
        self.lines = ["* one circuit", OPTIONS]
        for k, wire in enumerate(net.wires):
            self._wire(k, wire)
        for k, shunt in enumerate(net.shunts):
            self._shunt(f"s{k}", shunt)
        for k, draw in enumerate(net.draws):
            self._draw(k, draw, net.hertz)
        self.lines += [".end", ""]

    def _at(self, half: str, node: str) -> str:
        if node == EARTH:
            return "0"
        k = self.number.setdefault(node, len(self.number) + 1)
        return f"{half}{k}"

    def _halves(self) -> str:
        return "ri" if self.both else "r"

    def _wire(self, k: int, wire: Wire) -> None:
        ohms = max(wire.ohms, LEAST_OHMS)
        reactance = self.omega * wire.henry
        for half in self._halves():
            a, b = self._at(half, wire.a), self._at(half, wire.b)
            emf = wire.emf.real if half == "r" else wire.emf.imag
            if emf or wire.emf:
                self.lines += [f"Vw{k}{half} m{half}{k} {a} dc {emf!r}",
                               f"Rw{k}{half} m{half}{k} {b} {ohms!r}"]  # fmt: skip
            elif reactance and self.both:
                # v = R i + j X i: each half also drops X times the other half's current.
                other, sign = ("i", -1) if half == "r" else ("r", 1)
                self.lines += [
                    f"Vx{k}{half} {a} m{half}{k} dc 0",
                    f"Rw{k}{half} m{half}{k} p{half}{k} {ohms!r}",
                    f"Hx{k}{half} p{half}{k} {b} Vx{k}{other} {sign * reactance!r}",
                ]
            else:
                self.lines.append(f"Rw{k}{half} {a} {b} {ohms!r}")

    def _shunt(self, k: str, shunt: Shunt) -> None:
        if shunt.a == shunt.b:
            return
        ends = {h: (self._at(h, shunt.a), self._at(h, shunt.b)) for h in self._halves()}
        if shunt.siemens:
            for half, (a, b) in ends.items():
                self.lines.append(f"R{k}{half} {a} {b} {1 / shunt.siemens!r}")
        if shunt.farads and self.both:
            (ar, br), (ai, bi) = ends["r"], ends["i"]
            size = self.omega * shunt.farads
            self.lines += [f"G{k}r {ar} {br} {ai} {bi} {-size!r}",
                           f"G{k}i {ai} {bi} {ar} {br} {size!r}"]  # fmt: skip

    def _draw(self, k: int, draw: Draw, hertz: float) -> None:
        fixed = law_of(draw, hertz, {}).fixed if self.own else Fixed()
        if math.isfinite(fixed.ohms) or fixed.farads:
            siemens = 0.0 if math.isinf(fixed.ohms) else 1 / fixed.ohms
            self._shunt(f"d{k}", Shunt(draw.a, draw.b, siemens, fixed.farads))
        for half in self._halves() if k in self.bent else "":
            a, b = self._at(half, draw.a), self._at(half, draw.b)
            self.lines.append(f"I{k}{half} {a} {b} dc 0")
