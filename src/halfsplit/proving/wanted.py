"""Which tests a mend needs, in the order the standards give, from what was disturbed.

No row says "this fault, those tests". Opening a point disturbs every conductor landed there, so
continuity, insulation, polarity and function follow for it and for what lies beyond; a cable adds
both its ends; a device adds its timing; the intake adds the supply. What a circuit does not have
(no protective conductor, no ring, no residual device) is not asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
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
    """Plans the tests of one job."""

    def tests(self, disturbed: Sequence[Disturbed]) -> tuple[Wanted, ...]:
        """Every test that is needed, dead ones first, each once, with its expected value."""
        sheet = Sheet()
        for item in disturbed:
            self._for(item, sheet)
        if disturbed:
            why = "what was complained of must be seen to be gone"
            sheet.add(
                want("symptom", "", "", "", "the first complaint is gone", ("use it as the "
                      "complaint said; where it came and went, long enough to be sure",)), why,
            )  # fmt: skip
        found = expected_of(self.sites, tuple(sheet.asks.values()))
        expected = dict(zip(sheet.asks, found, strict=True))
        every = [self._with_expected(w, expected.get(w.id)) for w in sheet.wanted.values()]
        every = self._farthest_loops([w for w in every if w is not None])
        order = {id: k for k, id in enumerate(sheet.wanted)}
        return tuple(sorted(every, key=lambda w: (order_of(w.test), order[w.id])))

    def _with_expected(self, wanted: Wanted, expected: Expected | None) -> Wanted:
        if expected is None:
            return wanted
        if wanted.test in ("continuity", "ring ends", "ring cross"):
            words = f"at most {ohms(expected.high)}: what this circuit's wiring gives"
            source = "computed from the lengths and sizes described"
            limit = Limit(words, source, most=expected.high)
            return replace(wanted, expected=expected, limit=limit)
        return replace(wanted, expected=expected)

    def _farthest_loops(self, every: list[Wanted]) -> list[Wanted]:
        """Of the loop tests on one circuit only the one at its far end is kept."""
        far: dict[str, Wanted] = {}
        for item in every:
            if item.test == "loop" and item.circuit:
                best = far.get(item.circuit)
                if best is None or _loop(item) > _loop(best):
                    far[item.circuit] = item
        return [w for w in every if w.test != "loop" or not w.circuit or far[w.circuit] is w]

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
        for place in tested:
            self._continuity(circuit, place, why, sheet)
        if circuit.shape == "ring" and self.rules.ring and self._touches_ring(circuit, item):
            self._ring(circuit, places or tested, why, sheet)
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

    def _touches_ring(self, circuit: Circuit, item: Disturbed) -> bool:
        """Whether the part lies in the ring itself and not on a spur, which has no way round."""
        home = {run.start for run in circuit.runs if run.end == circuit.board}
        on_ring = set(home)
        while True:
            more = {run.start for run in circuit.runs if run.end in on_ring} - on_ring
            if not more:
                break
            on_ring |= more
        if item.run:
            run = next(r for r in circuit.runs if r.name == item.run)
            return run.start in on_ring and run.end in (*on_ring, circuit.board)
        return not item.place or item.place in on_ring


def _loop(item: Wanted) -> float:
    return item.expected.value if item.expected else -1.0
