"""A job back into the written form, so that reading it again gives the same job.

Everything can be said in longhand (every run with its cores, every reading with its terminals);
the short patterns are used where reading them back gives exactly the same values.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from halfsplit.form.job import Job
from halfsplit.form.parts import default_supply
from halfsplit.form.read import read_with_problems
from halfsplit.form.words import ACCESS_OF
from halfsplit.instruments.reading import Reading
from halfsplit.quantity import parse_farads
from halfsplit.wiring.conditions import AS_DESCRIBED, Conditions
from halfsplit.wiring.model import (
    About,
    Board,
    Circuit,
    Core,
    Device,
    Installation,
    Load,
    Point,
    Run,
    Supply,
    Switch,
)
from halfsplit.wiring.plan import node

Data = dict[str, Any]
_UNITS = {"volts": "V", "ohms": "ohm", "megohms": "ohm", "loop": "ohm", "amps": "A", "ramp": "A"}
_PLAIN = re.compile(r"[A-Za-zÀ-ÖØ-öø-ÿ0-9][\w À-ÖØ-öø-ÿ./+²Ωµ–-]*")


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
    for key, words in (("history", inst.history), ("tools", job.tools),
                       ("other sources", job.sources)):  # fmt: skip
        if words:
            data[key] = list(words)
    data["circuits"] = {c.name: _circuit(inst, c) for c in inst.circuits}
    if inst.paths:
        data["other paths"] = {
            p.name: {
                "from": p.a, "to": p.b, "ohms": _about(p.ohms, "ohm"),
                "certain": _yes(p.certain), "kind": p.kind,
            }
            for p in inst.paths
        }  # fmt: skip
    if job.readings:
        data["readings"] = [_reading(inst, k, r) for k, r in enumerate(job.readings, start=1)]
    if job.notes:
        data["notes"] = job.notes
    return data


# Values


def _number(value: float) -> str:
    text = repr(float(value))
    return text.removesuffix(".0")


def _about(value: About, unit: str) -> str:
    text = f"{_number(value.value)} {unit}"
    return f"{text} spread {_number(value.spread)}" if value.spread else text


def _farads(value: float) -> str:
    """A capacitance in the unit that reads back to exactly the same value."""
    for unit, size in (("nF", 1e9), ("pF", 1e12), ("µF", 1e6)):
        text = f"{_number(float(f'{value * size:.12g}'))} {unit}"
        if parse_farads(text).value == value:
            return text
    return f"{value * 1e12!r} pF"


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _supply(supply: Supply, region: str) -> Any:
    live = {"single": "single phase", "split": "split phase", "three": "three phase",
            "centre tap": "centre tapped", "high leg": "high leg"}[supply.live]  # fmt: skip
    earthing = supply.earthing if supply.earthing_known else f"{supply.earthing} unknown"
    data: Data = {
        "earthing": earthing, "live": live, "volts": _about(supply.volts, "V"),
        "hertz": f"{_number(supply.hertz)} Hz", "line": _about(supply.line_ohms, "ohm"),
        "neutral": _about(supply.neutral_ohms, "ohm"), "earth": _about(supply.earth_ohms, "ohm"),
        "source electrode": _about(supply.source_electrode_ohms, "ohm"),
        "electrode": _about(supply.electrode_ohms, "ohm") if supply.electrode_ohms else "none",
    }  # fmt: skip
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
    data |= {"kind": device.kind, "rating": f"{_number(device.amps)} A"}
    if device.curve:
        data["curve"] = device.curve
    data |= {"residual": f"{_number(device.residual_amps)} A", "type": device.residual_type,
             "poles": list(device.poles)}  # fmt: skip
    if not device.closed:
        data["closed"] = "no"
    return data


def _board(board: Board) -> Data:
    data: Data = {"main": {"name": board.main.name} | _device(board.main, board.main.name)}
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
    if not circuit.order_known:
        data["order"] = "unknown"
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
    return not problems and found == (alone,)


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
        chain.append(_about(run.length, "m"))
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
        data |= {"feeds": first.end, "length": _about(first.length, "m")}
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
        "length": _about(run.length, "m"),
        "cores": [_core(c) for c in run.cores],
    }
    if run.cable:
        data["cable"] = run.cable
    if run.temperature_c != 20.0:
        data["temperature"] = _number(run.temperature_c)
    if run.capacitance:
        spread = run.capacitance.spread
        tail = f" spread {_number(spread)}" if spread else ""
        data["capacitance"] = _farads(run.capacitance.value) + tail
    if run.insulation:
        data["insulation"] = _about(run.insulation, "ohm")
    if run.exposed:
        data["history"] = list(run.exposed)
    return data


def _core(core: Core) -> str:
    keys = core.start if core.start == core.end else f"{core.start}>{core.end}"
    rest = f" {core.metal} {core.colour}".rstrip() if core.colour or core.metal != "copper" else ""
    return f"{keys} {_number(core.mm2)}{rest}"


def _point(point: Point, short: bool = False) -> Data:
    data: Data = {"kind": point.kind}
    if not short:
        data["conductors"] = list(point.conductors)
        data["front"] = _yes(point.front)
    if point.carries != "accessory":
        data["carries"] = point.carries
    if point.access != ACCESS_OF.get(point.kind, "cover"):
        data["access"] = point.access
    if point.history:
        data["history"] = list(point.history)
    if point.switches or point.kind in ("switch", "isolator"):
        data["switches"] = [_switch(s) for s in point.switches]
    if point.loads or point.kind == "appliance":
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
        "name": load.name, "kind": load.kind or "unknown", "power": _about(load.watts, "W"),
        "across": "-".join(load.across), "plugged": _yes(load.plugged),
        "connected": _yes(load.connected), "on": _yes(load.on), "frame": _yes(load.frame),
        "filter": _farads(load.filter_farads),
        "warm leak": f"{_number(load.warm_leak_ohms)} ohm", "mentioned": _yes(load.mentioned),
    }  # fmt: skip


# Readings


def _reading(inst: Installation, number: int, reading: Reading) -> Data:
    data: Data = {}
    if reading.id != f"r{number}":
        data["id"] = reading.id
    data |= _port_short(inst, reading) or _port_long(reading)
    if reading.instrument:
        data["by"] = reading.instrument
    if reading.showing is not None:
        data["showing"] = _yes(reading.showing)
    if not reading.settled:
        data["settles"] = "no"
    if reading.conditions != AS_DESCRIBED:
        data["with"] = _with(reading.conditions)
    return data


def _shown(reading: Reading) -> str:
    if reading.value is None:
        return "over range"
    sign = {"=": "", ">": "over ", "<": "under ", "~": "about "}[reading.bound]
    return f"{sign}{_number(reading.value)} {_UNITS[reading.kind]}"


def _port_short(inst: Installation, reading: Reading) -> Data | None:
    """{at: place, L-N: 230 V} where both terminals are the usual ones of the place."""
    if reading.kind not in ("volts", "ohms", "megohms", "loop") or reading.conditions.links:
        return None
    if reading.kind in ("ohms", "megohms") and not reading.conditions.dead:
        return None
    point = next((p for p in inst.points() if p.name == reading.place), None)
    if point is None:
        return None
    part = "front" if point.front else ""
    ends = {node(point.name, key, part): key for key in point.conductors}
    if reading.a not in ends or reading.b not in ends:
        return None
    port = f"{ends[reading.a]}-{ends[reading.b]}"
    data: Data = {"at": point.name}
    test = {"ohms": "dead", "megohms": "insulation", "loop": "loop"}.get(reading.kind)
    if test:
        return data | {test: {port: _shown(reading)}}
    return data | {port: _shown(reading)} if not reading.conditions.dead else None


def _port_long(reading: Reading) -> Data:
    data: Data = {"kind": reading.kind}
    for key in ("a", "b", "of", "seen", "place"):
        value = getattr(reading, key)
        if value:
            data[key] = value
    if reading.conductors:
        data["through"] = list(reading.conductors)
    if reading.kind in _UNITS:
        data["value"] = _shown(reading)
    return data


def _with(conditions: Conditions) -> Data:
    data: Data = {}
    for key in ("off", "on", "unplugged", "plugged", "lifted"):
        names = getattr(conditions, key)
        if names:
            data[key] = list(names)
    if conditions.positions:
        data["set"] = dict(conditions.positions)
    if conditions.links:
        data["linked"] = [f"{a} to {b}" for a, b in conditions.links]
    if conditions.added:
        data["lamp in"] = [
            f"{kind} {_number(w)} W at {place}" for place, kind, w in conditions.added
        ]
    if conditions.dead:
        data["dead"] = "yes"
    if conditions.warm:
        data["warm"] = "yes"
    if not conditions.energised:
        data["energised"] = "no"
    return data


# Layout


def layout(data: Mapping[str, Any]) -> str:
    """Nested mappings and lists of texts as the form's lines; short ones stay on one line."""
    return "\n".join(_lines(data, 0)) + "\n"


def _lines(data: Mapping[str, Any], depth: int) -> list[str]:
    pad = "  " * depth
    lines: list[str] = []
    for key, value in data.items():
        flow = _flow(value)
        if len(flow) + len(pad) + len(key) < 96 or not isinstance(value, (Mapping, Sequence)):
            lines.append(f"{pad}{_scalar(key)}: {flow}")
        elif isinstance(value, Mapping):
            lines += [f"{pad}{_scalar(key)}:", *_lines(value, depth + 1)]
        elif isinstance(value, str):
            lines.append(f"{pad}{_scalar(key)}: {flow}")
        else:
            lines += [f"{pad}{_scalar(key)}:", *(f"{pad}  - {_flow(item)}" for item in value)]
    return lines


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_scalar(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_flow(item) for item in value) + "]"
    return _scalar(str(value))


def _scalar(text: str) -> str:
    """Plain where YAML leaves it plain, else in quotation marks."""
    plain = _PLAIN.fullmatch(text) and text == text.strip() and text.casefold() != "null"
    return text if plain else json.dumps(text, ensure_ascii=False)
