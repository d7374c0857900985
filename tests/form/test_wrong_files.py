# ruff: noqa: E501 (wrong files stand as they are typed)
"""Wrong files: each gives a sentence with the place, what was read and what is accepted."""

from __future__ import annotations

import pytest

from halfsplit.errors import BadInput
from halfsplit.form import read_job
from halfsplit.problems import Problem

RUN = "circuits: {hall: {run: [8 m, Bench, 4 m, Shelf]}}\n"

# what is wrong: (the file, words of its place, what was read, words of what is accepted)
WRONG: dict[str, tuple[str, str, str, str]] = {
    "empty": ("", "job.yaml", "", "title:"),
    "only a comment": ("# nothing yet\n", "job.yaml", "", "title:"),
    "a list": ("- hall\n- porch\n", "job.yaml", "a list of 2", "a mapping"),
    "a single word": ("hello\n", "job.yaml", "hello", "a mapping"),
    "no circuits": ("title: Shed\n", "circuits", "no circuits", "circuits by name"),
    "circuits empty": ("circuits: {}\n", "circuits", "an empty mapping", "circuits by name"),
    "circuits a list": ("circuits: [hall]\n", "circuits", "a list of 1", "circuits by name"),
    "a circuit as text": ("circuits: {hall: sockets}\n", "circuits, hall", "sockets", "a mapping"),
    "no pattern": ("circuits: {hall: {device: B16}}\n", "circuits, hall", "no run", "ring"),
    "two patterns": (
        "circuits: {hall: {run: [Bench], ring: [Shelf]}}\n", "hall, ring", "run and ring",
        "one pattern",
    ),
    "misspelt key": ("circuts: {hall: {run: [Bench]}}\n", "circuts", "circuts", "circuits"),
    "misspelt circuit key": (
        "circuits: {hall: {run: [Bench], devise: B16}}\n", "hall, devise", "devise", "device",
    ),
    "misspelt reading key": (
        RUN + "readings: [{at: Bench, wroks: yes}]\n", "readings 1, wroks", "wroks", "one of the keys at",
    ),
    "duplicate key": (
        "title: A\ntitle: B\n" + RUN, "title", "title", "each key once (first on line 1)",
    ),
    "duplicate circuit": (
        "circuits:\n  hall: {run: [Bench]}\n  hall: {run: [Shelf]}\n", "circuits, hall", "hall",
        "each key once",
    ),
    "duplicate point": (
        "circuits: {hall: {run: [Bench, Bench]}}\n", "hall, run 2", "Bench", "each point once",
    ),
    "point on two circuits": (
        "circuits: {a: {run: [Bench]}, b: {run: [Bench]}}\n", "b, run 1", "Bench",
        "each point once",
    ),
    "two points told apart by capitals only": (
        "circuits: {a: {run: [Bench, bench]}}\n", "a, run 2", "bench", "each point once",
    ),
    "a circuit named as the main switch": (
        "circuits: {main switch: {run: [Bench]}}\n", "boards", "main switch", "device's name once",
    ),
    "point named as the board": (
        "circuits: {hall: {run: [2 m, Board]}}\n", "hall, run 2", "Board", "a point's name",
    ),
    "point named earth": (
        "circuits: {hall: {run: [2 m, earth]}}\n", "hall, run 2", "earth", "a name other than",
    ),
    "point with a dot": (
        "circuits: {hall: {run: [2 m, No.3]}}\n", "hall, run 2", "No.3", "without . : / –",
    ),
    "very long name": (
        "circuits: {hall: {run: [" + "x" * 90 + "]}}\n", "hall, run 1", "x" * 90, "1 to 60",
    ),
    "run to nowhere": ("circuits: {hall: {run: [2 m]}}\n", "hall, run 1", "2 m", "a point after"),
    "two lengths": (
        "circuits: {hall: {run: [2 m, 3 m, Bench]}}\n", "hall, run 2", "3 m", "between two lengths",
    ),
    "negative length": (
        "circuits: {hall: {run: [-2 m, Bench]}}\n", "hall, run 1", "-2 m", "a length such as",
    ),
    "length nought": (
        "circuits: {hall: {run: [0 m, Bench]}}\n", "hall, run 1", "0 m", "a value above 0",
    ),
    "length of a country": (
        "circuits: {hall: {run: [90 km, Bench]}}\n", "hall, run 1", "90 km", "at most 2000",
    ),
    "length in volts": (
        "circuits: {hall: {run: [8 V, Bench]}}\n", "hall, run 1", "8 V", "a length such as",
    ),
    "length not a number": (
        "circuits: {hall: {run: [.nan, Bench]}}\n", "hall, run 1", ".nan", "a length such as",
    ),
    "length infinite": (
        "circuits: {hall: {run: [.inf, Bench]}}\n", "hall, run 1", ".inf", "a length such as",
    ),
    "text for a length": (
        "circuits: {hall: {feeds: Pump, length: long}}\n", "hall, length", "long", "a length such",
    ),
    "impossible size": (
        "circuits: {hall: {cable: 0.001 singles, run: [Bench]}}\n", "hall, cable", "0.001 singles",
        "a cable such as",
    ),
    "cable as a word": (
        "circuits: {hall: {cable: thick, run: [Bench]}}\n", "hall, cable", "thick", "a cable such",
    ),
    "device as a word": (
        "circuits: {hall: {device: zap 16, run: [Bench]}}\n", "hall, device", "zap",
        "a device such as",
    ),
    "device of no amps": (
        "circuits: {hall: {device: 0 A, run: [Bench]}}\n", "hall, device", "0 A", "above 0 A",
    ),
    "residual in kiloamps": (
        "circuits: {hall: {device: {kind: rcd, residual: 30 kA}, run: [Bench]}}\n",
        "device, residual", "30 kA", "30 mA",
    ),
    "supply in words": ("supply: battery pack\n" + RUN, "supply", "battery pack", "TN-S 230 V"),
    "supply of 23 kV": ("supply: TN-S 23000 V\n" + RUN, "supply", "TN-S 23000 V", "10 V to 1000 V"),
    "region unknown": ("region: mars\n" + RUN, "region", "mars", "one of uk"),
    "a line the supply has not": (
        "circuits: {hall: {legs: L2, run: [Bench]}}\n", "hall, legs", "L2", "lines of this supply",
    ),
    "branch from nowhere": (
        "circuits: {hall: {run: [Bench], branches: {Bnech: [3 m, Lamp]}}}\n", "branches, Bnech",
        "Bnech", "a point of this circuit: Bench",
    ),
    "load at nowhere": (
        "circuits: {hall: {run: [Bench], plugged in: {Desk: 60 W}}}\n", "plugged in, Desk", "Desk",
        "a point of this circuit",
    ),
    "load with a wrong unit": (
        "circuits: {hall: {run: [Bench], plugged in: {Bench: 60 V}}}\n", "plugged in, Bench",
        "60 V", "a load such as",
    ),
    "kind of point": (
        "circuits: {hall: {run: [Bench], points: {Bench: sokcet}}}\n", "points, Bench", "sokcet",
        "one of socket",
    ),
    "circuit on no board": (
        "circuits: {hall: {board: Shed, run: [Bench]}}\n", "hall, board", "Shed", "a board: Board",
    ),
    "group of no circuit": (
        "board: {groups: {RCD 1: [hal]}}\n" + RUN, "board", "hal", "a circuit of this job: hall",
    ),
    "boards in a circle": (
        "boards: {A: {}, B: {}}\ncircuits:\n  x: {board: A, run: [2 m, B]}\n"
        "  y: {board: B, run: [3 m, A]}\n",
        "boards", "A", "lead back to the supply",
    ),
    "reading at nowhere": (
        RUN + "readings: [{at: Bnech, L-N: 230}]\n", "readings 1, at", "Bnech", "Bench",
    ),
    "reading without a place": (
        RUN + "readings: [{L-N: 230}]\n", "readings 1, at", "no at", "the place",
    ),
    "reading of nothing": (
        RUN + "readings: [{at: Bench}]\n", "readings 1", "a place and nothing else", "L-N: 230",
    ),
    "reading in metres": (
        RUN + "readings: [{at: Bench, L-N: 3 m}]\n", "readings 1, L-N", "3 m", "a voltage",
    ),
    "reading as a word": (
        RUN + "readings: [{at: Bench, L-N: lots}]\n", "readings 1, L-N", "lots", "a voltage",
    ),
    "reading not a number": (
        RUN + "readings: [{at: Bench, L-N: .nan}]\n", "readings 1, L-N", ".nan", "a voltage",
    ),
    "reading as a date": (
        RUN + "readings: [{at: Bench, L-N: 2024-01-02}]\n", "readings 1, L-N", "2024-01-02",
        "a voltage",
    ),
    "insulation in milliohms": (
        RUN + "readings: [{at: Bench, insulation: {L-E: 3 mΩ}}]\n", "insulation, L-E", "3 mΩ",
        "insulation resistance",
    ),
    "a conductor not there": (
        RUN + "readings: [{at: Bench, L3-N: 230}]\n", "readings 1, L3-N", "L3", "L, N, E",
    ),
    "an unknown instrument": (
        RUN + "readings: [{at: Bench, L-N: 230, by: mulitmeter}]\n", "readings 1, by",
        "mulitmeter", "one of",
    ),
    "showing perhaps": (
        RUN + "readings: [{at: Bench, L-N: 230, showing: perhaps}]\n", "readings 1, showing",
        "perhaps", "yes or no",
    ),
    "off something unknown": (
        RUN + "readings: [{at: Bench, L-N: 230, with: {off: hal}}]\n", "with, off", "hal",
        "a device, switch or load",
    ),
    "from without to": (
        RUN + "readings: [{from: Bench N, reads: 3 V}]\n", "readings 1, to", "no to", "both",
    ),
    "ring ends of a radial": (
        RUN + "readings: [{ring ends: {r1: 0.4}}]\n", "ring ends", "hall", "a ring circuit",
    ),
    "tester pattern": (
        RUN + "readings: [{at: Bench, tester: blue}]\n", "readings 1, tester", "blue", "one of",
    ),
    "trips somehow": (
        RUN + "readings: [{circuit: hall, trips: often}]\n", "readings 1, trips", "often",
        "at once",
    ),
    "readings as text": (RUN + "readings: all fine\n", "readings", "all fine", "a list of readings"),
    "anchor": ("title: &t Shed\n" + RUN, "title", "&t", "without & and *"),
    "alias": ("title: *t\n" + RUN, "title", "*t", "without & and *"),
    "tag": ("title: !!python/object:os.system Shed\n" + RUN, "title", "python", "without !"),
    "tab": ("circuits:\n\thall: {run: [Bench]}\n", "layout", "hall: {run: [Bench]}", "spaces"),
    "open bracket": ("circuits: {hall: {run: [Bench}}\n", "layout", "Bench}}", "in pairs"),
    "open quotation": ('title: "Shed\n', "layout", "Shed", "in pairs"),
    "two documents": (RUN + "---\n" + RUN, "job.yaml", "a second document", "one job"),
    "list as a key": ("[a, b]: c\n", "job.yaml", "as a key", "a plain word"),
    "deep nesting": ("a: " * 0 + "title: " + "[" * 60 + "]" * 60, "title", "17 levels", "at most 16"),
    "too large": ("# " + "x" * 10_000_000, "job.yaml", "10,000,002 characters", "at most 400,000"),
    "a path to nowhere": (
        RUN + "other paths: {gas pipe: {from: Desk E, to: earth}}\n", "other paths, gas pipe",
        "Desk E", "a terminal such as",
    ),
}  # fmt: skip


