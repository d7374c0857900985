"""What the circuits share, as rows a thumb can change: main devices, groups behind one device,
other paths to earth, other sources. Read from the written form and written back to it.

What a row cannot say is kept as it was written, and shown as words.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from halfsplit.errors import BadInput
from halfsplit.form.shape import aliases
from halfsplit.problems import Problem

BOARD = "Board"
SOURCES = ("solar", "battery", "generator", "vehicle", "ups", "wind")
OPS = ("", "done", "group", "path", "source")
OWN_METAL = "metal"
MOST = 40
_PATH = re.compile(r"(?P<ends>.+? to earth)(?:, (?P<ohms>[^,]*\d[^,]*))?(?P<maybe>, maybe)?")


@dataclass(frozen=True, slots=True)
class Main:
    """A board and its main device as typed, "" for the usual one."""

    board: str
    device: str = ""
    plain: bool = True


@dataclass(frozen=True, slots=True)
class Behind:
    """Circuits behind one shared device of a board."""

    name: str
    board: str
    device: str = ""
    circuits: tuple[str, ...] = ()
    plain: bool = True


@dataclass(frozen=True, slots=True)
class Way:
    """A path that is no circuit: from a board's earth bar, or metal by itself, to earth.

    ``ends`` is "Board E" or :data:`OWN_METAL`; ``kept`` is what a row cannot say, as written.
    """

    name: str
    ends: str = f"{BOARD} E"
    ohms: str = ""
    maybe: bool = False
    kept: Any = None


@dataclass(frozen=True, slots=True)
class Also:
    """Another source: its kind, whether its own switch stands on; ``rest`` as written."""

    name: str
    kind: str
    on: bool = False
    rest: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class House:
    """Everything that the circuits share."""

    mains: tuple[Main, ...]
    groups: tuple[Behind, ...] = ()
    paths: tuple[Way, ...] = ()
    sources: tuple[Also, ...] = ()


def proper(wiring: Mapping[str, Any]) -> dict[str, Any]:
    """A description with its own keys for their other spellings."""
    other = aliases("job")
    return {other.get(key, key): value for key, value in wiring.items()}


def house_of(wiring: Mapping[str, Any]) -> House:
    """What the circuits of a description share, as rows."""
    wiring = proper(wiring)
    boards = _boards(wiring)
    mains = tuple(
        Main(name, str(d.get("main", "")), isinstance(d.get("main", ""), str))
        for name, d in boards.items()
    )
    groups = tuple(
        _behind(str(name), board, value)
        for board, data in boards.items()
        for name, value in _mapping(data.get("groups")).items()
    )
    paths = tuple(_way(name, v) for name, v in _named_paths(wiring.get("other paths")))
    return House(mains, groups, paths, _sources(wiring.get("other sources")))


def _boards(wiring: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    given = wiring.get("boards") or {BOARD: wiring.get("board") or {}}
    other = aliases("board")
    return {
        str(name): {other.get(str(k), str(k)): v for k, v in data.items()}
        if isinstance(data, Mapping)
        else {"main": data}
        if data
        else {}
        for name, data in _mapping(given).items()
    }


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _behind(name: str, board: str, value: Any) -> Behind:
    device, members = "", value
    if isinstance(value, Mapping):
        device, members = value.get("device", ""), value.get("circuits", ())
    members = (members,) if isinstance(members, str) else members
    plain = isinstance(device, str) and isinstance(members, list | tuple)
    listed = tuple(str(one) for one in members) if isinstance(members, list | tuple) else ()
    return Behind(name, board, device if isinstance(device, str) else "", listed, plain)


def _named_paths(value: Any) -> list[tuple[str, Any]]:
    """Paths by name; those in a list go by their metal."""
    if not isinstance(value, list | tuple):
        return [(str(name), given) for name, given in _mapping(value).items()]
    found: dict[str, Any] = {}
    for item in value:
        stem = name = str(_mapping(item).get("metal", "Path"))
        number = 2
        while name in found:
            name, number = f"{stem} {number}", number + 1
        found[name] = item
    return list(found.items())


def _way(name: str, value: Any) -> Way:
    found = _PATH.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        return Way(name, kept=value)
    ends = found["ends"].removesuffix(" to earth")
    return Way(name, ends, found["ohms"] or "", bool(found["maybe"]))


def _sources(value: Any) -> tuple[Also, ...]:
    if not isinstance(value, Mapping):
        words = str(value).split(",") if isinstance(value, str) else value or ()
        return tuple(Also(str(word).strip(), str(word).strip()) for word in words)
    return tuple(_also(str(name), given) for name, given in value.items())


def _also(name: str, given: Any) -> Also:
    if isinstance(given, Mapping):
        rest = dict(given)
        kind = str(rest.pop("kind", name))
        return Also(name, kind, str(rest.pop("on", "no")).casefold() in _ON, rest)
    text = str(given)
    said = text.casefold() in (*_ON, "no", "off", "false")
    return Also(name, name if said else text, text.casefold() in _ON)


_ON = ("yes", "on", "true")


# Back to the form


def with_house(wiring: Mapping[str, Any], house: House, op: str = "") -> dict[str, Any]:
    """The description with what the circuits share, after one button was pressed.

    ``op`` is "" or "done" to keep the rows, "group", "path" or "source" for one more, "drop group
    2" and the like to take one away; rows count from 0. Raises: BadInput.
    """
    found = proper(wiring)
    house = _pressed(house, op, tuple(_mapping(found.get("circuits"))))
    _named_once(house)
    boards = _boards(found)
    for main in house.mains:
        if main.plain and main.board in boards:
            boards[main.board] = _set(boards[main.board], "main", main.device.strip())
    for name in boards:
        boards[name] = _set(boards[name], "groups", _groups(house, name, boards[name]))
    if "boards" not in found:
        [(_, data)] = boards.items()
        found = _set(found, "board", data.get("main") if data.keys() == {"main"} else data)
    elif boards:
        found["boards"] = boards
    found = _set(found, "other paths", {way.name: _way_form(way) for way in house.paths})
    return _set(found, "other sources", _sources_form(house.sources))


def _set(data: Mapping[str, Any], key: str, value: Any) -> dict[str, Any]:
    """With a key set where it was, or taken away where there is nothing to say."""
    if value:
        return {**data, key: value}
    return {name: old for name, old in data.items() if name != key}


def _groups(house: House, board: str, was: Mapping[str, Any]) -> dict[str, Any]:
    before = _mapping(was.get("groups"))
    made: dict[str, Any] = {}
    for group in house.groups:
        if group.board != board:
            continue
        if not group.plain:
            made[group.name] = before.get(group.name)
        elif group.device:
            made[group.name] = {"device": group.device, "circuits": list(group.circuits)}
        else:
            made[group.name] = list(group.circuits)
    return made


def _way_form(way: Way) -> Any:
    if way.kept is not None:
        return way.kept
    ohms = way.ohms.strip()
    return f"{way.ends} to earth" + (f", {ohms}" if ohms else "") + (", maybe" if way.maybe else "")


def _sources_form(sources: Iterable[Also]) -> Any:
    sources = tuple(sources)
    if all(one.name == one.kind and not one.on and not one.rest for one in sources):
        return [one.name for one in sources]
    return {
        one.name: {"kind": one.kind, **({"on": "yes"} if one.on else {}), **one.rest}
        for one in sources
    }


def _pressed(house: House, op: str, circuits: Collection[str]) -> House:
    words, _, at = op.rpartition(" ")
    k = int(at) if at.isdigit() and len(at) < 4 else MOST
    if words == "drop group":
        return replace(house, groups=house.groups[:k] + house.groups[k + 1 :])
    if words == "drop path":
        return replace(house, paths=house.paths[:k] + house.paths[k + 1 :])
    if words == "drop source":
        return replace(house, sources=house.sources[:k] + house.sources[k + 1 :])
    if op not in OPS:
        raise BadInput([Problem("button", op, "group, path, source, or one of their crosses")])
    if op == "group":
        spoken = {name for group in house.groups for name in group.circuits}
        left = tuple(str(name) for name in circuits if name not in spoken)
        made = Behind(_fresh("Shared device", house), house.mains[0].board, "", left)
        return replace(house, groups=(*house.groups, made))
    if op == "path":
        way = Way(_fresh("Water pipe", house), f"{house.mains[0].board} E")
        return replace(house, paths=(*house.paths, way))
    if op == "source":
        kind = next((k for k in SOURCES if k not in {s.name for s in house.sources}), SOURCES[0])
        return replace(house, sources=(*house.sources, Also(_fresh(kind, house), kind)))
    return house


def _names(house: House) -> list[str]:
    found: tuple[Behind | Way | Also, ...] = (*house.groups, *house.paths, *house.sources)
    return [row.name.strip() for row in found]


def _fresh(stem: str, house: House) -> str:
    """A name nobody has yet: "Water pipe", "Water pipe 2"."""
    taken, name, number = set(_names(house)), stem, 2
    while name in taken:
        name, number = f"{stem} {number}", number + 1
    return name


def _named_once(house: House) -> None:
    names = _names(house)
    problems = [
        Problem("name", name, "a name that nothing else here has")
        for k, name in enumerate(names)
        if not name or name in names[:k]
    ]
    problems += [
        Problem(group.name, "no circuit", "at least one circuit behind it; or take it away")
        for group in house.groups
        if group.plain and not group.circuits
    ]
    if len(names) > MOST:
        problems.append(Problem("rows", str(len(names)), f"at most {MOST}"))
    if problems:
        raise BadInput(problems)


def follow(
    wiring: Mapping[str, Any], renamed: Mapping[str, str], gone: Collection[str] = ()
) -> dict[str, Any]:
    """Groups and paths after circuits and boards were renamed, or circuits dropped.

    A group whose last circuit is dropped goes with it.
    """
    house = house_of(wiring)
    groups = tuple(
        replace(
            group,
            circuits=tuple(renamed.get(c, c) for c in group.circuits if c not in gone),
        )
        for group in house.groups
    )
    mains = {main.board for main in house.mains}
    paths = tuple(
        way
        if way.kept is not None or way.ends == OWN_METAL
        else replace(way, ends=_renamed(way.ends, {k: v for k, v in renamed.items() if v in mains}))
        for way in house.paths
    )
    kept = tuple(group for group in groups if group.circuits or not group.plain)
    return with_house(wiring, replace(house, groups=kept, paths=paths))


def _renamed(ends: str, boards: Mapping[str, str]) -> str:
    name, _, conductor = ends.rpartition(" ")
    return f"{boards.get(name, name)} {conductor}" if name else ends
