"""Invented installations for the trials, as an electrician would write them down.

Places and loads are drawn; each kind of house is a written form, read by the program itself. What
the site really is beside it is drawn elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

PLACES = (
    "Ash", "Birch", "Cedar", "Elder", "Fir", "Hazel", "Juniper", "Larch", "Maple", "Oak", "Pine",
    "Rowan", "Spruce", "Sumac", "Teak", "Willow", "Yew", "Aspen", "Beech", "Laurel",
)  # fmt: skip
SOCKET_LOADS = (
    ("electronics 90 W", 4), ("heater 1200 W", 3), ("filament 60 W", 2), ("LED 8 W", 2),
    ("heater 600 W", 1), ("motor 150 W", 1), ("electronics 30 W", 2),
)  # fmt: skip
LAMPS = (("LED 8 W", 5), ("filament 60 W", 3), ("filament 40 W", 2))
SUPPLIES = (("TN-C-S 230 V", 5), ("TN-S 230 V", 3), ("TT 230 V", 2))


@dataclass(frozen=True, slots=True)
class House:
    """A kind of installation and its written form."""

    kind: str
    text: str


class Pen:
    """Draws what a written form is made of."""

    def __init__(self, random: Random) -> None:
        self.random = random
        self._places = list(PLACES)
        random.shuffle(self._places)

    def of(self, table: tuple[tuple[str, int], ...]) -> str:
        """One of a weighted table."""
        return self.random.choices([x for x, _ in table], [w for _, w in table])[0]

    def place(self) -> str:
        """A name not used yet."""
        return self._places.pop()

    def length(self, usual: float, unit: str = "m") -> str:
        """A length as written: paced, guessed, or not known to the metre."""
        metres = max(1, round(usual * self.random.uniform(0.4, 1.8)))
        return f"about {metres} {unit}" if self.random.random() < 0.4 else f"{metres} {unit}"

    def chain(self, names: list[str], usual: float, first: float, unit: str = "m") -> str:
        """``first`` length to the first of ``names``, then from place to place."""
        parts = [self.length(first, unit), names[0]]
        for name in names[1:]:
            parts += [self.length(usual, unit), name]
        return f"[{', '.join(parts)}]"

    def loads(self, names: list[str], least: int = 1) -> str:
        """Something plugged in at some of ``names``; at least ``least`` of them."""
        count = min(len(names), max(least, round(len(names) * self.random.uniform(0.3, 0.8))))
        chosen = sorted(self.random.sample(range(len(names)), count))
        inside = ", ".join(f"{names[k]}: {self.of(SOCKET_LOADS)}" for k in chosen)
        return f"{{{inside}}}"

    def places(self, count: int) -> list[str]:
        """Several names."""
        return [self.place() for _ in range(count)]


def _head(pen: Pen, region: str = "uk", supply: str = "") -> str:
    return f"region: {region}\nsupply: {supply or pen.of(SUPPLIES)}\n"


def _sockets(pen: Pen, name: str, count: int, device: str = "B16") -> str:
    names = pen.places(count)
    return (
        f"  {name}:\n    device: {device}\n    cable: 2.5/1.5 twin and earth\n"
        f"    run: {pen.chain(names, 5, 9)}\n    plugged in: {pen.loads(names, 2)}\n"
    )


def _lights(pen: Pen, name: str, count: int, device: str = "B6") -> str:
    lines = [f"  {name}:\n    device: {device}\n    cable: 1.5/1 twin and earth\n    lighting:\n"]
    for k in range(count):
        light, lamp = pen.place(), pen.of(LAMPS)
        switch = f"{light} switch"
        two_way = pen.random.random() < 0.35
        switches = f"[{switch}, {light} stair switch]" if two_way else switch
        drops = f"[{pen.length(4)}, {pen.length(6)}]" if two_way else pen.length(4)
        lines.append(f"      - {pen.length(7 if k == 0 else 4)}\n")
        lines.append(
            f"      - {light}: {{switched by: {switches}, drops: {drops}, lamp: {lamp}}}\n"
        )
    return "".join(lines)


def radial(pen: Pen) -> str:
    """One radial circuit."""
    device = pen.of((("B16", 3), ("B20", 1), ("B16 RCBO 30 mA", 2)))
    return _head(pen) + "circuits:\n" + _sockets(pen, "sockets", pen.random.randint(3, 7), device)


def branched(pen: Pen) -> str:
    """A radial circuit with a joint box from which a branch leaves."""
    names, side = pen.places(pen.random.randint(3, 5)), pen.places(2)
    box = names[pen.random.randrange(1, len(names))]
    return (
        _head(pen)
        + "circuits:\n  workshop:\n    device: B20\n    cable: 2.5/1.5 twin and earth\n"
        + f"    run: {pen.chain(names, 5, 9)}\n"
        + f"    branches: {{{box}: {pen.chain(side, 3, 4)}}}\n"
        + f"    points:\n      {box}: joint box\n"
        + f"    plugged in: {pen.loads([n for n in (*names, *side) if n != box], 2)}\n"
    )


def ring(pen: Pen) -> str:
    """A ring with a spur."""
    names = pen.places(pen.random.randint(3, 6))
    spur = pen.place()
    chain = pen.chain(names, 6, 9).removesuffix("]") + f", {pen.length(9)}]"
    return (
        _head(pen)
        + "circuits:\n  ring:\n    device: B32\n    cable: 2.5/1.5 twin and earth\n"
        + f"    ring: {chain}\n    spurs: {{{names[1]}: [{pen.length(3)}, {spur}]}}\n"
        + f"    plugged in: {pen.loads([*names, spur], 2)}\n"
    )


def lighting(pen: Pen) -> str:
    """A chain of lights, looped at the ceiling."""
    return _head(pen) + "circuits:\n" + _lights(pen, "lights", pen.random.randint(2, 4))


def shared_board(pen: Pen) -> str:
    """Two circuits of sockets behind one residual-current device, lights beside them."""
    first, second = pen.random.randint(2, 4), pen.random.randint(2, 3)
    return (
        _head(pen)
        + "boards:\n  Board:\n    groups:\n      RCD: {device: RCD 30 mA 63 A, "
        + "circuits: [downstairs, upstairs]}\ncircuits:\n"
        + _sockets(pen, "downstairs", first)
        + _sockets(pen, "upstairs", second)
        + _lights(pen, "lights", 1)
    )


def sub_board(pen: Pen) -> str:
    """A board in an outbuilding at the end of its own cable."""
    return (
        _head(pen)
        + "boards:\n  Board: {}\n  Barn board:\n    main: switch 63 A\ncircuits:\n"
        + _sockets(pen, "house", 2)
        + "  barn feed: {device: B32, cable: 6/2.5 twin and earth, "
        + f"run: [{pen.length(25)}, Barn board]}}\n"
        + _sockets(pen, "barn", pen.random.randint(2, 3)).replace(
            "    device:", "    board: Barn board\n    device:", 1
        )
    )


def shared_neutral(pen: Pen) -> str:
    """North America: two legs of a split phase with one neutral between them."""
    names = pen.places(pen.random.randint(3, 4))
    points = ", ".join(f"{name}: {{leg: L{1 + k % 2}}}" for k, name in enumerate(names))
    other = pen.places(pen.random.randint(2, 3))
    return (
        _head(pen, "na", "split phase 120/240 V TN-C-S")
        + "circuits:\n  counter:\n    device: 20 A breaker\n    cable: 12/3 NM-B\n"
        + "    legs: [L1, L2]\n"
        + f"    run: {pen.chain(names, 8, 30, 'ft')}\n    points: {{{points}}}\n"
        + f"    plugged in: {pen.loads(names, 2)}\n"
        + "  den:\n    device: 15 A breaker\n    cable: 14/2 NM-B\n    legs: L2\n"
        + f"    run: {pen.chain(other, 10, 35, 'ft')}\n    plugged in: {pen.loads(other)}\n"
    )


def outlets(pen: Pen) -> str:
    """North America: one radial of receptacles."""
    names = pen.places(pen.random.randint(3, 7))
    return (
        _head(pen, "na", "split phase 120/240 V TN-C-S")
        + "circuits:\n  bedroom:\n    device: 15 A breaker\n    cable: 14/2 NM-B\n    legs: L1\n"
        + f"    run: {pen.chain(names, 10, 35, 'ft')}\n    plugged in: {pen.loads(names, 2)}\n"
    )


KINDS: tuple[tuple[Callable[[Pen], str], int], ...] = (
    (radial, 4), (branched, 2), (ring, 2), (lighting, 3), (shared_board, 2), (sub_board, 1),
    (shared_neutral, 2), (outlets, 2),
)  # fmt: skip


def draw_house(random: Random) -> House:
    """One of the kinds, written down."""
    make = random.choices([kind for kind, _ in KINDS], [weight for _, weight in KINDS])[0]
    return House(make.__name__.replace("_", " "), make(Pen(random)))
