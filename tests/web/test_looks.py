"""A look that found nothing is kept, and not asked for again."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from tests.web.desk import desk, open_form

# A line that ends on the way: opening the accessory is quicker than measuring on.
PARTED = """
title: Byre
region: uk
supply: TN-S 230 V
circuits:
  byre:
    device: B16
    cable: 2.5/1.5 twin and earth
    run: [6 m, Door, 4 m, Trough]
readings:
  - {at: Door, L-N: 230, by: multimeter}
  - {at: Trough, L-N: 0.2, L-E: 0.1, by: two-pole tester}
  - {at: Trough, N-E: 0.1, by: multimeter}
"""


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with desk(tmp_path) as (made, _):
        yield made


def _looks(page: str) -> list[tuple[str, str]]:
    """(check, what) of every look that the page offers."""
    found = re.findall(r'name="check" value="([^"]+)"><input[^>]*name="what" value="([^"]+)"', page)
    return [(check, what) for check, what in found]


def test_a_look_that_found_nothing_is_not_offered_again(client: TestClient) -> None:
    """Once said, the check is gone from the page and its outcome stands in the record."""
    job = open_form(client, PARTED)
    offered = _looks(client.get(f"/jobs/{job}").text)
    assert offered, "no look was offered"
    check, what = offered[0]
    sent = {"check": check, "what": what, "key": "once"}
    assert client.post(f"/jobs/{job}/looked", data=sent).status_code == 303
    assert client.post(f"/jobs/{job}/looked", data=sent).status_code == 303  # a double tap
    assert check not in [id for id, _ in _looks(client.get(f"/jobs/{job}").text)]
    notes = [note[0] for note in client.get(f"/api/jobs/{job}").json()["notes"]]
    assert notes == [f"{what}: nothing found"]


def test_a_look_without_a_name_is_refused_in_a_sentence(client: TestClient) -> None:
    """Neither page nor interface keeps a look that says nothing."""
    job = open_form(client, PARTED)
    answer = client.post(f"/jobs/{job}/looked", data={"check": "", "what": " "})
    assert answer.status_code == 422
    assert "the id of a check that was offered" in answer.text
    sent = {"check": "look point Door", "what": "open Door"}
    assert client.post(f"/api/jobs/{job}/looks", json=sent).status_code == 201
