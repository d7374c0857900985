"""A job back into the written form, so that reading it again gives the same job.

Everything can be said in longhand (every run with its cores, every reading with its terminals);
the short patterns are used where reading them back gives exactly the same values.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from halfsplit.form.job import Job
from halfsplit.form.later import after_data
from halfsplit.form.lines import Data, about, farads, layout, number, reading_data, yes
from halfsplit.form.points import SWITCHING
from halfsplit.form.read import read_with_problems
from halfsplit.form.sources import from_words
from halfsplit.form.supply import default_supply
from halfsplit.form.words import ACCESS_OF
from halfsplit.wiring.model import (
    Board,
    Circuit,
    Core,
    Device,
    Installation,
    Load,
    Path,
    Point,
    Run,
    Source,
    Supply,
    Switch,
)


def write_job(job: Job) -> str:
    """The form of a job: reading it gives the same job, but for line numbers and spelling.

    ``read_job(write_job(job)).bare() == job.bare()`` for every job read from a form.
    """
    return layout(job_data(job))


def job_data(job: Job) -> Data:
    """The job as nested mappings and lists of texts, as the form lays it out."""
    inst = job.installation
    data: Data = {"title": inst.title} if inst.title else {}
    data["region"] = inst.region
    if job.edition:
        data["edition"] = job.edition
    data["supply"] = _supply(inst.supply, inst.region)
    data["boards"] = {board.name: _board(board) for board in inst.boards}
    for key, words in (("history", inst.history), ("tools", job.tools)):
        if words:
            data[key] = list(words)
    if job.sources:
        plain = from_words(job.sources, inst.boards) == inst.sources
        data["other sources"] = (
            list(job.sources) if plain else {s.name: _source(s) for s in inst.sources}
        )
    data["circuits"] = {c.name: _circuit(inst, c) for c in inst.circuits}
    if inst.paths:
        data["other paths"] = {
            p.name: _path(p, {q.name for q in inst.points()} | {b.name for b in inst.boards})
            for p in inst.paths
        }
    if job.readings:
        data["readings"] = [reading_data(inst, k, r) for k, r in enumerate(job.readings, start=1)]
    data |= after_data(job.after)
    if job.notes:
        data["notes"] = job.notes
    return data


def _path(path: Path, places: set[str]) -> Data:
    """A path; metal that is no place of the installation by its own name."""
    name, _, key = path.a.partition(".")
    metal = key == "E" and name not in places | {"origin"}
    return {
        **({"metal": name} if metal else {"from": path.a}), "to": path.b,
        "ohms": about(path.ohms, "ohm"), "certain": yes(path.certain), "kind": path.kind,
    }  # fmt: skip


def _source(source: Source) -> Data:
    data: Data = {"kind": source.kind, "board": source.board, "on": yes(source.on)}
    if source.from_board:
        data["from"] = source.from_board
    data |= {"own link": yes(source.links_neutral), "ohms": about(source.ohms, "ohm")}
    return data


def _supply(supply: Supply, region: str) -> Any:
    live = {"single": "single phase", "split": "split phase", "three": "three phase",
            "centre tap": "centre tapped", "high leg": "high leg"}[supply.live]  # fmt: skip
    earthing = supply.earthing if supply.earthing_known else f"{supply.earthing} unknown"
    data: Data = {
        "earthing": earthing, "live": live, "volts": about(supply.volts, "V"),
        "hertz": f"{number(supply.hertz)} Hz", "line": about(supply.line_ohms, "ohm"),
        "neutral": about(supply.neutral_ohms, "ohm"), "earth": about(supply.earth_ohms, "ohm"),
        "source electrode": about(supply.source_electrode_ohms, "ohm"),
        "electrode": about(supply.electrode_ohms, "ohm") if supply.electrode_ohms else "none",
    }  # fmt: skip
    if supply.history:
        data["history"] = list(supply.history)
    usual = default_supply(region)
    if supply == usual:
        return "unknown"
    for key, same in (
        ("line", supply.line_ohms == usual.line_ohms),
        ("neutral", supply.neutral_ohms == usual.neutral_ohms),
        ("earth", supply.earth_ohms == usual.earth_ohms),
        ("source electrode", supply.source_electrode_ohms == usual.source_electrode_ohms),
    ):
        if same:
            del data[key]
    return data


def _device(device: Device, name: str) -> Data:
    data: Data = {"name": device.name} if device.name != name else {}
    data |= {"kind": device.kind, "rating": f"{number(device.amps)} A"}
    if device.curve:
        data["curve"] = device.curve
    data |= {"residual": f"{number(device.residual_amps)} A", "type": device.residual_type,
             "poles": list(device.poles)}  # fmt: skip
    if device.arc:
        data["arc"] = "yes"
    if not device.closed:
        data["closed"] = "no"
    return data


def _board(board: Board) -> Data:
    data: Data = {"main": {"name": board.main.name} | _device(board.main, board.main.name)}
    if board.history:
        data["history"] = list(board.history)
    if board.fed_by:
        data["fed by"] = board.fed_by
    if board.groups:
        data["groups"] = {
            g.device.name: {
                "device": _device(g.device, g.device.name),
                "circuits": list(g.circuits),
            }
            for g in board.groups
        }
    return data


# Circuits


def _circuit(inst: Installation, circuit: Circuit) -> Data:
    """The short pattern where it gives the same circuit, else longhand."""
    short = _short(inst, circuit)
    if short is not None and _reads_as(inst, circuit, short):
        return short
    return _longhand(circuit)


def _head(circuit: Circuit) -> Data:
    data: Data = {"board": circuit.board, "device": _way(circuit)}
    data["legs"] = [leg for _, leg in circuit.legs]
    if circuit.history:
        data["history"] = list(circuit.history)
    if not circuit.leg_known and len(circuit.legs) == 1:
        data["legs"] = "unknown"
    if not circuit.order_known:
        data["order"] = "unknown after first" if circuit.first_known else "unknown"
    return data


def _way(circuit: Circuit) -> Any:
    """A plain breaker by its short text, anything else in full."""
    device = circuit.device
    plain = Device(circuit.name, "breaker", device.amps, device.curve,
                   poles=tuple(key for key, _ in circuit.legs))  # fmt: skip
    if device == plain and device.curve in ("B", "C", "D") and device.amps == round(device.amps):
        return f"{device.curve}{device.amps:.0f}"
    return _device(device, circuit.name)


def _reads_as(inst: Installation, circuit: Circuit, data: Data) -> bool:
    """Whether that form of one circuit gives exactly this circuit."""
    alone = replace(circuit, board="Board")
    form = {"region": inst.region, "supply": _supply(inst.supply, inst.region),
            "circuits": {circuit.name: {**data, "board": "Board"}}}  # fmt: skip
    job, problems = read_with_problems(layout(form), "")
    found = job.installation.circuits if job is not None else ()
    # A leg that nobody knows is drawn by its turn among the circuits.
    found = tuple(c if c.leg_known else replace(c, legs=alone.legs) for c in found)
    return not any(p.is_error for p in problems) and found == (alone,)


def _short(inst: Installation, circuit: Circuit) -> Data | None:
    """A run or a ring with branches, where every run is of the same cable."""
    if circuit.shape not in ("radial", "ring", "shared neutral", "fixed") or not circuit.runs:
        return None
    data = _head(circuit)
    first = circuit.runs[0]
    if first.cable:
        data["cable"] = first.cable
    conductors = [core.start for core in first.cores]
    data |= {key: "no" for key, own in (("neutral", "N"), ("earth", "E")) if own not in conductors}
    main: list[str] = []
    branches: dict[str, list[list[str]]] = {}
    here, chain, on_main = circuit.board, main, True
    for run in circuit.runs:
        if run.start != here:
            chain, on_main = [], False
            branches.setdefault(run.start, []).append(chain)
        chain.append(about(run.length, "m"))
        if run.end != circuit.board:
            chain.append(run.end)
        elif not on_main:
            return None
        here = run.end
    data["ring" if circuit.shape == "ring" else "run"] = main
    if circuit.shape == "fixed":
        if len(circuit.runs) != 1:
            return None
        del data["run"]
        data |= {"feeds": first.end, "length": about(first.length, "m")}
    if branches:
        data["branches"] = {k: v[0] if len(v) == 1 else v for k, v in branches.items()}
    details = {p.name: _point(p, short=True) for p in circuit.points}
    plain = {"kind": "appliance" if circuit.shape == "fixed" else "socket"}
    data["points"] = {name: d for name, d in details.items() if d != plain} or None
    return {key: value for key, value in data.items() if value is not None}


def _longhand(circuit: Circuit) -> Data:
    data = _head(circuit)
    data |= {"shape": circuit.shape, "runs": [_run(run) for run in circuit.runs],
             "points": {p.name: _point(p) for p in circuit.points}}  # fmt: skip
    return data


def _run(run: Run) -> Data:
    data: Data = {
        "name": run.name,
        "from": run.start,
        "to": run.end,
        "length": about(run.length, "m"),
        "cores": [_core(c) for c in run.cores],
    }
    if run.cable:
        data["cable"] = run.cable
    if run.temperature_c != 20.0:
        data["temperature"] = number(run.temperature_c)
    if run.capacitance:
        spread = run.capacitance.spread
        tail = f" spread {number(spread)}" if spread else ""
        data["capacitance"] = farads(run.capacitance.value) + tail
    if run.insulation:
        data["insulation"] = about(run.insulation, "ohm")
    if run.exposed:
        data["history"] = list(run.exposed)
    return data


def _core(core: Core) -> str:
    keys = core.start if core.start == core.end else f"{core.start}>{core.end}"
    rest = f" {core.metal} {core.colour}".rstrip() if core.colour or core.metal != "copper" else ""
    return f"{keys} {number(core.mm2)}{rest}"


def _point(point: Point, short: bool = False) -> Data:
    data: Data = {"kind": point.kind}
    if not short:
        data["conductors"] = list(point.conductors)
        data["front"] = yes(point.front)
    if point.carries != "accessory":
        data["carries"] = point.carries
    if point.access != ACCESS_OF.get(point.kind, "cover"):
        data["access"] = point.access
    if point.history:
        data["history"] = list(point.history)
    if point.may_be_on:
        data["fed by"] = list(point.may_be_on)
    if point.switches or point.kind in SWITCHING:
        data["switches"] = [_switch(s) for s in point.switches]
    if point.loads or point.kind in ("appliance", "light"):
        data["loads"] = [_load(load) for load in point.loads]
    if point.device or point.kind in ("fused unit", "gfci outlet"):
        data["device"] = _device(point.device, "") if point.device else "none"
    return data


def _switch(switch: Switch) -> Data:
    return {
        "name": switch.name,
        "contacts": [f"{c.a}-{c.b} {' or '.join(c.closed_in)}" for c in switch.contacts],
        "positions": list(switch.positions), "position": switch.position,
    }  # fmt: skip


def _load(load: Load) -> Data:
    return {
        "name": load.name, "kind": load.kind or "unknown", "power": about(load.watts, "W"),
        "across": "-".join(load.across), "plugged": yes(load.plugged),
        "connected": yes(load.connected), "on": yes(load.on), "frame": yes(load.frame),
        "filter": farads(load.filter_farads),
        "warm leak": f"{number(load.warm_leak_ohms)} ohm", "mentioned": yes(load.mentioned),
    }  # fmt: skip
