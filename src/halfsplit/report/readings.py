"""A reading in words: where, between what, what was shown, with what, in which conditions."""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass

from halfsplit.errors import NotInTable
from halfsplit.faults.words import conductor_words, joined, terminal_words
from halfsplit.instruments.catalogue import instrument
from halfsplit.instruments.reading import Reading
from halfsplit.quantity import amps, ohms, volts
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import Installation, Region
from halfsplit.wiring.plan import EARTH

UNITS = {"volts": "V", "ohms": "Ω", "megohms": "Ω", "loop": "Ω", "amps": "A", "ramp": "A"}
PRINTED = {"V": volts, "Ω": ohms, "A": amps}
BOUNDS = {"=": "", "~": "about ", ">": "over ", "<": "under "}
OVER_RANGE = 0.99e9  # ohm or volt: predictions are cut off there

_LETTERS: dict[Region, dict[str, str]] = {
    "uk": {},
    "eu": {},
    "na": {"L": "H", "E": "G", "SL": "SH"},
    "au": {"L": "A", "SL": "SA"},
}
_WORKS = {"works": "works", "dead": "does not work", "weak": "works weakly"}
_GLOW = {
    "off": "stays dark",
    "glimmer": "glimmers",
    "dim": "is dim",
    "normal": "is lit normally",
    "bright": "is too bright",
    "flicker": "flickers",
}
_TRIPS = {
    "holds": "holds",
    "at once": "trips at once",
    "seconds": "trips within seconds",
    "minutes": "trips after minutes",
    "trips": "trips",
}
_SENSE = {
    "buzz": "buzzes",
    "heat": "is hot",
    "smell": "smells of burning",
    "scorch": "is scorched",
    "smoke": "smokes",
    "spark": "sparks",
    "flicker": "flickers",
    "wet": "is wet",
}


@dataclass(frozen=True, slots=True)
class Told:
    """One reading in words. ``what`` is what it is between or about, ``shown`` what was found."""

    place: str
    what: str
    shown: str
    instrument: str
    conditions: str

    @property
    def line(self) -> str:
        """All of it but the place, for its rung: "L–E 236 V, multimeter, main switch off"."""
        parts = (f"{self.what} {self.shown}".strip(), self.instrument, self.conditions)
        return ", ".join(part for part in parts if part)


def letter(key: str, region: Region) -> str:
    """The letter that stands for a conductor: L, N, E; H, N, G in North America."""
    return _LETTERS[region].get(key, key)


def figure_words(kind: str, value: float) -> str:
    """A figure in its unit as an instrument shows it: "236 V", "over range"."""
    unit = UNITS[kind]
    if unit == "Ω" and (math.isinf(value) or value >= OVER_RANGE):
        return "over range"
    if math.isinf(value):
        return "over range"
    return PRINTED[unit](value)


def shown_words(reading: Reading, value: float | None) -> str:
    """A predicted figure as the reading's instrument would show it, to its last digit."""
    if value is None:
        return ""
    if not math.isfinite(value):
        return figure_words(reading.kind, value)
    step = {"volts": 0.1, "ohms": 0.01, "loop": 0.01}.get(reading.kind, 0.0)
    if reading.instrument:
        with suppress(NotInTable):
            step = instrument(reading.instrument).resolution
    return figure_words(reading.kind, round(value / step) * step if step else value)


def told(reading: Reading, installation: Installation) -> Told:
    """A reading in the words of the installation's region."""
    region = installation.region
    place = place_of(reading, installation)
    seen = "" if reading.showing is not False else "fault not showing"
    settled = "" if reading.settled else "would not settle"
    conditions = condition_words(reading.conditions, installation, reading.kind)
    extra = ", ".join(x for x in (conditions, settled, seen) if x)
    return Told(
        place,
        _what(reading, installation, place),
        _shown(reading),
        _by(reading, region),
        extra,
    )


