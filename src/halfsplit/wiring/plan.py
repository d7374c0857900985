"""The installation laid out as elements: every joint, core, pole, contact, leakage and load port.

A plan is what faults and checks talk about; ``lower.py`` turns it into a network for given
conditions. Node names are ``place.conductor`` for the accessory's terminal (the bar or way at a
board), with a suffix for the other terminals of DESIGN: ``:run name`` for the end of a core,
``:front`` for a socket's front contact, ``:splice`` where a pigtail carries the circuit on.
"""

from __future__ import annotations

from dataclasses import dataclass

EARTH = "earth"  # true earth, the reference node


@dataclass(frozen=True, slots=True)
class Element:
    """A series element that carries a current from ``a`` to ``b``.

    ``kind``: joint, core, pole, switch, contact, link, source, service, bond, electrode, flex,
    lead (of another source).
    ``at`` names its place (two for a core). ``ohms`` at its temperature, ``henry`` at 0 for
    contacts; ``emf`` in volt r.m.s. as a phasor (raises ``b`` above ``a``). ``control`` is the
    device or switch whose state opens it; ``closed`` whether it stands closed as described,
    ``closed_in`` the switch positions in which it is closed. ``scale`` names the run whose
    length scales it, "contact" for joints, and ``spread`` is the log standard deviation of
    ``ohms`` where it has one of its own.
    """

    id: str
    kind: str
    a: str
    b: str
    conductor: str
    at: tuple[str, ...]
    ohms: float
    henry: float = 0.0
    emf: complex = 0j
    circuit: str = ""
    run: str = ""
    control: str = ""
    closed: bool = True
    closed_in: tuple[str, ...] = ()
    scale: str = ""
    spread: float = 0.0


@dataclass(frozen=True, slots=True)
class Coupling:
    """A shunt between two nodes: cable insulation and capacitance, a filter or snubber, a leakage.

    ``siemens`` acts at 0 Hz and at supply frequency, ``farads`` at supply frequency only.
    ``owner`` is the run or load it belongs to; ``scale`` the run whose length scales it.
    """

    id: str
    kind: str  # insulation | filter | leakage | stray | snubber
    a: str
    b: str
    siemens: float
    farads: float
    owner: str
    circuit: str = ""
    scale: str = ""


@dataclass(frozen=True, slots=True)
class LoadPort:
    """Where a load's law acts: between nodes ``a`` and ``b`` (inside its flex)."""

    id: str
    place: str
    a: str
    b: str
    frame: str  # node of its frame, "" when it has none
    kind: str
    watts: float
    spread: float
    rated_volts: float
    on: bool
    connected: bool
    circuit: str
    mentioned: bool = True
    warm_ohms: float = 0.0  # from its line end to its frame once it is warm; 0 none


@dataclass(frozen=True, slots=True)
class Way:
    """A device with its pole elements, what it protects and how it trips.

    ``poles`` are the elements it opens, ``senses`` those whose currents it adds up (line and
    neutral of a residual-current device, whether or not it parts both).
    """

    name: str
    circuit: str  # "" for a main switch or a shared device
    kind: str
    amps: float
    curve: str
    residual_amps: float
    residual_type: str
    poles: tuple[str, ...]
    senses: tuple[str, ...]
    covers: tuple[str, ...]  # circuits behind it


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the ladder: the board, a point; with its terminals by conductor key."""

    name: str
    kind: str
    circuit: str
    conductors: tuple[str, ...]
    front: bool
    access: str
    upstream: tuple[str, ...] = ()  # names of runs arriving from the board's side
    downstream: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """All elements of an installation. Tuples are in a fixed order, so results are repeatable."""

    elements: tuple[Element, ...]
    couplings: tuple[Coupling, ...]
    loads: tuple[LoadPort, ...]
    ways: tuple[Way, ...]
    spots: tuple[Spot, ...]
    hertz: float
    volts: float

    def element(self, id: str) -> Element:
        """The element with that id; KeyError names it where there is none."""
        for element in self.elements:
            if element.id == id:
                return element
        raise KeyError(id)


def node(place: str, conductor: str, part: str = "") -> str:
    """The node name of a terminal: ``place.conductor`` or ``place.conductor:part``."""
    return f"{place}.{conductor}" + (f":{part}" if part else "")
