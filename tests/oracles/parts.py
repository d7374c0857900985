"""Short ways to write down invented installations; every load keeps to Ohm's law."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

from halfsplit.wiring.model import (
    About,
    Board,
    Circuit,
    Contact,
    Core,
    Device,
    Installation,
    Load,
    Point,
    Run,
    Supply,
    Switch,
)

TWIN = (Core("L", "L", 2.5), Core("N", "N", 2.5), Core("E", "E", 1.5))
LEGS2 = (("L1", "L1"), ("L2", "L2"))
LEGS3 = (*LEGS2, ("L3", "L3"))
PARTS_BOTH = ("L", "N")
AWG14, AWG12, AWG10, AWG6 = 2.08, 3.31, 5.26, 13.3


def cores(words: str, mm2: float = 1.5, metal: str = "copper") -> tuple[Core, ...]:
    """Cores from a list of keys; "L>SL" is one that changes its key on the way."""
    ends = [word.split(">") for word in words.split()]
    return tuple(Core(end[0], end[-1], mm2, metal) for end in ends)


def run(
    start: str, end: str, metres: float, made_of: tuple[Core, ...] = TWIN, cable: str = ""
) -> Run:
    """A run named after its ends."""
    return Run(f"{start} to {end}", start, end, About(metres), made_of, cable)


def chain(
    names: str, metres: float, made_of: tuple[Core, ...] = TWIN, cable: str = ""
) -> tuple[Run, ...]:
    """Runs from place to place, each a little longer than the one before."""
    places = names.split(", ")
    return tuple(
        run(a, b, metres + 0.7 * k, made_of, cable) for k, (a, b) in enumerate(pairwise(places))
    )


def heat(
    name: str = "heater",
    watts: float = 1200.0,
    across: tuple[str, str] = ("L", "N"),
    **more: Any,
) -> Load:
    """A load that keeps to Ohm's law."""
    return replace(Load(name, "heater", About(watts), across), **more)


def sockets(names: str, loaded: dict[str, Load] | None = None, **more: Any) -> tuple[Point, ...]:
    """Outlets, some with a load in them."""
    loads = loaded or {}
    return tuple(
        replace(Point(name, loads=(loads[name],) if name in loads else ()), **more)
        for name in names.split(", ")
    )


def inner(name: str, kind: str, keys: str, *loads: Load, switch: Switch | None = None) -> Point:
    """A point nobody plugs into."""
    switches = (switch,) if switch else ()
    return Point(name, kind, tuple(keys.split()), front=False, switches=switches, loads=loads)


def one_way(name: str, a: str = "L", b: str = "SL", position: str = "on") -> Switch:
    """A plain switch."""
    return Switch(name, (Contact(a, b, ("on",)),), position=position)


def single(title: str, supply: Supply, *circuits: Circuit, **more: Any) -> Installation:
    """One board, these circuits."""
    return replace(Installation(title, supply=supply, circuits=circuits), **more)


def american(title: str, *circuits: Circuit, volts: float = 120.0) -> Installation:
    """Split phase with a rod at the service."""
    supply = Supply("TN-C-S", "split", About(volts), 60.0, electrode_ohms=About(25.0))
    panel = Board("Panel", Device("main", "switch", 100.0, "", poles=("L1", "L2")))
    return Installation(title, "na", supply, (panel,), circuits)
