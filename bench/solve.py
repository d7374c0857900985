"""Single faults solved per second, beside a circuit simulator and a distribution simulator."""

from __future__ import annotations

import argparse
import math
import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from opendssdirect import dss as engine

from halfsplit.diagnosis.encoded import encode
from halfsplit.diagnosis.scene import build_scene
from halfsplit.diagnosis.solve import solve_rows
from halfsplit.network import V
from halfsplit.wiring.conditions import AS_DESCRIBED
from halfsplit.wiring.effects import Added, Bridged
from halfsplit.wiring.layout import lay_out
from halfsplit.wiring.plan import Plan
from tests.oracles.circuit import Circuit, make
from tests.oracles.dss import Network
from tests.oracles.one_line import row

Volts = NDArray[np.complex128]
Pair = tuple[str, str]
SERIES_OHMS = (math.inf, 0.3, 3.0, 30.0, 300.0, 3e3, 30e3)
SHUNT_SIEMENS = (10.0, 0.1, 1e-3, 1e-5, 1e-7)
# Neither simulator can take a part out or put one in between analyses without reading the circuit
# anew, so an open is this many ohms to ngspice, and a leak that is not there as many.
AS_GOOD_AS_OPEN = 1e15
SAME_CIRCUIT = 1e-3  # V: what an answer may differ by and still be one to the same question


@dataclass(frozen=True)
class Task:
    """The radial, its single faults and the readings that each must predict."""

    plan: Plan
    faults: tuple[Added | Bridged, ...]
    pairs: tuple[Pair, ...]


@dataclass(frozen=True)
class Run:
    """What one program did: volts (H, R), seconds for all faults, seconds before the first."""

    name: str
    volts: Volts
    seconds: float
    start: float
    note: str


def task(points: int) -> Task:
    """Every joint, core, contact and pole in seven severities, every pair at a point in five."""
    plan = lay_out(row(points))
    series = [
        Added(e.id, ohms)
        for e in plan.elements
        if e.kind in ("joint", "core", "contact", "pole")
        for ohms in SERIES_OHMS
    ]
    spots = [s.name for s in plan.spots if s.kind not in ("origin", "board")]
    pairs = [(f"{s}.{a}", f"{s}.{b}") for s in spots for a, b in ("LN", "LE", "NE")]
    shunts = [Bridged(a, b, siemens) for a, b in pairs for siemens in SHUNT_SIEMENS]
    return Task(plan, (*series, *shunts), tuple(pairs))


def best(work: Callable[[], Volts], times: int) -> tuple[Volts, float]:
    """The answer and the least processor time of several goes, its child processes' included."""
    shortest = math.inf
    for _ in range(times):
        begun = spent()
        answer = work()
        shortest = min(shortest, spent() - begun)
    return answer, shortest


