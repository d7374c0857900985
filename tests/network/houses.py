"""Random house-like networks: three conductors from a board through many places, invented."""

import itertools
from dataclasses import dataclass

import numpy as np

from halfsplit.network import Branch, Bridge, Change, Network, Series, Shunt, V

CORES = ("L", "N", "E")
LIVE = 2 * np.pi * 50
INF = float("inf")


@dataclass(frozen=True)
class House:
    """A network, its circuits as lists of places, and the branch names along each conductor."""

    network: Network
    omega: float
    circuits: tuple[tuple[str, ...], ...]
    ring: int | None

    def core(self, circuit: int, core: str) -> list[str]:
        """Branch names of one conductor in order from the board."""
        start = f"{core} {circuit}."
        return [branch.name for branch in self.network.branches if branch.name.startswith(start)]


def house(rng: np.random.Generator, live: bool, circuits: int = 3, places: int = 8) -> House:
    """A TN house: supply, board, radial circuits and one ring; each joint and core is a branch.

    Live: 230 V, 50 Hz, from 10 pF and about 1e-11 S per section. Dead: a 230 V DC tester stands
    in for the supply, insulation from 1e-12 S per section, no capacitance.
    """
    branches = [
        Branch("supply", "true earth", "board L", r=0.2, l=1e-4 * live, emf=230.0),
        Branch("supply neutral", "true earth", "board N", r=0.1),
        Branch("supply earth", "true earth", "board E", r=0.15),
    ]
    shunts: list[Shunt] = []
    named: list[tuple[str, ...]] = []
    ring = int(rng.integers(circuits))
    for c in range(circuits):
        here = tuple(f"{c}.{k}" for k in range(places))
        named.append(here)
        stops = ["board", *here, *(["board"] if c == ring else [])]
        for core in CORES:
            for k, (a, b) in enumerate(itertools.pairwise(stops)):
                middle = f"{core} joint {c}.{k}"
                metre_ohm = float(rng.uniform(0.005, 0.02)) * float(rng.uniform(1, 15))
                branches.append(
                    Branch(
                        f"{core} {c}.{k} joint", _node(a, core), middle, r=rng.uniform(1e-4, 2e-3)
                    )
                )
                branches.append(
                    Branch(f"{core} {c}.{k} core", middle, _node(b, core), r=metre_ohm, l=5e-7)
                )
        for place in here:
            for p, q in (("L", "N"), ("L", "E"), ("N", "E")):
                g = 10 ** rng.uniform(-12, -9)
                cap = 1e-11 * 10 ** rng.uniform(0, 2) if live else 0.0
                shunts.append(Shunt(f"{p}{q} {place}", _node(place, p), _node(place, q), g, cap))
        for place in rng.choice(here, size=2, replace=False):
            ohm = float(10 ** rng.uniform(1.3, 3))
            branches.append(Branch(f"load {place}", _node(place, "L"), _node(place, "N"), r=ohm))
    network = Network("true earth", tuple(branches), tuple(shunts))
    return House(network, LIVE if live else 0.0, tuple(named), ring)


def _node(place: str, core: str) -> str:
    return f"{place} {core}" if place == "board" else f"{core} {place}"


def _apart(along: list[str], rng: np.random.Generator) -> tuple[int, int]:
    """Two positions along a conductor with at least one place between them."""
    sections = sorted(rng.choice(len(along) // 2, size=2, replace=False))
    one, two = (2 * int(section) + int(rng.integers(2)) for section in sections)
    return one, two


def faults(house: House, rng: np.random.Generator) -> dict[str, list[Change]]:
    """One of each family, somewhere in the house."""
    radial = int(rng.choice([c for c in range(len(house.circuits)) if c != house.ring]))
    core = str(rng.choice(CORES))
    along = house.core(radial, core)
    one, two = _apart(along, rng)
    place = str(rng.choice(house.circuits[radial]))
    c, k = radial, int(rng.integers(len(house.circuits[radial])))
    line, neutral = f"L {c}.{k} core", f"N {c}.{k} core"
    looped = house.core(house.ring, core)
    first, second = _apart(looped, rng)
    near, far = f"joint {c}.{k}", f"{c}.{k}"
    return {
        "opened": [Series(along[one], INF)],
        "resistive": [Series(along[one], float(10 ** rng.uniform(-2, 4)))],
        "shorted": [Bridge(f"L {place}", f"E {place}", float(10 ** rng.uniform(-6, 2)))],
        "joined solidly": [Bridge(f"N {place}", f"E {place}", INF)],
        "crossed": [
            Series(line, INF),
            Series(neutral, INF),
            Bridge(f"L {near}", f"N {far}", INF),
            Bridge(f"N {near}", f"L {far}", INF),
        ],
        "opened twice": [Series(along[one], INF), Series(along[two], INF)],
        "opened and damp": [Series(along[one], INF), Bridge(f"L {place}", f"N {place}", 1e-7)],
        "ring opened twice": [Series(looped[first], INF), Series(looped[second], INF)],
    }


def everywhere(house: House) -> list[V]:
    """Every node against true earth, and line to neutral at every place."""
    asked = [V(node, "true earth") for node in house.network.nodes]
    asked += [V(f"L {p}", f"N {p}") for places in house.circuits for p in places]
    return asked
