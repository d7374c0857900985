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

from bench._trial_laws import Law, law_of
from bench._trial_net import Draw, Net
from bench._trial_parts import EARTH, Shunt, Wire
from bench._trial_settle import Unsolved, drawn, settled

OPTIONS = ".options pivtol=1e-40 pivrel=0.1 reltol=1e-4 abstol=1e-7 vntol=1e-5 gmin=1e-16 itl1=100"
STIFF, STILL = 2, 0.05  # looks at the loads, and volts by which they may still move then
PATIENCE = 120.0  # s: a simulator that says nothing for so long is ended
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
        """The working point. Raises: Unsolved where none is found.

        On a stiff supply a look at the loads as they are at their rating, and one at what they then
        draw, are enough; else they are settled from what they see.
        """
        laws = [law_of(draw, net.hertz, thresholds or {}) for draw in net.draws]
        bent = {k: law for k, law in enumerate(laws) if law.curve is not None}
        deck = Deck(net, laws)
        volts = self._analysed(deck)
        for _ in range(STIFF):
            if not bent:
                return volts
            before = _across(net, bent, volts)
            amps = drawn(list(bent.values()), before)
            volts = self._analysed(Deck(net, laws, dict(zip(bent, amps, strict=True))))
            if np.abs(_across(net, bent, volts) - before).max() <= STILL:
                return volts
        nothing = dict.fromkeys(bent, 0j)
        openly = _across(net, bent, self._analysed(Deck(net, laws, nothing)))
        ones = (self._analysed(Deck(net, laws, {**nothing, k: 1 + 0j})) for k in bent)
        each = [openly - _across(net, bent, one) for one in ones]
        amps = settled(list(bent.values()), openly, np.stack(each, axis=1))
        return self._analysed(Deck(net, laws, dict(zip(bent, amps, strict=True))))

    def ports(self, net: Net, pairs: Sequence[tuple[str, str]]) -> list[tuple[complex, complex]]:
        """(open volts, ohms) between each pair of nodes of a circuit whose loads are all out."""
        assert not net.draws, "what is not linear has no ohms of its own"
        tests = [Draw(f"port {a} {b}", a, b, "heater", 1.0, 1.0) for a, b in pairs]
        nothing = [Law() for _ in pairs]
        openly = self._analysed(Deck(replace(net, draws=tests), nothing, {}))
        found = []
        for k, (a, b) in enumerate(pairs):
            one = self._analysed(Deck(replace(net, draws=tests), nothing, {k: 1 + 0j}))
            volts = openly.between(a, b)
            found.append((volts, volts - one.between(a, b)))
        return found

    def _analysed(self, deck: Deck) -> Volts:
        """One working point. Raises: Unsolved when nothing is heard of it.

        Each gets a circuit read anew: the simulator does not survive many of one.
        """
        self.solves += 1
        mark, raw = f"done {self.solves}", self._folder / "out.raw"
        raw.unlink(missing_ok=True)
        (self._folder / "deck.cir").write_text("\n".join(deck.lines))
        self._say("\n".join(["source deck.cir", "op", "write out.raw all", "destroy all",
                             "remcirc", f"echo {mark}"]))  # fmt: skip
        self._pipe(self._process.stdin).flush()
        if not self._heard(mark):
            self._process.kill()
            self._process.communicate()
            self._start()
            raise Unsolved("the simulator fell silent")
        if not raw.exists():
            raise Unsolved("the simulator gave no answer")
        return Volts(_read(raw), deck.number, deck.both)

    def _heard(self, mark: str) -> bool:
        """Whether the simulator came to the mark before patience ran out."""
        watch = Timer(PATIENCE, self._process.kill)
        watch.start()
        try:
            return any(line.strip().endswith(mark) for line in self._pipe(self._process.stdout))
        finally:
            watch.cancel()


def _across(net: Net, bent: Mapping[int, Law], volts: Volts) -> NDArray[np.complex128]:
    return np.array([volts.between(net.draws[k].a, net.draws[k].b) for k in bent])


def _read(path: Path) -> dict[str, float]:
    """The vectors of a binary raw file with one point."""
    head, _, body = path.read_bytes().partition(b"Binary:\n")
    listed = head.decode().partition("\nVariables:")[2].splitlines()
    names = [line.split()[1] for line in listed if line.strip()]
    return dict(zip(names, np.frombuffer(body, dtype=np.float64)[: len(names)].tolist(),
                    strict=True))  # fmt: skip


class Deck:
    """The netlist of one circuit.

    Loads that are not linear draw the currents ``amps``; without them, what they draw at their
    rating for each volt.
    """

    def __init__(
        self, net: Net, laws: Sequence[Law], amps: Mapping[int, complex] | None = None
    ) -> None:
        self.amps = amps
        self.both = net.hertz > 0
        self.omega = 2 * math.pi * net.hertz
        self.number: dict[str, int] = {}
        self.lines = ["* one circuit", OPTIONS]
        for k, wire in enumerate(net.wires):
            self._wire(k, wire)
        for k, shunt in enumerate(net.shunts):
            self._shunt(f"s{k}", shunt)
        for k, draw in enumerate(net.draws):
            self._draw(k, draw, laws[k])
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

    def _draw(self, k: int, draw: Draw, law: Law) -> None:
        y = 0j
        if math.isfinite(law.fixed.ohms):
            y += 1 / law.fixed.ohms
        if law.curve is not None and self.amps is None:
            y += law.curve.at(draw.rated) * law.phase
        farads = law.fixed.farads + (y.imag / self.omega if self.both else 0.0)
        if y.real or farads:
            self._shunt(f"d{k}", Shunt(draw.a, draw.b, y.real, farads))
        if self.amps is None or k not in self.amps:
            return
        for half in self._halves():
            a, b = self._at(half, draw.a), self._at(half, draw.b)
            size = self.amps[k].real if half == "r" else self.amps[k].imag
            self.lines.append(f"I{k}{half} {a} {b} dc {size!r}")