def place_of(reading: Reading, installation: Installation) -> str:
    """The place whose rung a reading belongs on; "" where it belongs to none."""
    if reading.place:
        return reading.place
    places = [p.name for p in installation.points()] + [b.name for b in installation.boards]
    for text in (reading.of, reading.a):
        for place in sorted(places, key=len, reverse=True):
            if text == place or text.startswith((f"{place}.", f"{place}/")):
                return place
    for circuit in installation.circuits:
        if reading.of in (circuit.name, circuit.device.name):
            return circuit.board
    return installation.boards[0].name


def _by(reading: Reading, region: Region) -> str:
    if not reading.instrument:
        return "meter not said" if reading.kind == "volts" else ""
    try:
        return instrument(reading.instrument).title(region)
    except NotInTable:
        return reading.instrument


def _what(reading: Reading, installation: Installation, place: str) -> str:
    region = installation.region
    if reading.kind == "amps":
        return f"current in {_through(reading.conductors, region)}"
    if reading.kind == "ramp":
        return f"{reading.of}, ramp"
    if reading.kind in ("works", "glow") and not reading.a:
        named = reading.of.rpartition("/")[2]
        return "" if named == place else named
    if reading.kind == "trips":
        return reading.of
    if reading.kind == "count":
        return " ".join((*(letter(key, region) for key in reading.conductors), reading.seen))
    if reading.kind in ("sense", "lamps"):
        return "" if reading.kind == "sense" else "lamps"
    if reading.kind == "touch":
        other = "" if reading.b == EARTH else f" and {_end(reading.b, place, installation)}"
        return f"{_end(reading.a, place, installation)}{other}:"
    if _ends_of_one(reading, place):
        return f"{letter(reading.a[len(place) + 1 :].partition(':')[0], region)} end to end"
    a, b = _end(reading.a, place, installation), _end(reading.b, place, installation)
    dead = {"ohms": "dead ", "megohms": "insulation ", "loop": "loop ", "proved dead": ""}
    joint = "–" if len(a) < 3 and len(b) < 3 else " to "
    lamp = "lamp " if reading.kind == "glow" else ""
    return f"{dead.get(reading.kind, '')}{lamp}{a}{joint}{b}"


def _through(elements: tuple[str, ...], region: Region) -> str:
    """What a clamp is put round: "L+N of RCD 1", "water pipe"."""
    of: dict[str, list[str]] = {}
    for element in elements:
        kind, _, rest = element.partition(" ")
        name, _, key = rest.rpartition(" ")
        if kind in ("pole", "core", "tail", "front", "joint") and name:
            of.setdefault(f" of {name}", []).append(letter(key, region))
        else:
            of.setdefault("", []).append(rest or element)
    return joined(tuple(f"{'+'.join(keys)}{name}" for name, keys in of.items()))


def circuit_of(reading: Reading, installation: Installation) -> str:
    """The circuit a reading at a board belongs to; "" for what is shared."""
    for circuit in installation.circuits:
        ways = (f"way {circuit.name}", f"pole {circuit.device.name} ")
        if reading.of in (circuit.name, circuit.device.name) or any(
            text.endswith(ways[0]) or text.startswith(ways[1])
            for text in (reading.a, reading.b, *reading.conductors)
        ):
            return circuit.name
        runs = {run.name for run in circuit.runs}
        if any(end.rpartition(":")[2] in runs for end in (reading.a, reading.b)):
            return circuit.name
    return ""


def _ends_of_one(reading: Reading, place: str) -> bool:
    """Whether it is taken between the two lifted ends of one conductor at a board."""
    before = f"{place}."
    if not (reading.a.startswith(before) and reading.b.startswith(before)):
        return False
    a, b = (end[len(before) :].partition(":") for end in (reading.a, reading.b))
    lifted = {f"joint {place} {key} {run}" for key, _, run in (a, b)}
    return a[0] == b[0] and len(lifted) == 2 and lifted <= set(reading.conditions.lifted)