def problems(text: str | bytes) -> tuple[Problem, ...]:
    with pytest.raises(BadInput) as caught:
        read_job(text, "job.yaml")
    return caught.value.problems


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_file_names_the_place_what_was_read_and_what_is_accepted(what: str) -> None:
    """Each wrong file has a sentence with its place, what was read there and what is accepted."""
    text, place, read, accepted = WRONG[what]
    found = problems(text)
    matching = [p for p in found if place in p.where and read in p.read and accepted in p.accepted]
    assert matching, "\n".join(p.sentence() for p in found)
    assert all("job.yaml" in p.where for p in found)
    sentence = matching[0].sentence()
    assert "read " in sentence
    assert "accepted: " in sentence


def test_bytes_that_are_not_text_are_refused_in_words() -> None:
    """A picture or a program given as a job is refused in a sentence, not a traceback."""
    found = problems(b"\x89PNG\r\n\x1a\n\x00\x00")
    assert "bytes that are not text" in found[0].read
    assert "UTF-8" in found[0].accepted
    assert "control character" in problems("title: a\x00b\n")[0].read


def test_every_problem_is_told_at_once_with_its_line() -> None:
    """Four mistakes on four lines give four problems, each with its own line."""
    found = problems(
        "region: mars\ncircuits:\n  hall:\n    device: zap\n    run: [-2 m, Bench]\n"
        "readings:\n  - {at: Bnech, L-N: 230}\n"
    )
    assert [p.line for p in found] == [1, 4, 5, 7]


def test_a_near_miss_is_met_with_a_suggestion() -> None:
    """A misspelt point is answered with the point that was probably meant."""
    (found,) = problems(RUN + "readings: [{at: Bnech, L-N: 230}]\n")
    assert found.remedy == 'did you mean "Bench"?'


def test_an_unfolding_file_is_refused_before_it_unfolds() -> None:
    """Aliases that would unfold into billions of words are refused at the first anchor."""
    bomb = "a: &a [x, x, x]\n" + "".join(f"{b}: &{b} [*{a}, *{a}, *{a}]\n"
                                         for a, b in zip("abcdefgh", "bcdefghi", strict=True))  # fmt: skip
    (found,) = problems(bomb)
    assert found.line == 1
    assert found.read == "&a"
