"""Calls made up from the OpenAPI document: nothing may answer with a failure of the program.

By hand: ``python -m tests.web.fuzz 10000 [seed [seconds]]``; a piece out of time counts
what it made.
"""

from __future__ import annotations

import json
import math
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any
from urllib.parse import quote

from fastapi.testclient import TestClient

from tests.web.desk import desk, open_form

SHED = """title: Shed
region: uk
supply: TN-S 230 V
circuits:
  east wall: {device: B16, run: [8 m, Tool bench, 5 m, Sail loft]}
"""
READINGS = "readings: [{at: Tool bench, L-E: 236}, {at: Sail loft, L-E: 121, works: yes}]\n"

ODD = (
    "", " ", "0", "-1", "1e309", "NaN", "null", "<script>", "'\"--;", "../../etc", "L-N", "230 V",
    "Tool bench", "Sail loft", "Moon", "ring", "run", "lighting", "B16", "uk", "na", "é漢字🙂",
    "x" * 300, "\x00", "\ud7ff", "\ud800", "over range", "main switch", "east wall", "multimeter",
    "test lamp", "Sail loft.L:front", "Sail loft.E:front", "earth", "nothing wrong",
)  # fmt: skip
ENTRIES: tuple[dict[str, Any], ...] = (
    {"at": "Sail loft", "L-N": "230 V"}, {"at": "Sail loft", "works": "no"}, {"at": 5},
    {"at": "Tool bench", "dead": {"L-E": "0.3 ohm"}}, {"circuit": "east wall", "trips": "at once"},
    {"at": "Sail loft", "L-N": "230 V", "with": {"off": ["main switch"]}}, {"readings": []},
    {"from": "Tool bench N", "to": "Sail loft N", "reads": "3 V"}, {}, {"at": ["a", {"b": None}]},
    {"kind": "volts", "a": "x", "b": "y", "value": "1"}, {"at": "Sail loft", "L-N": None},
)  # fmt: skip
WIRINGS: tuple[dict[str, Any], ...] = (
    {}, {"circuits": {}}, {"circuits": {"a": {"run": ["b", "c"]}}}, {"circuits": [1]},
    {"circuits": {"a": {"ring": ["1 m", "b", "2 m"]}}, "supply": "TT"}, {"title": None},
    {"circuits": {"a": {"lighting": [{"b": {"switched by": ["c", "d"]}}]}}}, {"region": 7},
    {"circuits": {"a": {"points": 99999}}}, {"circuits": {"a": {"run": {"b": {"c": {}}}}}},
)  # fmt: skip


PAGES: tuple[tuple[str, str], ...] = (
    ("/jobs", "title region supply customer shock wet works history sources"),
    ("/jobs/{job}/call", "title region supply shock burning destroyed dead history sources"),
    ("/jobs/{job}/readings", "at pair shown how saw to cond showing circuit unsteady template"),
    ("/jobs/{job}/ahead", "at pair shown how saw to cond showing circuit unsteady template"),
    ("/jobs/{job}/readings/r1", "do shown why"),
    ("/jobs/{job}/sketch/new", "pattern count device cable name"),
    ("/jobs/{job}/sketch", "circuit name device cable home op place was length kind loads depth"),
    ("/jobs/{job}/sketch/text", "text"),
    ("/jobs/{job}/sketch/house", "op main group path source"),
    ("/jobs/{job}/sketch/undo", ""),
    ("/jobs/{job}/secured", "done"),
    ("/jobs/{job}/notes", "text from"),
    ("/jobs/{job}/looked", "check what"),
    ("/jobs/{job}/copy", ""),
    ("/jobs/{job}/away", "away"),
    ("/import", "text"),
    ("/who", "who"),
)
"""Where the pages' forms are sent, and their fields."""
FIELDS: tuple[str, ...] = (
    "L-N", "L-E", "N-E", "231", "over range", "yes", "no", "multimeter", "ohms", "tingle", "dead",
    "circuit off", "lamp", "link", "withdraw", "0", "2", "after 1", "spur 0", "remove 3", "up 1",
    "done", "8 m", "about 6 m", "socket", "kettle 3 kW", '{"at": "Sail loft", "L-N": ""}',
    "group", "path", "source", "drop group 0", "proved dead", "people kept away",
    "isolated and locked",
)  # fmt: skip


def sendable(text: str) -> str:
    """Text as an address can hold it: half of a character is none."""
    return text.encode("utf-8", "replace").decode()


