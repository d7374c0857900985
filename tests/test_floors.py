"""The floors of the house, checked by reading the source; and the checker itself, checked."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tools import floors

ROOT = Path(__file__).resolve().parent.parent
STANDARD = frozenset(sys.stdlib_module_names)
SOURCES = floors.read_sources(ROOT / "src" / floors.PACKAGE)


def test_every_import_goes_down() -> None:
    """A folder imports itself, lower floors and its own outside packages, and nothing else."""
    assert floors.climbs(SOURCES, STANDARD) == []


def test_no_modules_import_each_other() -> None:
    """There is no ring of modules, deferred imports counted."""
    assert floors.cycle(SOURCES) == []


def test_the_core_is_pure() -> None:
    """Below the edges nothing touches files, the clock, the environment or unseeded chance."""
    assert floors.impurities(SOURCES) == []


def test_every_folder_has_a_floor() -> None:
    """Each folder or file directly under the package has one row in the table of rooms."""
    present = {floors.room_of(module) for module in SOURCES} - {""}
    assert present <= set(floors.by_name())
    listed = [name for room in floors.ROOMS for name in room.names]
    assert len(listed) == len(set(listed))


@pytest.mark.parametrize(
    ("module", "source", "said"),
    [
        ("tables.rows", "from halfsplit.wiring import plan", "floor 1, wiring on floor 2"),
        ("tables.rows", "import halfsplit.network", "network on floor 1"),
        ("tables.rows", "from halfsplit import wiring", "floor 1, wiring on floor 2"),
        ("tables.rows", "from ..jobs.events import Event", "jobs on floor 7"),
        ("tables.rows", "def f():\n    from halfsplit import cli", "cli on floor 12"),
        ("tables.rows", "import yaml", "may use these outside packages: numpy"),
        ("errors", "import numpy", "may use these outside packages: none"),
        ("cli.serve", "import uvicorn", "import it inside the function"),
        ("cli.main", "from halfsplit.diagnosis import weigh", "does not reach past it"),
        ("cli.main", "from halfsplit.web import app", "cli is on floor 12, web on floor 12"),
        ("attic.box", "import math", "attic has no floor"),
        ("tables.rows", "import halfsplit.attic", "attic has no floor"),
    ],
)
def test_a_wrong_import_is_found(module: str, source: str, said: str) -> None:
    """An import up, sideways, past the service or outside the list is named, with the rule."""
    found = floors.climbs({f"halfsplit.{module}": source}, STANDARD)
    assert len(found) == 1
    assert said in found[0]
    assert f"halfsplit.{module}, line " in found[0]


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("wiring.plan", "from halfsplit.tables import rows\nimport numpy as np\nimport math"),
        ("wiring.plan", "from . import model"),
        ("cli.serve", "def f():\n    from uvicorn import run"),
        ("errors", "from halfsplit.problems import Problem"),
        ("bootstrap", "from halfsplit.settings import Settings\nfrom halfsplit.store import open"),
        ("cli.main", "from halfsplit.service import answer\nimport typer"),
    ],
)
def test_a_right_import_is_let_through(module: str, source: str) -> None:
    """Imports that the house allows raise no finding."""
    assert floors.climbs({f"halfsplit.{module}": source}, STANDARD) == []


def test_a_ring_is_found_through_a_deferred_import() -> None:
    """Two modules that import each other are named even if one import is inside a function."""
    ring = {
        "halfsplit.wiring": "",
        "halfsplit.wiring.a": "from halfsplit.wiring import b",
        "halfsplit.wiring.b": "def f():\n    from .a import thing",
    }
    assert set(floors.cycle(ring)) == {"halfsplit.wiring.a", "halfsplit.wiring.b"}
    assert floors.cycle({**ring, "halfsplit.wiring.b": "import math"}) == []


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("import os", "imports os"),
        ("from pathlib import Path", "imports pathlib"),
        ("def f():\n    import time", "imports time"),
        ("x = open('a')", "calls open"),
        ("from datetime import datetime\nx = datetime.now()", "calls datetime.datetime.now"),
        ("import datetime as d\nx = d.date.today()", "calls datetime.date.today"),
        ("import random\nx = random.random()", "random.random without a seed"),
        ("import random\nx = random.Random()", "random.Random without a seed"),
        ("import numpy as np\nx = np.random.default_rng()", "default_rng without a seed"),
        ("import numpy as np\nx = np.random.default_rng(None)", "default_rng without a seed"),
        ("from numpy.random import default_rng\nx = default_rng()", "without a seed"),
        ("import numpy as np\nx = np.random.normal(0, 1)", "numpy.random.normal without a seed"),
        ("import numpy as np\nx = np.load('a')", "calls numpy.load"),
        ("import sys\nx = sys.argv", "uses sys.argv"),
        ("def f(p):\n    return p.read_text()", "calls p.read_text"),
    ],
)
def test_a_touch_of_the_world_is_found(source: str, said: str) -> None:
    """Files, clock, environment and unseeded chance are each named in a core module."""
    found = floors.impurities({"halfsplit.diagnosis.weigh": source})
    assert len(found) == 1
    assert said in found[0]
    assert floors.impurities({"halfsplit.cli.main": source}) == []


def test_seeded_chance_is_let_through() -> None:
    """A generator given its seed is repeatable, and so is allowed in the core."""
    source = (
        "import random\nimport numpy as np\n"
        "def f(seed):\n    return random.Random(seed), np.random.default_rng(seed)"
    )
    assert floors.impurities({"halfsplit.practice.hide": source}) == []
