"""The tests of one circuit: continuity, ring, insulation, polarity, loop, residual devices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from halfsplit.instruments.reading import Reading
from halfsplit.proving import limits
from halfsplit.proving.drafts import Sheet, want
from halfsplit.proving.rules import Rules
from halfsplit.proving.sites import Sites
from halfsplit.proving.steps import DEAD_CAUTION, LIVE_CAUTION, Voice
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import Circuit, Device
from halfsplit.wiring.plan import node

ELECTRONIC = ("electronics", "led", "fluorescent", "")


@dataclass(frozen=True, slots=True)
class CircuitTests:
    """Asks for the tests of a circuit under one edition's rules."""

    sites: Sites
    rules: Rules
    sources: tuple[str, ...] = ()

    def _voice(self, circuit: Circuit) -> Voice:
        return Voice(self.sites, circuit, self.sources)

    def _dead(self, circuit: Circuit, why: str, sheet: Sheet) -> None:
        cautions = (
            "A multimeter or a non-contact indicator proves nothing. A low-impedance tester on a "
            "floating conductor can read 0 on a live line.",
        )
        sheet.add(
            want("dead", "", circuit.name, circuit.name,
                 f"{circuit.name} isolated, locked off and proved dead",
                 self._voice(circuit).dead(), cautions, "two-pole"), why,
        )  # fmt: skip

    def _lines(self, circuit: Circuit, place: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Each line to test at a place: its key in the port, the conductors that may carry it.

        Of several lines every one; else the point's own, switched or not.
        """
        there = self.sites.lines_at(circuit, place)
        own = [key for key, _ in circuit.legs if key in there]
        if len(circuit.legs) > 1 and own:
            return tuple((key, (key,)) for key in own)
        return (("L", there),) if there else ()

    def _continuity(self, circuit: Circuit, place: str, why: str, sheet: Sheet) -> None:
        """Every conductor that lands at a place: lines against the others, or each by itself."""
        keys = self.sites.keys(circuit, place)
        others = [key for key in ("E", "N") if key in keys]
        lines = self._lines(circuit, place)
        if self.rules.region == "na" or not lines or not others:
            for key in ("E", "L", "N"):
                if key == "L":
                    for line in lines:
                        self._alone(circuit, place, line, why, sheet)
                elif key in keys:
                    self._alone(circuit, place, (key, (key,)), why, sheet)
            return
        for key in others:  # every line against the first, one of them against the second
            for line in lines if key == others[0] else lines[:1]:
                self._together(circuit, place, line, key, why, sheet)

    def _together(
        self, circuit: Circuit, place: str, line: tuple[str, tuple[str, ...]], key: str, why: str,
        sheet: Sheet,
    ) -> None:  # fmt: skip
        sites = self.sites
        home = sites.earth_bar(circuit) if key == "E" else sites.neutral_way(circuit)
        ends = [sites.at(circuit, place, carrier) for carrier in line[1]]
        route = sites.route(circuit, self._ways(circuit, line[0]), ends)
        reading = None
        if route is not None:
            conditions = sites.isolated(links=((route.start, home),), positions=route.setting)
            reading = _ohms(route.end, sites.at(circuit, place, key), conditions)
        name = "R1+R2" if key == "E" else "R1+Rn"
        voice = self._voice(circuit)
        title = (
            f"{name} at {place}, {voice.conductor(line[0])} and {voice.conductor(key)} of "
            f"{circuit.name}"
        )
        positions = _positions(sites, circuit)
        port = f"{line[0]}+{key}"
        sheet.add(
            want("continuity", port, place, circuit.name, title,
                  voice.together(line[0], key, place, positions), (DEAD_CAUTION,), "continuity",
                  ports=((port,), (line[0], key))), why, reading,
        )  # fmt: skip

    def _ways(self, circuit: Circuit, line: str) -> tuple[str, ...]:
        """Where a line begins at the board: its own terminal, or any of the circuit's."""
        ways = dict(zip((key for key, _ in circuit.legs), self.sites.ways(circuit), strict=True))
        return (ways[line],) if line in ways else tuple(ways.values())

    def _alone(
        self, circuit: Circuit, place: str, line: tuple[str, tuple[str, ...]], why: str,
        sheet: Sheet,
    ) -> None:  # fmt: skip
        """One conductor by a long lead; ``line`` may also be the neutral or the protective one."""
        sites = self.sites
        port, carriers = line
        homes = self._ways(circuit, port)
        if port in ("E", "N"):
            homes = (sites.earth_bar(circuit) if port == "E" else sites.neutral_way(circuit),)
        ends = [sites.at(circuit, place, carrier) for carrier in carriers]
        route = sites.route(circuit, homes, ends)
        reading = None
        if route is not None:
            conditions = sites.isolated(positions=route.setting)
            reading = _ohms(route.start, route.end, conditions)
        voice = self._voice(circuit)
        title = f"continuity of the {voice.conductor(port)} from {circuit.board} to {place}"
        sheet.add(
            want("continuity", port, place, circuit.name, title,
                  voice.alone(port, place, _positions(sites, circuit)), (DEAD_CAUTION,),
                  "continuity", ports=((port,),)), why, reading,
        )  # fmt: skip

    # Rings

    def _ring(self, circuit: Circuit, places: Sequence[str], why: str, sheet: Sheet) -> None:
        ends = [run for run in circuit.runs if circuit.board in (run.start, run.end)]
        ends = [run for run in ends if run.end == circuit.board] + [
            run for run in ends if run.start == circuit.board
        ]
        if len(ends) != 2:
            return
        back, out = ends
        voice, board = self._voice(circuit), circuit.board
        keys = [k for k in ("L", "N", "E") if k in self.sites.keys(circuit, board)]
        lifted = tuple(f"joint {board} {key} {run.name}" for key in keys for run in (out, back))
        apart = self.sites.isolated(lifted=lifted)
        for key in keys:
            reading = _ohms(node(board, key, out.name), node(board, key, back.name), apart)
            name = {"L": "r1", "N": "rn", "E": "r2"}[key]
            title = f"ring {circuit.name}, {voice.conductor(key)} end to end ({name})"
            sheet.add(want("ring ends", key, circuit.name, circuit.name, title, voice.ring_ends(),
                            (DEAD_CAUTION,), "continuity"), why, reading)  # fmt: skip
        for place in places:
            for key in keys[1:]:
                if not {"L", key} <= set(self.sites.keys(circuit, place)):
                    continue
                crossed = (
                    (node(board, "L", out.name), node(board, key, back.name)),
                    (node(board, key, out.name), node(board, "L", back.name)),
                )
                reading = _ohms(
                    self.sites.at(circuit, place, "L"), self.sites.at(circuit, place, key),
                    self.sites.isolated(lifted=lifted, links=crossed),
                )  # fmt: skip
                title = f"ring {circuit.name} cross-connected, {voice.pair(f'L-{key}')} at {place}"
                sheet.add(want("ring cross", f"L-{key}", place, circuit.name, title,
                                voice.ring_cross(key, place), (DEAD_CAUTION,), "continuity"),
                          why, reading)  # fmt: skip

    # Insulation, looking, loops

    def _insulation(self, circuit: Circuit, why: str, between: bool, sheet: Sheet) -> None:
        sites = self.sites
        keys = sites.keys(circuit, circuit.board)
        lines = [key for key in keys if key not in ("N", "E")]
        live = [*["L" for _ in lines[:1]], *[k for k in ("N",) if k in keys]]
        fixed = _fixed_electronics(circuit)
        nominal = _nominal(sites, circuit)
        voice = self._voice(circuit)
        ports = [f"{'+'.join(live)}-E"] if "E" in keys and live else []
        if between and not fixed:
            own = [key for key, _ in circuit.legs] if len(circuit.legs) > 1 else []
            ports += [f"{a}-{b}" for a, b in combinations(own, 2)]
            ports += ["L-N"] if len(live) == 2 else []
        for port in ports:
            equipment = bool(fixed)
            test_volts = limits.insulation_volts(self.rules, nominal, equipment)
            limit = limits.insulation_limit(self.rules, nominal, equipment)
            title = f"insulation of {circuit.name}, {voice.pair(port)}"
            alternatives: tuple[tuple[str, ...], ...] = ((port,),)
            if "+N" in port:
                alternatives = ((port,), ("L-E", "N-E"))
            sheet.add(
                want("insulation", port, circuit.name, circuit.name, title,
                      voice.insulation(port, test_volts, fixed if equipment else ""),
                      (DEAD_CAUTION, "Never between line and neutral across connected "
                       "electronics; let it discharge afterwards."),
                      f"insulation {test_volts:.0f}", limit=limit, ports=alternatives),
                why, self._insulation_reading(circuit, port),
            )  # fmt: skip

    def _insulation_reading(self, circuit: Circuit, port: str) -> Reading:
        """The circuit alone: its neutral out of the bar, every device off."""
        sites, board = self.sites, circuit.board
        runs = [run for run in circuit.runs if board in (run.start, run.end)]
        lifted = tuple(f"joint {board} N {run.name}" for run in runs)
        neutral = next(
            (n for run in runs if (n := node(board, "N", run.name)) in sites.nodes),
            sites.neutral_way(circuit),
        )
        ways = sites.ways(circuit)
        links = tuple((ways[0], way) for way in ways[1:])
        a, b = ways[0], sites.earth_bar(circuit)
        if port == "L-N":
            b = neutral
        elif "+N" in port:
            links = (*links, (ways[0], neutral))
        elif not port.endswith("-E"):  # one line to another
            (a,), (b,) = (self._ways(circuit, key) for key in port.split("-"))
            links = ()
        conditions = sites.isolated(links=links, lifted=lifted)
        return Reading("", "megohms", a, b, conditions=conditions, instrument="insulation 500")

    def _look(self, circuit: Circuit, place: str, why: str, sheet: Sheet) -> None:
        voice = self._voice(circuit)
        shown = f"{place}, {circuit.name}" if place == circuit.board else place
        subject = place if place != circuit.board else circuit.name
        sheet.add(want("pull", "", subject, circuit.name, f"every core holds at {shown}",
                        voice.pull(shown), (DEAD_CAUTION,)), why)  # fmt: skip
        sheet.add(want("polarity", "", subject, circuit.name, f"polarity at {shown}",
                        voice.polarity(place), (DEAD_CAUTION,), "continuity"), why)  # fmt: skip

    def _loop(self, circuit: Circuit, place: str, why: str, sheet: Sheet) -> None:
        if self.rules.region != "na" and "E" in self.sites.keys(circuit, place):
            for line, carriers in self._lines(circuit, place):
                self._one_loop(circuit, place, line, carriers, why, sheet)

    def _one_loop(
        self, circuit: Circuit, place: str, line: str, carriers: Sequence[str], why: str,
        sheet: Sheet,
    ) -> None:  # fmt: skip
        earth = self.sites.at(circuit, place, "E")
        ends = [self.sites.at(circuit, place, carrier) for carrier in carriers]
        route = self.sites.route(circuit, self._ways(circuit, line), ends)
        reading = None
        if route is not None:
            live = Conditions(unplugged=("all",), positions=route.setting)
            reading = Reading("", "loop", route.end, earth, instrument="loop", conditions=live)
        device = limits.residual_device(self.sites.inst, circuit)
        voice = self._voice(circuit)
        limit = limits.loop_limit(self.rules, self.sites.inst, circuit)
        cautions = (
            LIVE_CAUTION, "Only after the protective conductor was proved continuous dead: the "
            "test puts line voltage on everything beyond an open one.",
        )  # fmt: skip
        end = circuit.shape != "ring" and place in self.sites.ends(circuit, place)
        what = f"{voice.conductor(line)} to {voice.conductor('E')}"
        sheet.add(
            want("loop", f"{line}-E", place, circuit.name, f"loop impedance, {what}, at {place}",
                  voice.loop(line, place, device, end), cautions,
                  "loop low" if device else "loop", limit=limit), why, reading,
        )  # fmt: skip

    # Devices

    def _residual(self, circuit: Circuit, why: str, sheet: Sheet, timed: bool) -> None:
        for device in limits.residual_devices(self.sites.inst, circuit)[:1]:
            self._trip(device, circuit, why, sheet, timed)
        for point in circuit.points:
            if point.device is not None and point.device.residual_amps:
                self._trip(point.device, circuit, why, sheet, timed)

    def _trip(self, device: Device, circuit: Circuit, why: str, sheet: Sheet, timed: bool) -> None:
        voice = self._voice(circuit)
        name = voice.device(device)
        times = limits.required_times(self.rules) if timed else ()
        for multiple in times:
            if multiple == 5.0 and device.residual_amps > 0.030:
                continue
            limit = limits.trip_time_limit(self.rules, device, multiple)
            title = f"time for {name} to trip at {multiple:g} x its residual rating"
            sheet.add(
                want("trip time", f"{multiple:g}x", device.name, circuit.name, title,
                      voice.trip(device, multiple), (LIVE_CAUTION,), "ramp", limit=limit), why,
            )  # fmt: skip
        sheet.add(
            want("button", "", device.name, circuit.name, f"{name} trips by its button",
                  (f"press the test button of {name}", "switch it on again")), why,
        )  # fmt: skip


def _ohms(a: str, b: str, conditions: Conditions) -> Reading:
    return Reading("", "ohms", a, b, conditions=conditions, instrument="continuity")


def _positions(sites: Sites, circuit: Circuit) -> str:
    switches = [s.name for p in circuit.points for s in p.switches]
    return f"close {', '.join(switches)}" if switches else ""


def _fixed_electronics(circuit: Circuit) -> str:
    """What is wired in and would spoil, or be spoilt by, a test between live conductors."""
    names = [
        f"{load.name} at {point.name}"
        for point in circuit.points
        for load in point.loads
        if not load.plugged and load.kind in ELECTRONIC and point.kind != "light"
    ]
    return ", ".join(names)


def _nominal(sites: Sites, circuit: Circuit) -> float:
    """The circuit's nominal voltage to earth or between its lines, whichever is higher."""
    volts = sites.inst.supply.volts.value
    return volts * (2.0 if len(circuit.legs) > 1 and sites.inst.supply.live == "split" else 1.0)
