"""The ladder as drawn: every kind of installation opens, each reading stands where it was taken."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from halfsplit.form.guide import EXAMPLES
from tests.web.desk import desk, open_form

PART = {"hx-request": "true"}
SHAPES = (
    "The smallest form", "Lighting, looped at the switch; North America",
    "A shared neutral, a half-switched outlet and a residual-current outlet",
    "Fixed appliances and 240 V loads", "Several boards and ways behind a shared device",
    "Only symptoms, and an unknown order", "Other supplies", "Longhand",
)  # fmt: skip
RING = """region: uk
supply: TN-S 230 V
circuits:
  boiler: {device: B6, feeds: Boiler}
  ring: {device: B32, ring: [9 m, Kitchen, 5 m, Lounge, 8 m]}
readings:
  - {circuit: ring, ring ends: {r1: 0.42, rn: over range, r2: 0.70}}
"""


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with desk(tmp_path) as (made, _):
        yield made


def said(text: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


@pytest.mark.parametrize("title", SHAPES)
def test_every_shape_of_circuit_opens(client: TestClient, title: str) -> None:
    """Whatever shape the written form can say has a ladder, a sketch and reasons on the screen."""
    job = open_form(client, next(text for name, _, text in EXAMPLES if name == title))
    for tab in ("", "/sketch", "/why"):
        answer = client.get(f"/jobs/{job}{tab}", headers=PART)
        assert answer.status_code == 200, (tab, answer.text[:300])


def test_what_is_read_at_a_board_stands_at_its_own_circuit(client: TestClient) -> None:
    """Ring ends belong to one circuit: they stand at its head, and at no other circuit's."""
    page = client.get(f"/jobs/{open_form(client, RING)}", headers=PART).text
    boiler, ring = page.split('<details class="circuit"')[1:3]
    assert "end to end" not in said(boiler)
    assert "L end to end 0.42 Ω" in said(ring)


LEGS = next(text for name, _, text in EXAMPLES if name.startswith("A shared neutral"))


def test_a_shared_neutral_keeps_its_rails(client: TestClient) -> None:
    """Two lines and their neutral keep their columns; lengths are in feet; no core is renamed."""
    page = client.get(f"/jobs/{open_form(client, LEGS)}", headers=PART).text
    counter = page.split('<details class="circuit"')[1]
    heads = re.findall(r'<span class="k-\w+">(\w+)</span>', counter)
    assert heads == ["L1", "L2", "N", "G"]
    assert "35 ft" in said(counter)
    assert "becomes" not in said(counter)
    assert "H (L1)" in said(counter)


def test_the_current_is_drawn_with_words_beside_it(client: TestClient) -> None:
    """The way of the current stands on the rails as edges and arrows, and in words beside."""
    job = open_form(client)
    page = client.get(f"/jobs/{job}", headers=PART).text
    assert 'class="flow ' in page
    assert "current: L down" in said(page)
    assert "the meter is on" in said(page)
    other = client.get(f"/jobs/{job}?path=r1", headers=PART).text
    assert "the path of the current through the meter, L–E at Tool bench" in said(other)