class Maker:
    """Makes calls; repeatable for a seed."""

    def __init__(self, document: dict[str, Any], job: str, seed: int) -> None:
        self.document, self.job, self.pick = document, job, random.Random(seed)
        self.calls = [
            (path, method, what)
            for path, methods in document["paths"].items()
            for method, what in methods.items()
        ]

    def value(self, schema: dict[str, Any], name: str = "", depth: int = 0) -> Any:
        """A value of a schema, or now and then of none."""
        pick = self.pick
        if pick.random() < 0.06:
            return pick.choice([None, 3, -1.5, True, [], {}, [[]], "x", {"a": {"b": [1]}}])
        if "$ref" in schema:
            schema = self.document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
        if "anyOf" in schema:
            return self.value(pick.choice(schema["anyOf"]), name, depth + 1)
        if name == "written":
            return pick.choice(ENTRIES)
        if name == "wiring":
            return pick.choice(WIRINGS)
        if name == "form" and pick.random() < 0.5:
            return pick.choice([SHED, SHED + READINGS, "circuits: 3", "{", "- a"])
        kind = schema.get("type")
        if kind == "object":
            return self._mapping(schema, depth)
        if kind == "array":
            count = pick.choice([0, 1, 2, 3])
            return [self.value(schema.get("items", {}), "", depth + 1) for _ in range(count)]
        if kind == "integer":
            return pick.choice([0, 1, 3, 8, 40, 41, -5, 10**30])
        if kind == "number":
            return pick.choice([0.0, -1.0, 1e308])
        if kind == "boolean":
            return pick.choice([True, False])
        return pick.choice(ODD)

    def _mapping(self, schema: dict[str, Any], depth: int) -> dict[str, Any]:
        made = {}
        for key, inner in schema.get("properties", {}).items():
            if key in schema.get("required", ()) or self.pick.random() < 0.6:
                made[key] = self.value(inner, key, depth + 1)
        more = schema.get("additionalProperties")
        if isinstance(more, dict) and depth < 4:
            for _ in range(self.pick.choice([0, 1, 2])):
                made[self.pick.choice(ODD)] = self.value(more, "", depth + 1)
        if self.pick.random() < 0.04:
            made["surprise"] = 1
        return made

    def form(self, client: TestClient) -> tuple[str, int, str]:
        """One of the pages' forms sent with whatever is at hand."""
        path, names = self.pick.choice(PAGES)
        path = path.replace("{job}", self.job)
        fields = {name: self._sent() for name in names.split() if self.pick.random() < 0.8}
        headers = {"hx-request": "true"} if self.pick.random() < 0.3 else {}
        answer = client.post(path, data=fields, headers=headers, follow_redirects=False)
        return f"POST {path} {fields}", answer.status_code, '{"problems": ["on a page"]}'

    def _sent(self) -> list[str]:
        count = self.pick.choice([1, 1, 1, 3])
        return [sendable(self.pick.choice((*ODD, *FIELDS))) for _ in range(count)]

    def call(self, client: TestClient) -> tuple[str, int, str]:
        """One call: what it was, its status, its text."""
        path, method, what = self.pick.choice(self.calls)
        query: dict[str, str] = {}
        headers: dict[str, str] = {}
        for item in what.get("parameters", ()):
            given = sendable(str(self.value(item["schema"], item["name"])))
            if item["in"] == "path":
                usual = self.job if item["name"] == "job" else f"r{self.pick.randrange(6)}"
                chosen = usual if self.pick.random() < 0.9 else given or "x"
                path = path.replace("{" + item["name"] + "}", quote(chosen, safe=""))
            elif item["in"] == "query" and self.pick.random() < 0.5:
                query[item["name"]] = given
            elif item["in"] == "header" and self.pick.random() < 0.3:
                headers[item["name"]] = given.encode("ascii", "ignore").decode().strip("\x00")
        content = None
        body = what.get("requestBody")
        if body is not None:
            made = self.value(body["content"]["application/json"]["schema"])
            content = json.dumps(made).encode()
            if self.pick.random() < 0.03:
                content = content[: self.pick.randrange(len(content) + 1)]
            headers["content-type"] = "application/json"
        answer = client.request(
            method.upper(), path, params=query, headers=headers, content=content
        )
        shown = f"{method.upper()} {path} {query} {(content or b'')[:300]!r}"
        return shown, answer.status_code, answer.text


def run(
    path: Path, count: int, seed: int, seconds: float = math.inf
) -> tuple[Counter[int], list[str]]:
    """(answers by status, calls that made the program fail or answer without a sentence)."""
    found: Counter[int] = Counter()
    end = time.monotonic() + seconds
    bad = []
    with desk(path) as (client, _):
        plain = TestClient(client.app, base_url="http://127.0.0.1", raise_server_exceptions=False)
        document = plain.get("/api/openapi.json").json()
        maker = Maker(document, open_form(plain, SHED + READINGS), seed)
        for number in range(count):
            if time.monotonic() > end:
                break
            if number % 150 == 149:  # a job does not grow without end
                maker.job = open_form(plain, SHED + READINGS)
            shown, status, text = (maker.form if number % 4 == 3 else maker.call)(plain)
            found[status] += 1
            if status >= 500:
                bad.append(f"{status} {shown}")
            elif status >= 400 and not json.loads(text).get("problems"):
                bad.append(f"{status} without a sentence: {shown}")
    return found, bad


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        asked = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
        seconds = float(sys.argv[3]) if len(sys.argv) > 3 else math.inf
        sown = int(sys.argv[2]) if len(sys.argv) > 2 else 1
        answers, wrong = run(Path(folder), asked, sown, seconds)
    print(sum(answers.values()), "calls", dict(sorted(answers.items())))
    print("\n".join(wrong[:20]) or "no failure")
    sys.exit(bool(wrong))
