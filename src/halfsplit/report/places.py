"""Places in words: in the order in which they are fed, and a whole stretch by its ends."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from halfsplit.faults.words import conductor_words, joined, place_words
from halfsplit.wiring.model import Circuit, Installation

STRETCH_FROM = 3  # so many neighbours are named by the first and the last


def fed_order(places: Iterable[str], installation: Installation) -> tuple[str, ...]:
    """Places each once, from the supply on; names that are no places stay last."""
    known = ["source", "origin", *(b.name for b in installation.boards)]
    known += [p.name for p in installation.points()]
    rank = {place: k for k, place in enumerate(known)}
    return tuple(sorted(dict.fromkeys(places), key=lambda p: rank.get(p, len(rank))))


def place_list(places: Iterable[str], installation: Installation) -> str:
    """ "Bench, Shelf and Winch", with neighbours on one cable run as "Shelf to Winch"."""
    parts: list[str] = []
    left = list(fed_order(places, installation))
    while left:
        taken = _stretch(left, installation)
        names = [place_words(p, installation.region) for p in (taken[0], taken[-1])]
        parts.append(f"{names[0]} to {names[1]}" if len(taken) > 1 else names[0])
        left = left[len(taken) :]
    return joined(tuple(parts))


def at_places(places: Iterable[str], installation: Installation) -> str:
    """The same with its preposition: "at Bench", "from Shelf to Winch"."""
    left = fed_order(places, installation)
    whole = len(left) > 1 and len(_stretch(left, installation)) == len(left)
    return f"{'from' if whole else 'at'} {place_list(left, installation)}"


def _stretch(places: Sequence[str], installation: Installation) -> Sequence[str]:
    """The neighbours that begin ``places``; the first alone where they are too few."""
    for circuit in installation.circuits:
        names = [p.name for p in circuit.points]
        if places[0] in names and circuit.order_known and _in_a_row(circuit):
            after = names[names.index(places[0]) :]
            count = sum(
                1
                for k in range(min(len(after), len(places)))
                if after[: k + 1] == list(places[: k + 1])
            )
            return places[:count] if count >= STRETCH_FROM else places[:1]
    return places[:1]


def _in_a_row(circuit: Circuit) -> bool:
    """Whether each point is fed from the one before it, without branches."""
    names = [circuit.board, *(p.name for p in circuit.points)]
    pairs = {(run.start, run.end) for run in circuit.runs}
    return all((a, b) in pairs for a, b in pairwise(names))


def things(found: Iterable[tuple[str, str]], installation: Installation) -> str:
    """Conductors at places, "frame" being metalwork: "the line at Hob, and metalwork at Bath"."""
    by_conductor: dict[str, list[str]] = {}
    for conductor, place in found:
        by_conductor.setdefault(conductor, []).append(place)
    together: dict[tuple[str, ...], list[str]] = {}
    for conductor, places in by_conductor.items():
        named = conductor_words(conductor, installation.region)
        thing = "metalwork" if conductor == "frame" else f"the {named}"
        together.setdefault(fed_order(places, installation), []).append(thing)
    return ", and ".join(
        f"{joined(tuple(named))} {at_places(places, installation)}"
        for places, named in together.items()
    )
