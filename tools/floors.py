"""The floors of the house: who may import whom, and what the pure core may not touch.

The tables here are the rule; the functions compare source text with them and return findings as
sentences. Nothing is imported to be looked at, so a deferred import counts like any other.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import NamedTuple

PACKAGE = "halfsplit"


class Room(NamedTuple):
    """Folders or files that belong together: their floor, what they hold, what they may use."""

    floor: int
    names: tuple[str, ...]
    holds: str
    outside: frozenset[str] = frozenset()
    """Third-party packages allowed."""
    deferred: frozenset[str] = frozenset()
    """Heavy third-party packages allowed inside functions only."""


_N = frozenset({"numpy"})

ROOMS: tuple[Room, ...] = (
    Room(0, ("errors", "problems", "quantity"), "the error tree; problems as data; units"),
    Room(1, ("tables",), "published numbers with their sources", _N),
    Room(1, ("network",), "the linear solver, which knows no trade", _N),
    Room(2, ("wiring",), "what is installed, ports, conditions as set, effects, lowering", _N),
    Room(3, ("behaviour",), "what loads, lamps and devices do: conditions as found", _N),
    Room(3, ("instruments",), "what a meter does and shows", _N),
    Room(4, ("faults",), "the catalogue: each fault as effects, prior and words", _N),
    Room(4, ("form",), "the written form, read and written", _N | {"yaml"}),
    Room(5, ("diagnosis",), "predict, weigh, suspects, explain, danger", _N),
    Room(6, ("checks",), "the next check", _N),
    Room(6, ("proving",), "tests after the mend, against limits", _N),
    Room(7, ("jobs",), "the record, as events", _N),
    Room(7, ("practice",), "hidden faults to find", _N),
    Room(
        8,
        ("report",),
        "a document as data, then text, page, PDF",
        _N,
        frozenset({"typst", "segno"}),
    ),
    Room(9, ("service",), "use cases: one short function per thing a person asks", _N),
    Room(10, ("store",), "SQLite, PostgreSQL", frozenset({"sqlalchemy"})),
    Room(11, ("settings", "bootstrap"), "wiring it all together"),
    Room(
        12,
        ("cli",),
        "the command line",
        frozenset({"typer", "click", "rich"}),
        frozenset({"uvicorn"}),
    ),
    Room(
        12,
        ("web",),
        "the pages and the JSON interface",
        frozenset({"fastapi", "starlette", "pydantic", "jinja2", "markupsafe", "python_multipart"}),
        frozenset({"uvicorn", "segno", "js_lib_htmx"}),
    ),
    Room(13, ("__main__",), "python -m halfsplit"),
)

EDGES = ("cli", "web")
EDGES_MAY_USE = frozenset(
    {"service", "settings", "bootstrap", "errors", "problems", "quantity", *EDGES}
)
"""The edges are thin: they ask ``service`` and never reach past it."""

PURE_BELOW = 8

IMPURE_MODULES = frozenset(
    "os io pathlib tempfile shutil glob subprocess socket ssl http urllib time secrets uuid "
    "getpass platform locale sqlite3 pickle shelve logging importlib argparse".split()
)
IMPURE_CALLS = frozenset(
    "open input print exec eval __import__ breakpoint datetime.datetime.now "
    "datetime.datetime.utcnow datetime.datetime.today datetime.date.today numpy.load "
    "numpy.loadtxt numpy.genfromtxt numpy.fromfile numpy.memmap numpy.save numpy.savez "
    "numpy.savetxt".split()
)
IMPURE_METHODS = frozenset("read_text write_text read_bytes write_bytes tofile utcnow".split())
IMPURE_ATTRIBUTES = frozenset({"sys.argv", "sys.stdin", "sys.stdout", "sys.stderr", "sys.path"})
SEEDED = frozenset(
    "random.Random numpy.random.default_rng numpy.random.SeedSequence numpy.random.PCG64 "
    "numpy.random.Philox numpy.random.Generator".split()
)
"""Sources of chance allowed in the core, and only when given a seed."""


@dataclass(frozen=True, slots=True)
class Import:
    """One import as written: the module asked for, its line, and whether inside a function."""

    module: str
    line: int
    deferred: bool


def room_of(module: str) -> str:
    """The folder or file directly under the package; empty for the package itself."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 and parts[0] == PACKAGE else ""


def by_name() -> dict[str, Room]:
    """Every folder or file name with its room."""
    return {name: room for room in ROOMS for name in room.names}


def read_sources(root: Path) -> dict[str, str]:
    """Module name to source text for the package under ``root``."""
    sources = {}
    for path in sorted(root.rglob("*.py")):
        parts = (root.name, *path.relative_to(root).with_suffix("").parts)
        is_package = parts[-1] == "__init__"
        sources[".".join(parts[:-1] if is_package else parts)] = path.read_text(encoding="utf-8")
    return sources


