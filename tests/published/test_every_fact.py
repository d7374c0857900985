"""Every published figure of resistance, loops, insulation, residual devices, rings, voltage and
procedure is checked somewhere, or it is said why not.

``checked.yaml`` names the tests for each figure, under its id in the collection of published
values. Where that collection stands beside the checkout (or HALFSPLIT_FACTS names it), it is
walked: no figure is left out, and its numbers really stand in the tests named.
"""

from __future__ import annotations

import ast
import math
import os
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[2]
FACTS = Path(os.environ.get("HALFSPLIT_FACTS", ROOT.parent / "shared/published/facts.yaml"))
TOPICS = ("01", "02", "03", "04", "05", "07", "09")

CHECKED: dict[str, list[str]] = yaml.safe_load(
    (Path(__file__).parent / "checked.yaml").read_text("utf-8")
)
LEFT: dict[str, str] = {}
"""Not checked, and why."""

ASIDE: dict[str, dict[float, str]] = {
    "t01_alpha_cu_0039_second_source": {0.0045: "iron, of which no conductor here is made"},
    "t07_us_illinois": {2.0: "minutes that count; a reading here has no duration"},
}
"""Numbers of a checked figure that nothing here uses, and why."""


@cache
def module(name: str) -> ast.Module:
    return ast.parse((ROOT / "tests" / f"{name}.py").read_text("utf-8"))


def function(spelt: str) -> ast.FunctionDef:
    """The test of that name. Fails where there is none."""
    name, _, test = spelt.partition("::")
    for item in module(name).body:
        if isinstance(item, ast.FunctionDef) and item.name == test:
            return item
    pytest.fail(f"there is no test {spelt}")


@pytest.mark.parametrize("id", CHECKED)
def test_the_tests_named_exist_and_say_their_claim(id: str) -> None:
    """Each figure's tests stand where they are said to, each with its claim in words."""
    for spelt in CHECKED[id]:
        assert ast.get_docstring(function(spelt)), spelt


def test_nothing_is_both_checked_and_left() -> None:
    """A figure is checked or left with a reason, never both."""
    assert not CHECKED.keys() & LEFT.keys()
    assert all(len(reason) > 20 for reason in LEFT.values())


@cache
def facts() -> dict[str, dict[str, Any]]:
    if not FACTS.is_file():
        pytest.skip("the collection of published values is not beside this checkout")
    every = yaml.safe_load(FACTS.read_text("utf-8"))
    return {fact["id"]: fact for fact in every if fact["topic"][:2] in TOPICS}


def test_no_published_figure_is_left_out() -> None:
    """Every figure of these topics is checked or left with a reason, and no id is made up."""
    assert facts().keys() == CHECKED.keys() | LEFT.keys()


def numbers(value: Any) -> Iterator[float]:
    """Every number in a figure's values, keys of its tables left out."""
    if isinstance(value, bool):
        return
    if isinstance(value, int | float):
        yield float(value)
    elif isinstance(value, dict):
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner)


@cache
def written(spelt: str) -> tuple[float, ...]:
    """Every number in a test and in what its module keeps beside the tests."""
    tree = module(spelt.partition("::")[0])
    parts = [function(spelt)] + [n for n in tree.body if isinstance(n, ast.Assign | ast.AnnAssign)]
    found: list[float] = []
    for part in parts:
        for node in ast.walk(part):
            if isinstance(node, ast.Constant) and not isinstance(node.value, bool | bytes | str):
                if isinstance(node.value, int | float):
                    found.append(float(node.value))
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                found += _in_words(node.value)
    return tuple(found)


def _in_words(text: str) -> Iterator[float]:
    word = ""
    for letter in f"{text} ":
        if letter.isdecimal() or (letter == "." and word):
            word += letter
        elif word:
            yield float(word.rstrip(".")) if word.rstrip(".").count(".") < 2 else math.nan
            word = ""


@pytest.mark.parametrize("id", CHECKED)
def test_its_numbers_stand_in_its_tests(id: str) -> None:
    """Every number of the figure is in the tests named for it, in one unit or another."""
    held = [n for spelt in CHECKED[id] for n in written(spelt)]
    missing = [
        value for value in numbers(facts()[id].get("values"))
        if value not in ASIDE.get(id, {}) and not any(_same(value, other) for other in held)
    ]  # fmt: skip
    assert missing == [], missing


WORD = re.compile(r"[A-Za-z]{4,}|[A-Z]?[0-9.]{2,}")
PLAIN = frozenset(
    "from with that this page pages figures read here values table tables their have seen says "
    "note computed memory test tests same over under each 2018 2008 given text".split()
)


@pytest.mark.parametrize("id", CHECKED)
def test_its_source_is_named_beside_it(id: str) -> None:
    """A telling word of each figure's source at least stands in the claims of its tests."""
    wanted = {word.casefold() for word in WORD.findall(facts()[id]["source"])} - PLAIN
    said = " ".join(f"{_lines(spelt)} {_notes(spelt.partition('::')[0])}" for spelt in CHECKED[id])
    held = {word.casefold() for word in WORD.findall(said)}
    assert wanted & held or not wanted, facts()[id]["source"]


def _lines(spelt: str) -> str:
    """A test as it stands in its file, cases and comments included."""
    found = function(spelt)
    first = min([found.lineno, *(part.lineno for part in found.decorator_list)])
    text = (ROOT / "tests" / f"{spelt.partition('::')[0]}.py").read_text("utf-8").splitlines()
    return "\n".join(text[first - 1 : found.end_lineno])


@cache
def _notes(name: str) -> str:
    """The words that a module's data and its own docstring carry."""
    tree = module(name)
    data = [n for n in tree.body if isinstance(n, ast.Assign | ast.AnnAssign | ast.Expr)]
    texts = [n.value for part in data for n in ast.walk(part) if isinstance(n, ast.Constant)]
    return " ".join(text for text in texts if isinstance(text, str))


def _same(value: float, other: float) -> bool:
    """Alike to three digits, whatever prefix each is written with."""
    return any(math.isclose(value, other * 10.0**k, rel_tol=2e-3) for k in (0, -3, 3, -2, 6, -6))