def spent() -> float:
    """Processor seconds so far: what else the machine does meanwhile does not count."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def ours(asked: Task, times: int, impedance: bool) -> Run:
    """build_scene, touches and solve_rows, as diagnosis calls them; no device parts."""
    wanted = [V(*pair) for pair in asked.pairs]
    effects = [(fault,) for fault in asked.faults]

    def whole() -> Volts:
        scene, touches = build_scene(asked.plan, AS_DESCRIBED, wanted, effects)
        rows = encode(scene, [touches.all(one) for one in effects])
        held = frozenset((h, way.name) for h in range(len(rows)) for way in scene.ways)
        ports, beside = (wanted, []) if impedance else ([], wanted)
        answers = solve_rows(scene, rows, ports, beside, held)
        return answers.f[:, [answers.at[one] for one in wanted]]

    begun = spent()
    whole()
    first = spent() - begun
    volts, seconds = best(whole, times)
    name = "halfsplit, with impedances" if impedance else "halfsplit"
    what = "reads the plan and factorises within the time"
    return Run(name, volts, seconds, max(first - seconds, 0.0), what)


class Netlist:
    """The radial for ngspice: plain resistors, inductors, capacitors, and a leak at every pair."""

    def __init__(self, circuit: Circuit, pairs: tuple[Pair, ...]) -> None:
        self.number = {"earth": "0"}
        self.number |= {name: f"n{k}" for k, name in enumerate(circuit.nodes(), 1)}
        self.resistor: dict[str | Pair, tuple[str, float]] = {}
        self.lines = ["* radial"]
        for k, wire in enumerate(circuit.wires):
            a, b = self.number[wire.a], self.number[wire.b]
            if wire.emf:
                self.lines.append(f"V{k} {b} {a} ac {abs(wire.emf)!r}")
                continue
            middle = f"m{k}" if wire.henry else b
            self.resistor[wire.name] = (f"r{k}", wire.ohms)
            self.lines.append(f"R{k} {a} {middle} {wire.ohms!r}")
            if wire.henry:
                self.lines.append(f"L{k} {middle} {b} {wire.henry!r}")
        for k, leak in enumerate(circuit.leaks):
            ends = f"{self.number[leak.a]} {self.number[leak.b]}"
            self.lines += [f"Rg{k} {ends} {1 / leak.siemens!r}"] if leak.siemens else []
            self.lines += [f"Cg{k} {ends} {leak.farads!r}"] if leak.farads else []
        for k, load in enumerate(circuit.loads):
            ends = f"{self.number[load.a]} {self.number[load.b]}"
            self.lines.append(f"Rl{k} {ends} {load.rated**2 / load.watts!r}")
        for k, (a, b) in enumerate(pairs):
            self.resistor[a, b] = (f"rx{k}", AS_GOOD_AS_OPEN)
            self.lines.append(f"Rx{k} {self.number[a]} {self.number[b]} {AS_GOOD_AS_OPEN!r}")

    def change(self, fault: Added | Bridged) -> tuple[str, str]:
        """The commands that make a fault and mend it."""
        if isinstance(fault, Added):
            name, ohms = self.resistor[fault.element]
            made = AS_GOOD_AS_OPEN if math.isinf(fault.ohms) else ohms + fault.ohms
        else:
            name, ohms = self.resistor[fault.a, fault.b]
            made = 1 / fault.siemens
        return f"alter {name} = {made!r}", f"alter {name} = {ohms!r}"

    def script(self, asked: Task, hertz: float, how: str) -> str:
        """One process: the circuit read once, then alter, solve, alter back, unrolled.

        ``noopac`` spares it the operating point that a linear circuit does not need.
        """
        nodes = dict.fromkeys(self.number[node] for pair in asked.pairs for node in pair)
        lines = ["set filetype=binary", "set appendwrite", "save " + " ".join(nodes)]
        for fault in asked.faults if how != "nothing" else ():
            made, mended = self.change(fault)
            lines += [made, f"ac lin 1 {hertz!r} {hertz!r}", mended]
            lines += ["write out.raw", "destroy"] if how == "written" else ["destroy"]
        control = [".control", *lines, "quit", ".endc", ".end", ""]
        return "\n".join([*self.lines, ".options pivtol=1e-40 noopac", *control])


def ngspice(asked: Task, times: int) -> list[Run]:
    """The circuit simulator, with its answers written out and with its analyses alone."""
    program = shutil.which("ngspice")
    if program is None:
        sys.exit("ngspice is not installed; run scripts/outside, or install ngspice with apt")
    netlist = Netlist(make(asked.plan, AS_DESCRIBED), asked.pairs)
    took: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        for how in ("nothing", "alone", "written"):
            deck = Path(folder, f"{how}.cir")
            deck.write_text(netlist.script(asked, asked.plan.hertz, how))

            def once(deck: Path = deck) -> Volts:
                Path(folder, "out.raw").unlink(missing_ok=True)
                subprocess.run([program, "-b", deck], cwd=folder, capture_output=True, check=False)
                return np.empty((0, 0), dtype=np.complex128)

            took[how] = best(once, times)[1]
        volts = read_raws(Path(folder, "out.raw"), netlist, asked.pairs)
    start = took["nothing"]
    runs = (("ngspice", "written", "raw file written"), ("ngspice, analyses alone", "alone", ""))
    return [Run(name, volts, took[how] - start, start, note) for name, how, note in runs]


def read_raws(path: Path, netlist: Netlist, pairs: tuple[Pair, ...]) -> Volts:
    """Volts (H, R) from the appended plots of one raw file, one point each."""
    found = []
    rest = path.read_bytes()
    while rest:
        head, _, rest = rest.partition(b"Binary:\n")
        listed = head.decode().partition("\nVariables:")[2].splitlines()
        names = [line.split()[1] for line in listed if line]
        values = np.frombuffer(rest[: 16 * len(names)], dtype=np.complex128)
        rest = rest[16 * len(names) :].lstrip(b"\n")
        at = dict(zip(names, values, strict=True))
        ends = [[at[f"v({netlist.number[node]})"] for node in pair] for pair in pairs]
        found.append([a - b for a, b in ends])
    return np.array(found)


def opendss(asked: Task, times: int) -> Run:
    """The distribution simulator in this process: edit a part, solve directly, edit it back."""
    begun = spent()
    network = Network(make(asked.plan, AS_DESCRIBED))
    circuit = {wire.name: wire.ohms for wire in make(asked.plan, AS_DESCRIBED).wires}
    network.solve()
    leak = {pair: f"reactor.x{k}" for k, pair in enumerate(asked.pairs)}
    for (a, b), name in leak.items():
        ends = f"bus1={network.number[a]} bus2={network.number[b]}"
        engine.Text.Command(f"new {name} phases=1 {ends} r=1 x=0 enabled=no")
    engine.Text.Command("set mode=direct")
    engine.Solution.Solve()
    start = spent() - begun

    def change(fault: Added | Bridged) -> tuple[str, str]:
        if isinstance(fault, Bridged):
            name = leak[fault.a, fault.b]
            return f"edit {name} r={1 / fault.siemens!r} enabled=yes", f"edit {name} enabled=no"
        name, ohms = network.reactor[fault.element], circuit[fault.element]
        if math.isinf(fault.ohms):
            return f"edit {name} enabled=no", f"edit {name} enabled=yes"
        return f"edit {name} r={ohms + fault.ohms!r}", f"edit {name} r={ohms!r}"

    changes = [change(fault) for fault in asked.faults]

    def places() -> NDArray[np.intp]:
        # It numbers its nodes anew when a part is taken out or put in.
        order = {name: k for k, name in enumerate(engine.Circuit.AllNodeNames())}
        ends = [[order[network.number[node]] for node in pair] for pair in asked.pairs]
        return np.array(ends, dtype=np.intp)

    def whole() -> Volts:
        at, renumbered = places(), False
        volts = np.empty((len(changes), len(asked.pairs)), dtype=np.complex128)
        for h, (made, mended) in enumerate(changes):
            engine.Text.Command(made)
            engine.Solution.Solve()
            if renumbered or "enabled" in made:
                at, renumbered = places(), "enabled" in made
            flat = np.asarray(engine.Circuit.AllBusVolts())
            values = flat[0::2] + 1j * flat[1::2]
            volts[h] = values[at[:, 0]] - values[at[:, 1]]
            engine.Text.Command(mended)
        return volts

    volts, seconds = best(whole, times)
    return Run("OpenDSS", volts, seconds, start, "in this process")


def report(runs: list[Run], asked: Task) -> bool:
    """Print the table; whether all programs answered the same question."""
    first = runs[0]
    size = len(asked.faults)
    print(f"{size} single faults, {len(asked.pairs)} voltages each, {os.cpu_count()} processors")
    print(f"{len(asked.plan.elements)} conductors, {len(asked.plan.couplings)} leaks, live\n")
    print(f"{'':28}{'faults/s':>10}{'one takes':>12}{'slower by':>11}{'start':>9}  apart at most")
    same = True
    for run in runs:
        ratio = run.seconds / first.seconds
        apart = float(np.abs(run.volts - first.volts).max())
        same &= apart <= SAME_CIRCUIT
        print(
            f"{run.name:28}{size / run.seconds:10,.0f}{run.seconds / size * 1e6:9,.1f} µs"
            f"{ratio:10.1f}x{run.start:7.2f} s  {apart:8.1e} V  {run.note}"
        )
    print("\nProcessor time, best of the goes. Start (loading the program, reading the")
    print("circuit) is left out of the simulators' rates; halfsplit's holds its plan's reading.")
    return same


def main() -> None:
    """Solve, compare, print; ends with 1 when the programs did not answer the same question."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=12, help="outlets on the radial")
    parser.add_argument("--times", type=int, default=3, help="runs, of which the best counts")
    chosen = parser.parse_args()
    asked = task(chosen.points)
    runs = [ours(asked, chosen.times, False), ours(asked, chosen.times, True)]
    runs += [*ngspice(asked, chosen.times), opendss(asked, chosen.times)]
    if not report(runs, asked):
        sys.exit(f"The answers are more than {SAME_CIRCUIT} V apart: not the same circuit.")


if __name__ == "__main__":
    main()
