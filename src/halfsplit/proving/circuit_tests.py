"""The tests of one circuit: continuity, ring, insulation, polarity, loop, residual devices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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
                 f"isolated, locked off and proved dead: {circuit.name}",
                 self._voice(circuit).dead(), cautions, "two-pole"), why,
        )  # fmt: skip

    def _continuity(self, circuit: Circuit, place: str, why: str, sheet: Sheet) -> None:
        keys = self.sites.keys(circuit, place)
        if self.rules.region == "na":
            lines = self.sites.lines_at(circuit, place)
            for key in (
                *[k for k in ("E",) if k in keys],
                *lines[:1],
                *[k for k in ("N",) if k in keys],
            ):
                self._alone(circuit, place, key, why, sheet)
            return
        lines = self.sites.lines_at(circuit, place)
        for key in ("E", "N"):
            if key not in keys:
                continue
            if not lines:
                self._alone(circuit, place, key, why, sheet)
            else:
                self._together(circuit, place, key, why, sheet)

    def _together(self, circuit: Circuit, place: str, key: str, why: str, sheet: Sheet) -> None:
        sites = self.sites
        home = sites.earth_bar(circuit) if key == "E" else sites.neutral_way(circuit)
        ends = [sites.at(circuit, place, line) for line in sites.lines_at(circuit, place)]
        route = sites.route(circuit, sites.ways(circuit), ends)
        reading = None
        if route is not None:
            conditions = sites.isolated(links=((route.start, home),), positions=route.setting)
            reading = _ohms(route.end, sites.at(circuit, place, key), conditions)
        name = "R1+R2" if key == "E" else "R1+Rn"
        voice = self._voice(circuit)
        title = (
            f"{name} at {place}: {voice.conductor('L')} and {voice.conductor(key)} of "
            f"{circuit.name}"
        )
        positions = _positions(sites, circuit)
        port = f"L+{key}"
        sheet.add(
            want("continuity", port, place, circuit.name, title,
                  voice.together(key, place, positions), (DEAD_CAUTION,), "continuity",
                  ports=((port,), ("L", key))), why, reading,
        )  # fmt: skip

    def _alone(self, circuit: Circuit, place: str, key: str, why: str, sheet: Sheet) -> None:
        sites = self.sites
        homes, port = sites.ways(circuit), "L"
        if key in ("E", "N"):
            home = sites.earth_bar(circuit) if key == "E" else sites.neutral_way(circuit)
            homes, port = (home,), key
        route = sites.route(circuit, homes, (sites.at(circuit, place, key),))
        reading = None
        if route is not None:
            conditions = sites.isolated(positions=route.setting)
            reading = _ohms(route.start, route.end, conditions)
        voice = self._voice(circuit)
        title = f"continuity of the {voice.conductor(key)} from {circuit.board} to {place}"
        sheet.add(
            want("continuity", port, place, circuit.name, title,
                  voice.alone(key, place, _positions(sites, circuit)), (DEAD_CAUTION,),
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
        if between and len(live) == 2 and not fixed:
            ports.append("L-N")
        for port in ports:
            equipment = bool(fixed) and port != "L-N"
            test_volts = limits.insulation_volts(self.rules, nominal, equipment)
            limit = limits.insulation_limit(self.rules, nominal, equipment)
            title = f"insulation of {circuit.name}: {voice.pair(port)}"
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
        keys = self.sites.keys(circuit, place)
        lines = self.sites.lines_at(circuit, place)
        if self.rules.region == "na" or "E" not in keys or not lines:
            return
        earth = self.sites.at(circuit, place, "E")
        ends = [self.sites.at(circuit, place, line) for line in lines]
        route = self.sites.route(circuit, self.sites.ways(circuit), ends)
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
        sheet.add(
            want("loop", "L-E", place, circuit.name, f"loop impedance, {voice.pair('L-E')}, at "
                  f"{place}", voice.loop(place, device), cautions,
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
        times = limits.required_times(self.rules) if timed else ()
        for multiple in times:
            if multiple == 5.0 and device.residual_amps > 0.030:
                continue
            limit = limits.trip_time_limit(self.rules, device, multiple)
            sheet.add(
                want("trip time", f"{multiple:g}x", device.name, circuit.name,
                      f"time to trip at {multiple:g} x its residual rating: {device.name}",
                      voice.trip(device, multiple), (LIVE_CAUTION,), "ramp", limit=limit), why,
            )  # fmt: skip
        sheet.add(
            want("button", "", device.name, circuit.name, f"trips by its button: {device.name}",
                  (f"press the test button of {device.name}", "switch it on again")), why,
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