def _end(node: str, place: str, installation: Installation) -> str:
    """One end of a reading: a letter at its own place, else with the place."""
    region = installation.region
    if node == EARTH:
        return conductor_words("earth", region)
    load, _, end = node.rpartition(":")
    if "/" in load and end == "frame":
        where, _, name = load.partition("/")
        return f"case of {name}" if where == place else f"case of {name} at {where}"
    where, _, rest = node.rpartition(".") if "." in node else (node, "", "")
    key, _, part = rest.partition(":")
    if where == place:
        plain = part in ("", "front") or part.startswith(("way ", "group "))
        return letter(key, region) if plain else f"{letter(key, region)} ({part})"
    if not key:
        return terminal_words(node, region, installation)
    return f"{letter(key, region)} at {where}"


def _shown(reading: Reading) -> str:
    if reading.kind == "touch":
        return reading.seen
    if reading.kind == "count":
        return "" if reading.seen == "loose" else f"{reading.value or 0:g}"
    if reading.kind == "lamps":
        return " ".join(
            f"{pair} {({'1': 'lit', '0': 'dark'}).get(seen, 'not said')}"
            for pair, seen in zip(("L–N", "L–E", "N–E"), reading.seen, strict=False)
        )
    words = {"works": _WORKS, "glow": _GLOW, "trips": _TRIPS, "sense": _SENSE}.get(reading.kind)
    if words is not None:
        return words.get(reading.seen, reading.seen)
    if reading.kind == "proved dead":
        return reading.seen
    if reading.value is None:
        return "over range"
    figure = figure_words(reading.kind, reading.value)
    return figure if figure == "over range" else BOUNDS[reading.bound] + figure


def condition_words(given: Conditions, installation: Installation, kind: str = "") -> str:
    """Conditions in a few words; nothing for those described."""
    off = [f"{name} off" for name in given.off]
    on = [f"{name} on" for name in given.on]
    set_ = [f"{name} {position}" for name, position in given.positions]
    away = [f"{_load(name)} unplugged" for name in given.unplugged]
    plugged = [f"{_load(name)} in and on" for name in given.plugged]
    links = [_link(a, b, installation) for a, b in given.links]
    lifted = _lifted(given.lifted, installation)
    added = [f"{kind} {watts:.0f} W put in at {place}" for place, kind, watts in given.added]
    states = []
    if given.dead and kind not in ("ohms", "megohms"):
        states.append("isolated")
    if given.wet:
        states.append("in rain or wet")
    if given.warm:
        states.append("warm")
    if not given.energised:
        states.append("supply off")
    return ", ".join([*off, *on, *set_, *away, *plugged, *links, *lifted, *added, *states])


def _load(name: str) -> str:
    """A load's id as one would say it: "motor at Fan"."""
    place, slash, load = name.partition("/")
    return f"{load} at {place}" if slash else name


def _link(a: str, b: str, installation: Installation) -> str:
    place = a.partition(".")[0]
    if b.partition(".")[0] != place:
        return f"{_end(a, '', installation)} linked to {_end(b, '', installation)}"
    ends = "–".join(_end(end, place, installation) for end in (a, b))
    return f"{ends} linked at {place}"


def _lifted(joints: tuple[str, ...], installation: Installation) -> list[str]:
    """Joints parted, one phrase for each place, "L and N lifted at Board"; paths by name."""
    paths = [f"{part.removeprefix('path ')} parted" for part in joints if part.startswith("path ")]
    flexes = [part.removeprefix("flex ").rpartition(" ")[0] for part in joints
              if part.startswith("flex ")]  # fmt: skip
    paths += [f"{_load(name)} switched off, left in" for name in flexes]
    joints = tuple(part for part in joints if not part.startswith(("path ", "flex ")))
    places = [p.name for p in installation.points()] + [b.name for b in installation.boards]
    found: dict[str, list[str]] = {}
    for joint in joints:
        rest = joint.removeprefix("joint ")
        fits = [p for p in places if rest.startswith(f"{p} ")]
        place = max(fits, key=len, default="")
        key = rest[len(place) :].split()[0] if rest[len(place) :].split() else rest
        found.setdefault(place, []).append(letter(key, installation.region))
    lifted = [
        f"{joined(tuple(keys))} lifted{' at ' + place if place else ''}"
        for place, keys in found.items()
    ]
    return [*lifted, *paths]