def imports_in(module: str, sources: Mapping[str, str]) -> Iterator[Import]:
    """Every import of ``module``, relative ones resolved, submodules told from names."""
    tree = ast.parse(sources[module])
    is_package = any(other.startswith(module + ".") for other in sources)
    for node, deferred in _walk(tree, False):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(alias.name, node.lineno, deferred)
        elif isinstance(node, ast.ImportFrom):
            base = _base(module, is_package, node)
            for alias in node.names:
                whole = f"{base}.{alias.name}"
                named = room_of(whole) in by_name() and base == PACKAGE
                target = whole if whole in sources or named else base
                yield Import(target, node.lineno, deferred)


def _walk(node: ast.AST, deferred: bool) -> Iterator[tuple[ast.AST, bool]]:
    for child in ast.iter_child_nodes(node):
        yield child, deferred
        inside = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        yield from _walk(child, deferred or inside)


def _base(module: str, is_package: bool, node: ast.ImportFrom) -> str:
    if node.level == 0:
        return node.module or ""
    parts = module.split(".")
    kept = parts[: len(parts) - node.level + (1 if is_package else 0)]
    return ".".join([*kept, *([node.module] if node.module else [])])


def climbs(sources: Mapping[str, str], standard: frozenset[str]) -> list[str]:
    """Imports that go up, sideways, past ``service``, or to a package the room may not use."""
    found = []
    for module in sources:
        for wanted in imports_in(module, sources):
            problem = _import_problem(module, wanted, standard)
            if problem:
                found.append(f"{module}, line {wanted.line}: imports {wanted.module}; {problem}")
    return found


def _import_problem(module: str, wanted: Import, standard: frozenset[str]) -> str:
    rooms, mine = by_name(), room_of(module)
    top = wanted.module.split(".")[0]
    if module == PACKAGE:
        return "" if top in standard else "the package itself imports only the standard library"
    if mine not in rooms:
        return f"{mine} has no floor; give it a row in the table of rooms"
    if top == PACKAGE:
        return _inside_problem(mine, room_of(wanted.module))
    room = rooms[mine]
    if top in standard or top in room.outside:
        return ""
    if top in room.deferred:
        return "" if wanted.deferred else f"{top} is heavy: import it inside the function"
    allowed = ", ".join(sorted(room.outside | room.deferred)) or "none"
    return f"{mine} may use these outside packages: {allowed}"


def _inside_problem(mine: str, theirs: str) -> str:
    rooms = by_name()
    if theirs in ("", mine):
        return ""
    if theirs not in rooms:
        return f"{theirs} has no floor; give it a row in the table of rooms"
    if mine in EDGES and theirs not in EDGES_MAY_USE:
        return f"{mine} asks service and does not reach past it"
    here, there = rooms[mine], rooms[theirs]
    if there.floor < here.floor or there is here:
        return ""
    return f"{mine} is on floor {here.floor}, {theirs} on floor {there.floor}; only lower ones"


def cycle(sources: Mapping[str, str]) -> list[str]:
    """One ring of modules that import each other, or nothing."""
    graph: dict[str, set[str]] = {}
    for module in sources:
        wanted = {found.module for found in imports_in(module, sources)}
        graph[module] = {name for name in wanted if name in sources and name != module}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def impurities(sources: Mapping[str, str]) -> list[str]:
    """Files, clocks, environment, output or unseeded chance on the floors that must be pure."""
    rooms = by_name()
    found = []
    for module, source in sources.items():
        room = rooms.get(room_of(module))
        if room is None or room.floor >= PURE_BELOW:
            continue
        for wanted in imports_in(module, sources):
            if wanted.module.split(".")[0] in IMPURE_MODULES:
                found.append(f"{module}, line {wanted.line}: imports {wanted.module}")
        found += [f"{module}, line {line}: {what}" for line, what in _touches(ast.parse(source))]
    return found


def _touches(tree: ast.Module) -> Iterator[tuple[int, str]]:
    names = _aliases(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and _dotted(node, names) in IMPURE_ATTRIBUTES:
            yield node.lineno, f"uses {_dotted(node, names)}"
        if not isinstance(node, ast.Call):
            continue
        called = _dotted(node.func, names)
        method = node.func.attr if isinstance(node.func, ast.Attribute) else ""
        if called in IMPURE_CALLS or method in IMPURE_METHODS:
            yield node.lineno, f"calls {called or method}"
        elif called.startswith(("random.", "numpy.random.")) and not _is_seeded(called, node):
            yield node.lineno, f"calls {called} without a seed"


def _is_seeded(called: str, node: ast.Call) -> bool:
    given = [*node.args, *(word.value for word in node.keywords)]
    seed = given[0] if given else None
    empty = seed is None or (isinstance(seed, ast.Constant) and seed.value is None)
    return called in SEEDED and not empty


def _aliases(tree: ast.Module) -> dict[str, str]:
    names = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                top = alias.name.split(".")[0]
                names[alias.asname or top] = alias.name if alias.asname else top
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            for alias in node.names:
                names[alias.asname or alias.name] = f"{node.module}.{alias.name}"
    return names


def _dotted(node: ast.expr, names: Mapping[str, str]) -> str:
    if isinstance(node, ast.Name):
        return names.get(node.id, node.id)
    if isinstance(node, ast.Attribute):
        before = _dotted(node.value, names)
        return f"{before}.{node.attr}" if before else ""
    return ""
