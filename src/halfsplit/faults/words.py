"""Trade words for conductors, terminals and faults, by region. Keys and ids never change."""

from __future__ import annotations

from halfsplit.faults.fault import Family, Fault
from halfsplit.wiring.model import Installation, Region

_UK = {
    "line": "line", "neutral": "neutral", "earth": "earth", "earthed": "earthed",
    "cpc": "protective conductor", "combined": "combined neutral and earth (PEN)",
    "switched": "switched line", "strapper": "strapper", "socket": "socket-outlet",
    "board": "consumer unit", "cable": "cable", "rcd": "residual-current device",
    "rcd_outlet": "residual-current outlet", "origin": "origin", "true earth": "true earth",
}  # fmt: skip
_WORDS: dict[Region, dict[str, str]] = {
    "uk": _UK,
    "eu": {**_UK, "board": "distribution board"},
    "au": {**_UK, "line": "active", "switched": "switched active", "board": "switchboard"},
    "na": {
        **_UK, "line": "hot", "earth": "ground", "cpc": "equipment ground",
        "combined": "service neutral", "switched": "switched hot", "strapper": "traveler",
        "socket": "receptacle", "board": "panel", "rcd": "ground-fault device",
        "rcd_outlet": "ground-fault receptacle", "earthed": "grounded",
        "origin": "service", "true earth": "the earth itself",
    },
}  # fmt: skip

_ROLE = {
    "L": "line", "N": "neutral", "E": "cpc", "PEN": "combined", "SL": "switched",
    "earth": "true earth",
}  # fmt: skip


def vocabulary(region: Region) -> dict[str, str]:
    """The trade words that catalogue texts are filled with, by key ({socket}, {cpc}, ...)."""
    return dict(_WORDS[region])


def conductor_words(key: str, region: Region) -> str:
    """A conductor in trade words: "L" is line, hot or active; "L2" line 2; "T1" strapper 1."""
    words = _WORDS[region]
    if key in _ROLE:
        return words[_ROLE[key]]
    for letter, role in (("SL", "switched"), ("L", "line"), ("T", "strapper")):
        if key.startswith(letter) and key[len(letter) :].isdigit():
            return f"{words[role]} {key[len(letter) :]}"
    return key


def joined(words: tuple[str, ...]) -> str:
    """ "a", "a and b", "a, b and c"; each once, in order."""
    once = tuple(dict.fromkeys(words))
    if len(once) < 2:
        return "".join(once)
    return f"{', '.join(once[:-1])} and {once[-1]}"


def place_words(place: str, region: Region) -> str:
    """A place's name; the origin and true earth in the region's words."""
    if place == "origin":
        return f"the {_WORDS[region]['origin']}"
    if place == "source":
        return "the transformer"
    return place


def terminal_words(node: str, region: Region, installation: Installation) -> str:
    """A node in trade words: "the line terminal at Tool bench", "the end of ... from Board–A"."""
    words = _WORDS[region]
    if node == "earth":
        return words["true earth"]
    load, _, end = node.rpartition(":")
    if end in ("a", "b", "frame") and "/" in load:
        where, _, name = load.partition("/")
        whole = load_words(load) if name == where else f"{load_words(load)} at {where}"
        return f"the frame of {whole}" if end == "frame" else f"the connection of {whole}"
    place, key, part = _split(node, installation)
    where, conductor = place_words(place, region), conductor_words(key, region)
    if part == "":
        return f"the {conductor} {_landing(place, installation)} at {where}"
    if part == "front":
        return f"the front {conductor} contact at {where}"
    if part.startswith("way "):
        return f"the {conductor} terminal of the way for {part[4:]} at {where}"
    if part.startswith("group "):
        return f"the {conductor} bar behind {part[6:]} at {where}"
    named = {"in": "incoming", "line": "incoming", "splice": "spliced"}
    if part in named:
        return f"the {named[part]} {conductor} terminal at {where}"
    return f"the {conductor} core of {part} at {where}"


def load_words(load: str) -> str:
    """A load by its id "Bench/kettle" as it is called: "the kettle"; its own name if it has one."""
    name = load.rpartition("/")[2]
    return f"the {name}" if name[:1].islower() else name


def _landing(place: str, installation: Installation) -> str:
    boards = {board.name for board in installation.boards}
    return "bar" if place in boards else "terminal"


def _split(node: str, installation: Installation) -> tuple[str, str, str]:
    """(place, conductor, part) of a node; a place's own dots and colons are honoured."""
    places = [p.name for p in installation.points()] + [b.name for b in installation.boards]
    for place in sorted((*places, "origin", "source"), key=len, reverse=True):
        if node.startswith(f"{place}."):
            key, _, part = node[len(place) + 1 :].partition(":")
            return place, key, part
    place, _, rest = node.partition(".")
    key, _, part = rest.partition(":")
    return place, key, part


def in_region(text: str, region: Region) -> str:
    """A catalogue text with its trade words filled in; a fault's own blanks stay as they are."""
    return text.format_map(_Kept(_WORDS[region]))


def title_words(family: Family, region: Region) -> str:
    """A family's title in the region's words."""
    title = in_region(family.title, region)
    return title[:1].upper() + title[1:]


class _Kept(dict[str, str]):
    def __missing__(self, key: str) -> str:
        return f"{{{key}}}"


def describe(fault: Fault, family: Family, installation: Installation) -> str:
    """One sentence saying what is wrong and where, in the installation's regional words."""
    return fill(family.says, fault, installation)


def fill(text: str, fault: Fault, installation: Installation) -> str:
    """Any of the family's texts (says, confirm, mending) with the fault's blanks filled."""
    region = installation.region
    blanks = dict(_WORDS[region])
    for key, value in fault.detail:
        if key in ("a", "b"):
            blanks[key] = terminal_words(value, region, installation)
        elif key in ("place", "from", "to"):
            blanks[key] = place_words(value, region)
        elif key == "load":
            blanks[key] = load_words(value)
        else:
            blanks[key] = value
    if fault.members:
        blanks["both"] = _both(fault, installation)
    blanks["conductors"] = joined(tuple(conductor_words(k, region) for k in fault.conductors))
    sentence = text.format_map(_Kept(blanks))
    if blanks.get("load") and blanks["load"] == blanks.get("place"):  # an appliance is its place
        sentence = sentence.replace(f"{blanks['load']} at {blanks['place']}", blanks["place"])
    return sentence[:1].upper() + sentence[1:]


def _both(fault: Fault, installation: Installation) -> str:
    """Two faults in one sentence."""
    says = dict(fault.detail)
    parts = (says["says first"], says["says second"])
    first, second = (
        fill(text, member, installation).rstrip(".")
        for text, member in zip(parts, fault.members, strict=True)
    )
    starts = second.split(" ", 1)[0]
    second = second if starts.isupper() else second[:1].lower() + second[1:]
    return f"{first}, and {second}."
