"""What is being typed is weighed before it is entered; one form serves every rung."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from halfsplit.service import live
from tests.web.desk import BOAT_SHED, READINGS, desk, open_form

TYPED = {"at": "Slip winch", "pair": "N-E", "pairs": "L-N L-E N-E", "shown": "113",
         "how": "multimeter", "showing": "unsaid"}  # fmt: skip
PART = {"hx-request": "true"}


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with desk(tmp_path) as (made, _):
        yield made


def _asked() -> int:
    return live._worked.cache_info().misses


def test_what_is_typed_is_weighed_and_not_kept(client: TestClient) -> None:
    """Weighed ahead, entering a reading and choosing what is next weigh nothing more."""
    job = open_form(client, f"{BOAT_SHED}{READINGS}notes: {__name__}\n")
    client.get(f"/jobs/{job}")
    before = client.get(f"/api/jobs/{job}").json()
    assert client.post(f"/jobs/{job}/ahead", data=TYPED).status_code == 204
    assert client.get(f"/api/jobs/{job}").json() == before
    weighed = _asked()
    answer = client.post(f"/jobs/{job}/readings", data=TYPED, headers=PART)
    assert "N–E 113 V" in answer.text
    client.get(f"/jobs/{job}/next", headers=PART)
    assert _asked() == weighed
    assert client.get(f"/api/jobs/{job}").json()["seq"] == before["seq"] + 1


def test_half_a_figure_is_no_harm(client: TestClient) -> None:
    """Nothing typed, half a figure or nonsense ahead is answered with nothing, never a failure."""
    job = open_form(client, BOAT_SHED)
    for shown in ("", "1.", "over", "moon", "9" * 80):
        answer = client.post(f"/jobs/{job}/ahead", data={**TYPED, "shown": shown})
        assert (answer.status_code, answer.text) == (204, "")
    assert client.post("/jobs/nowhere/ahead", data=TYPED).status_code == 404


def test_one_form_serves_every_rung_where_the_script_runs(client: TestClient) -> None:
    """With the script a rung names its place and its pairs; without, it has a form of its own."""
    job = open_form(client, BOAT_SHED)
    bare = client.get(f"/jobs/{job}").text
    assert bare.count('name="pairs"') == bare.count("data-pairs=") == 6
    assert "<template" not in bare
    client.cookies.set("halfsplit-script", "yes")
    light = client.get(f"/jobs/{job}").text
    assert light.count('name="pairs"') == light.count("<template") == 2
    assert 'data-place="Sail loft" data-pairs="L-N=L–N L-E=L–E N-E=N–E "' in light
    assert f'<noscript><a href="/jobs/{job}?at=Sail%20loft#open">' in light
    assert len(light) < 0.7 * len(bare)
    assert 'value="Sail loft"' in client.get(f"/jobs/{job}?at=Sail%20loft").text
