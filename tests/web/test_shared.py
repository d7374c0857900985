"""What circuits share is sketched by touch: groups, pipes, sources, main devices; with undo."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from halfsplit.errors import BadInput
from halfsplit.form.guide import EXAMPLES
from halfsplit.service import sketch
from halfsplit.service.sketch_house import house_of, with_house
from halfsplit.service.written import check_wiring, imported
from tests.web.desk import desk, open_form

HOUSE = """title: Mill cottage
region: uk
supply: TN-S 230 V
circuits:
  hall: {device: B16, run: [Porch, Hall]}
  loft: {device: B6, run: [Hatch, Tank]}
"""
# Every way in which the form lets the shared parts be written, some of which rows cannot say.
WRITTEN: dict[str, Any] = {
    "region": "uk",
    "supply": "TN-C-S 230 V",
    "consumer unit": {"main": "RCD 100 mA 80 A", "groups": {"RCD 1": ["hall"]}},
    "circuits": {"hall": {"run": ["Porch"]}, "loft": {"run": ["Tank"]}},
    "paths": {
        "Water pipe": "Board E to earth, about 4 ohm, maybe",
        "Rod": {"from": "Board E", "to": "earth", "ohms": "60 ohm", "kind": "rod"},
        "Bath": "metal to earth",
        "Link": "Porch E to Tank E, 1 ohm",
    },
    "sources": {"Genset": {"kind": "generator", "on": "yes", "own link": "yes"}, "Roof": "solar"},
}


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with desk(tmp_path) as (made, _):
        yield made


def _wiring(client: TestClient, job: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/api/jobs/{job}").json()["wiring"]
    return found


def test_a_group_a_pipe_and_a_source_by_touch(client: TestClient) -> None:
    """Three taps add them, their fields say them, the program reads them, undo takes each back."""
    job = open_form(client, HOUSE)
    url = f"/jobs/{job}/sketch/house"
    assert client.post(url, data={"op": "group"}).status_code == 303
    one = {"main": "switch 80 A", "group": "RCD 1", "group device": "RCD 30 mA 63 A",
           "group board": "Board", "behind 0": ["hall"]}  # fmt: skip
    assert client.post(url, data={**one, "op": "path"}).status_code == 303
    two = {**one, "path": "Water pipe", "path ends": "Board E", "path ohms": "about 4 ohm"}
    assert client.post(url, data={**two, "op": "source"}).status_code == 303
    three = {**two, "source": "Roof", "source kind": "solar", "source on 0": "yes"}
    assert client.post(url, data={**three, "op": "done"}).headers["location"] == f"/jobs/{job}"
    found = _wiring(client, job)
    assert found["board"] == {
        "main": "switch 80 A",
        "groups": {"RCD 1": {"device": "RCD 30 mA 63 A", "circuits": ["hall"]}},
    }
    assert found["other paths"] == {"Water pipe": "Board E to earth, about 4 ohm"}
    assert found["other sources"] == {"Roof": {"kind": "solar", "on": "yes"}}
    installation = check_wiring(found).installation
    assert installation.boards[0].groups[0].circuits == ("hall",)
    assert [path.name for path in installation.paths] == ["Water pipe"]
    for _ in range(4):
        client.post(f"/jobs/{job}/sketch/undo")
    assert not {"board", "other paths", "other sources"} & _wiring(client, job).keys()


@pytest.mark.parametrize("text", [text for _, _, text in EXAMPLES])
def test_every_example_of_the_form_survives(text: str) -> None:
    """Read as rows and written back, each example of the form's guide means the same."""
    wiring, _ = imported(text, "example")
    made = with_house(wiring, house_of(wiring))
    assert check_wiring(made).installation == check_wiring(wiring).installation


def test_what_a_row_cannot_say_is_kept() -> None:
    """Other spellings, details and lists survive a row being kept."""
    made = with_house(WRITTEN, house_of(WRITTEN))
    assert check_wiring(made).installation == check_wiring(WRITTEN).installation
    assert made["other paths"]["Rod"] == WRITTEN["paths"]["Rod"]
    assert made["other sources"]["Genset"]["own link"] == "yes"
    listed = {**WRITTEN, "paths": [{"metal": "Bath", "to": "earth"}], "sources": "solar, battery"}
    again = with_house(listed, house_of(listed))
    assert check_wiring(again).installation == check_wiring(listed).installation


def test_a_group_follows_its_circuits() -> None:
    """A circuit renamed is renamed behind its device; dropped, it leaves; the last takes all."""
    [hall, _] = sketch.drawn_circuits(WRITTEN)
    renamed, _ = sketch.change(WRITTEN, replace(hall, name="corridor"))
    assert renamed["board"]["groups"] == {"RCD 1": ["corridor"]}
    check_wiring(renamed)
    [_, loft] = sketch.drawn_circuits(WRITTEN)
    kept, _ = sketch.change(WRITTEN, loft, "drop circuit")
    assert house_of(kept).groups == house_of(WRITTEN).groups
    dropped, _ = sketch.change({**WRITTEN, "paths": {}}, hall, "drop circuit")
    assert "groups" not in dropped["board"]


def test_wrong_rows_are_refused_in_a_sentence(client: TestClient) -> None:
    """A name twice, a device with no circuit, rows changed meanwhile: nothing is kept."""
    job = open_form(client, HOUSE)
    url = f"/jobs/{job}/sketch/house"
    client.post(url, data={"op": "group", "key": "a tap"})
    assert client.post(url, data={"op": "group", "key": "a tap"}).status_code == 303  # twice
    before = _wiring(client, job)
    assert len(before["board"]["groups"]) == 1
    none = client.post(url, data={"group": "RCD 1", "group board": "Board"})
    assert (none.status_code, "at least one circuit behind it" in none.text) == (422, True)
    meanwhile = client.post(url, data={"op": "path"})
    assert (meanwhile.status_code, "omebody changed it meanwhile" in meanwhile.text) == (422, True)
    assert _wiring(client, job) == before
    twice = house_of({**WRITTEN, "sources": ["Bath"]})
    with pytest.raises(BadInput, match="a name that nothing else here has"):
        with_house(WRITTEN, twice)
