"""The tests of what is not one circuit: shared devices, the intake, bonds, appliances, use."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.faults.words import place_words, vocabulary
from halfsplit.instruments.reading import Reading
from halfsplit.proving import limits
from halfsplit.proving.circuit_tests import ELECTRONIC, CircuitTests
from halfsplit.proving.disturbed import Disturbed
from halfsplit.proving.drafts import Sheet, want
from halfsplit.proving.rules import NONE_HELD
from halfsplit.proving.steps import DEAD_CAUTION, LIVE_CAUTION
from halfsplit.quantity import ohms
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import Circuit, Device, Load
from halfsplit.wiring.plan import node


@dataclass(frozen=True, slots=True)
class OtherTests(CircuitTests):
    """Asks for the tests of everything beside the circuits."""

    def _shared_device(self, item: Disturbed, sheet: Sheet) -> None:
        """A main switch, or the device that a group of circuits shares."""
        inst = self.sites.inst
        why = f"{item.why}: the conductors were out of {item.device}"
        for board in inst.boards:
            covered = [c for c in inst.circuits if c.board == board.name]
            for group in board.groups:
                if group.device.name == item.device:
                    self._board(item, board.name, [c for c in covered if c.name in group.circuits],
                                group.device, why, sheet)  # fmt: skip
            if board.main.name == item.device:
                self._board(item, board.name, covered, board.main, why, sheet)

    def _board(
        self, item: Disturbed, board: str, circuits: Sequence[Circuit], device: Device, why: str,
        sheet: Sheet,
    ) -> None:  # fmt: skip
        sheet.add(
            want(
                "pull",
                "",
                device.name,
                "",
                f"every core holds at {device.name}, {board}",
                (
                    f"pull every core at {device.name} by hand: none may move",
                    "tighten to the maker's torque",
                ),
                (DEAD_CAUTION,),
                part="device",
            ),
            why,
        )
        sheet.add(want("polarity", "", device.name, "", f"polarity at {device.name}, {board}",
                        (f"see that each conductor enters and leaves {device.name} by its own pole,"
                         " supply and load the right way round where it matters",),
                        (DEAD_CAUTION,), "continuity", part="device"), why)  # fmt: skip
        for circuit in circuits:
            self._dead(circuit, why, sheet)
            self._insulation(circuit, why, False, sheet)
        if any(b.main is device for b in self.sites.inst.boards):
            self._supply_tests(board, why, sheet)
        if device.residual_amps and circuits:
            self._trip(device, circuits[0], why, sheet, timed=True)
        for circuit in circuits:  # its points were not opened: one try shows that it is fed
            sheet.add(want("works", "", circuit.name, circuit.name, f"{circuit.name} in use",
                            ("use something at any point of it",)), why)  # fmt: skip

    # Intake, bonds, appliances, function

    def _intake(self, item: Disturbed, sheet: Sheet) -> None:
        inst = self.sites.inst
        origin = place_words("origin", inst.region)
        board = inst.boards[0].name
        why = f"{item.why}: conductors at {origin} were disturbed"
        if item.intake == "electrode" or (inst.supply.earthing == "TT" and item.intake == "tail"):
            limit = limits.electrode_limit(inst)
            expected = inst.supply.electrode_ohms
            sheet.add(
                want("electrode", "", "", "", "resistance of the electrode",
                      ("isolate the installation and prove it dead", "take the electrode's "
                       "conductor off its terminal: an open item",
                       "measure with two auxiliary rods, or by loop from the supply's line",
                       "put the conductor back before anything is switched on"),
                      (LIVE_CAUTION,), "loop", limit=limit,
                      note="" if expected is None else f"described as {ohms(expected.value)}"), why,
            )  # fmt: skip
        self._supply_tests(board, why, sheet)
        for circuit in inst.circuits:
            self._residual(circuit, why, sheet, timed=True)

    def _supply_tests(self, board: str, why: str, sheet: Sheet) -> None:
        inst = self.sites.inst
        spot = next(s for s in self.sites.plan.spots if s.name == board)
        lines = [key for key in spot.conductors if key not in ("N", "E")]
        sheet.add(want("polarity", "", board, "", f"polarity of the supply at {board}",
                        (f"at {board}, before any circuit is switched on, each line against "
                         "neutral and against an independent earth",), (LIVE_CAUTION,),
                        "two-pole", supply=True), why)  # fmt: skip
        for line in lines:
            port = f"{line}-N"
            limit = limits.supply_limit(self.rules, inst, port)
            sheet.add(want("volts", port, board, "", f"voltage {port} at {board}",
                            (f"with everything off, measure {port} at the main switch",
                             "again with loads on: note both"), (LIVE_CAUTION,), "multimeter",
                            limit=limit), why)  # fmt: skip
        if self.rules.region != "na":
            a, b = node(board, lines[0], "in"), node(board, "E")
            reading = Reading("", "loop", a, b, instrument="loop",
                              conditions=Conditions(unplugged=("all",)))  # fmt: skip
            sheet.add(
                want("loop", "L-E", board, "", f"loop impedance at {board}",
                      ("with the main switch off, measure line to earth on its supply side",
                       "the main earthing conductor stays connected unless the test is of the "
                       "supply alone; if it is parted, the installation stays off"),
                      (LIVE_CAUTION,), "loop"), why, reading,
            )  # fmt: skip

    def _path(self, item: Disturbed, sheet: Sheet) -> None:
        why = f"{item.why}: the connection {item.path} was remade"
        sheet.add(
            want("continuity", "E", item.path, "", f"continuity of {item.path} end to end",
                  ("isolate, prove dead; the protective conductor may carry current of others: "
                   "clamp it first", "measure from end to end with a long lead, nulled"),
                  (DEAD_CAUTION,), "continuity", note=NONE_HELD, part="bond"), why,
        )  # fmt: skip

    def _load(self, item: Disturbed, sheet: Sheet) -> None:
        """An appliance by itself: unplugged, or, where it is fixed, isolated and parted."""
        name = item.load.rpartition("/")[2]
        why = f"{item.why}: {name} and its connection were opened"
        load, circuit = self._load_of(item.load), self.sites.circuit(item.circuit)
        fixed = load is not None and not load.plugged
        words = vocabulary(self.sites.inst.region)
        apart = "unplug it"
        pin, ends = f"the plug's {words['earth']} pin", "plug to case"
        cautions: tuple[str, ...] = ()
        if fixed and circuit is not None:
            self._dead(circuit, why, sheet)
            apart = "stay isolated and proved dead; part its live conductors: open items"
            pin, ends, cautions = (
                f"its {words['cpc']} terminal",
                "terminal to case",
                (DEAD_CAUTION,),
            )
        if load is not None and load.frame:
            sheet.add(
                want("continuity", "E", item.load, item.circuit,
                      f"protective conductor of {name}, {ends}",
                      (apart, f"measure from {pin} to bare metal of the case; bend the cord "
                       "meanwhile"), cautions, "continuity", ports=(("E",),)), why,
            )  # fmt: skip
        gentle = load is not None and load.kind in ELECTRONIC
        volts = 250 if gentle else 500
        sheet.add(
            want("insulation", "L+N-E", item.load, item.circuit,
                  f"insulation of {name}, live conductors together to case",
                  (f"{apart}, and switch it on at itself", f"join its live conductors, measure at "
                   f"{volts} V d.c. to the case or {pin}; never between them"), cautions,
                  f"insulation {volts}", ports=(("L+N-E",), ("L-E", "N-E")), limit=None), why,
        )  # fmt: skip
        use = "put it back, switch it on and use it" if fixed else "plug it in and use it"
        sheet.add(want("works", "", item.load, item.circuit, f"{name} in use", (use,)), why)

    def _load_of(self, id: str) -> Load | None:
        for circuit in self.sites.inst.circuits:
            for point in circuit.points:
                for load in point.loads:
                    if f"{point.name}/{load.name}" == id:
                        return load
        return None

    def _function(
        self, item: Disturbed, circuit: Circuit | None, places: Sequence[str], sheet: Sheet
    ) -> None:
        why = f"{item.why}: what is fed there must work again"
        if circuit is not None and not item.nothing:
            switches = [s.name for p in circuit.points for s in p.switches]
            if switches:
                sheet.add(
                    want("switching", "", circuit.name, circuit.name,
                          f"every switch position of {circuit.name} does what it should",
                          tuple(f"try {name} in every position, with the others each way"
                                for name in switches), (LIVE_CAUTION,)), why,
                )  # fmt: skip
        for place in places:
            point = self.sites.point(circuit, place) if circuit is not None else None
            if point is not None and point.kind in ("joint box", "switch", "isolator"):
                continue
            sheet.add(want("works", "", place, circuit.name if circuit else "", f"{place} in use",
                            (f"plug in or switch on at {place} and use it",)), why)  # fmt: skip
