"""A look that found nothing is kept, and not asked for again."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from halfsplit.jobs.chain import Chain
from halfsplit.service import live
from halfsplit.service.looked import missed
from halfsplit.service.standing import standing
from halfsplit.web.site import Site
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


def _listed(page: str) -> list[tuple[str, str]]:
    """(suspect, chance) as the ladder lists them."""
    part = page[page.index('id="suspects-h"') : page.index('id="next"')]
    return re.findall(r'[?]cause=([^"]+)" hx-get.*?class="chance">([^<]+)<', part, re.S)


def test_a_look_that_found_nothing_moves_the_suspects(client: TestClient) -> None:
    """On the ladder what would have been seen is believed less; taken back, all is as it was."""
    job = open_form(client, PARTED)
    before = client.get(f"/jobs/{job}").text
    check, what = next(look for look in _looks(before) if look[0].startswith("open "))
    client.post(f"/jobs/{job}/looked", data={"check": check, "what": what})
    after = client.get(f"/jobs/{job}").text
    assert _listed(after) != _listed(before)
    assert f"{what[:1].upper()}{what[1:]}: nothing found" in after
    back = {"check": check, "do": "back"}
    assert client.post(f"/jobs/{job}/looked", data=back).status_code == 303
    assert client.post(f"/jobs/{job}/looked", data=back).status_code == 303  # a double tap
    again = client.get(f"/jobs/{job}").text
    assert _listed(again) == _listed(before)
    assert check in [id for id, _ in _looks(again)]
    notes = [note[0] for note in client.get(f"/api/jobs/{job}").json()["notes"]]
    assert notes == [f"{what}: nothing found", f"{what}: taken back"]


def test_a_look_is_weighed_by_its_own_chance(client: TestClient) -> None:
    """Bayes by hand: each cause times the chance that the look misses it, over the new whole."""
    job = open_form(client, PARTED)
    now = standing(_chain(client, job))
    before = live.work(now)
    found = missed(before.job, before.bench, before.diagnosis, ("open Trough",))
    assert len(found) > 3
    assert set(found.values()) <= {1 - 0.85, 1 - 0.85 * 0.5, 1 - 0.15, 1 - 0.15 * 0.5}
    weight = {c.fault.id if c.fault else "": c.probability for c in before.diagnosis.causes}
    told = {id: p * found.get(id, 1.0) for id, p in weight.items()}
    whole = sum(told.values()) + before.diagnosis.none
    after = live.work(replace(now, looks=(("open Trough", "looked"),)))
    for cause in after.diagnosis.causes:
        expected = told[cause.fault.id if cause.fault else ""] / whole
        assert cause.probability == pytest.approx(expected, abs=2e-3)


def _chain(client: TestClient, job: str) -> Chain:
    site: Site = client.app.state.site  # type: ignore[attr-defined]
    return site.records.chain(job)
