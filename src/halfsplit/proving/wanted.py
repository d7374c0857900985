"""Which tests a mend needs, in the order the standards give, from what was disturbed.

No row says "this fault, those tests". Opening a point disturbs every conductor landed there, so
continuity, insulation, polarity and function follow for it and for what lies beyond; a cable adds
both its ends; a device adds its timing; the intake adds the supply. What a circuit does not have
(no protective conductor, no ring, no residual device) is not asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from halfsplit.proving.disturbed import Disturbed
from halfsplit.proving.drafts import Sheet, order_of, want
from halfsplit.proving.expected import expected_of
from halfsplit.proving.other_tests import OtherTests
from halfsplit.proving.result import Expected, Limit, Wanted
from halfsplit.quantity import ohms
from halfsplit.wiring.model import Circuit


@dataclass(frozen=True, slots=True)
class Planner(OtherTests):
    """Plans the tests of one job. ``every``: those that others make needless as well."""

    every: bool = False

    def tests(
        self, disturbed: Sequence[Disturbed], only: Callable[[Wanted], bool] = lambda _: True
    ) -> tuple[Wanted, ...]:
        """Every test that is needed, dead ones first, each once, with its expected value.

        ``only`` leaves out those that nobody asks after, before anything is solved.
        """
        sheet = Sheet()
        for item in disturbed:
            self._for(item, sheet)
        if disturbed:
            why = "what was complained of must be seen to be gone"
            sheet.add(
                want("symptom", "", "", "", "what was first complained of", ("use it as the "
                      "complaint said; where it came and went, long enough to be sure",)), why,
            )  # fmt: skip
        kept = [wanted for wanted in sheet.wanted.values() if only(wanted)]
        asks = {w.id: sheet.asks[w.id] for w in kept if w.id in sheet.asks}
        expected = dict(zip(asks, expected_of(self.sites, tuple(asks.values())), strict=True))
        every = [
            replace(self._with_expected(w, expected.get(w.id)), reading=asks.get(w.id))
            for w in kept
        ]
        every = self._farthest_loops(every)
        order = {id: k for k, id in enumerate(sheet.wanted)}
        return tuple(sorted(every, key=lambda w: (order_of(w.test), w.stage, order[w.id])))

    def _with_expected(self, wanted: Wanted, expected: Expected | None) -> Wanted:
        if expected is None:
            return wanted
        if wanted.test in ("continuity", "ring ends", "ring cross"):
            words = f"at most {ohms(expected.high)} by this wiring"
            source = "computed from the lengths and sizes described"
            limit = Limit(words, source, most=expected.high)
            return replace(wanted, expected=expected, limit=limit)
        return replace(wanted, expected=expected)

    def _farthest_loops(self, every: list[Wanted]) -> list[Wanted]:
        """Of the loop tests on one line of a circuit only the one farthest out is kept."""
        far: dict[tuple[str, str], Wanted] = {}
        for item in every:
            if item.test == "loop" and item.circuit:
                best = far.get((item.circuit, item.port))
                if best is None or _loop(item) > _loop(best):
                    far[item.circuit, item.port] = item
        return [w for w in every
                if w.test != "loop" or not w.circuit or far[w.circuit, w.port] is w]  # fmt: skip

    def _for(self, item: Disturbed, sheet: Sheet) -> None:
        circuit = self.sites.circuit(item.circuit)
        if item.nothing:
            self._function(item, circuit, (item.place,) if item.place else (), sheet)
        elif item.intake:
            self._intake(item, sheet)
        elif item.path:
            self._path(item, sheet)
        elif item.load:
            self._load(item, sheet)
        elif item.device and (circuit is None or circuit.device.name != item.device):
            point = self._point_with(item.device, circuit)
            if circuit is not None and point:
                self._on_circuit(replace(item, device="", place=point), circuit, sheet)
            else:
                self._shared_device(item, sheet)
        elif circuit is not None:
            self._on_circuit(item, circuit, sheet)

    def _point_with(self, device: str, circuit: Circuit | None) -> str:
        """The point of a circuit that a device stands in; "" for one at a board."""
        points = circuit.points if circuit is not None else ()
        return next((p.name for p in points if p.device and p.device.name == device), "")

    def _on_circuit(self, item: Disturbed, circuit: Circuit, sheet: Sheet) -> None:
        own, why = self._places(item, circuit)
        places = tuple(dict.fromkeys(p for p in own if p != circuit.board))
        beyond = dict.fromkeys(end for place in own for end in self.sites.ends(circuit, place))
        tested = tuple(dict.fromkeys((*places, *beyond)))
        self._dead(circuit, why, sheet)
        crossed = self._crossed(circuit, item, tested)
        for place in tested:
            if self.every or place not in crossed:
                self._continuity(circuit, place, why, sheet)
        if crossed:
            self._ring(circuit, crossed, why, sheet)
        between = bool(item.run) or {"L", "N"} <= set(item.conductors) or not item.conductors
        self._insulation(circuit, why, between, sheet)
        for place in own:
            self._look(circuit, place, why, sheet)
        for place in tested:
            self._loop(circuit, place, why, sheet)
        self._residual(circuit, why, sheet, timed=True)
        fed = dict.fromkeys(b for p in own for b in (p, *self.sites.beyond(circuit, p)))
        self._function(item, circuit, tuple(p for p in fed if p != circuit.board), sheet)

    def _places(self, item: Disturbed, circuit: Circuit) -> tuple[tuple[str, ...], str]:
        """The places a disturbance touches directly, and why they are tested."""
        if item.run:
            run = next(run for run in circuit.runs if run.name == item.run)
            return (run.start, run.end), f"{item.why}: cable {item.run} and its joints at both ends"
        if item.device:
            return (circuit.board,), f"{item.why}: the circuit's conductors were out of it"
        return (item.place,), f"{item.why}: every conductor landed at {item.place} was disturbed"

    def _crossed(self, circuit: Circuit, item: Disturbed, tested: Sequence[str]) -> tuple[str, ...]:
        """Points of a ring to read with its opposite ends joined, instead of R1+R2; none where
        the part lies on a spur, which has no way round, or rings are not part of the practice.
        """
        ring = self.sites.ring(circuit) if self.rules.ring else frozenset()
        if item.run:
            run = next(r for r in circuit.runs if r.name == item.run)
            touched = {run.start, run.end} <= {*ring, circuit.board}
        else:
            touched = item.place in ("", circuit.board) or item.place in ring
        return tuple(p for p in tested if p in ring) if touched else ()


def _loop(item: Wanted) -> float:
    return item.expected.value if item.expected else -1.0
