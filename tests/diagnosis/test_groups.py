"""Which causes are one suspect, and where nothing may be taken to be safe."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.diagnosis.danger import UNEXPLAINED_FROM
from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.expect import expect
from halfsplit.diagnosis.groups import across, by_itself, distances
from halfsplit.diagnosis.result import Diagnosis
from halfsplit.errors import NotFound
from halfsplit.form import read_job
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.effects import Added, LoadChange, ReadingChange

FORM = """
supply: TN-S 230 V
circuits:
  kilns:
    run: [8 m, Bench, 4 m, Loft]
    plugged in: {Loft: {name: kiln, kind: heater, power: 900 W, frame: yes}}
readings:
"""
RNG = np.random.default_rng(11)


def _found(readings: str) -> Diagnosis:
    job = read_job(FORM + readings)
    return diagnose(job.installation, job.readings)


def _with(found: Diagnosis, *ids: str) -> list[set[str]]:
    """The groups in which any of these causes stand."""
    groups = [{m.id for m in s.members} for s in found.suspects]
    return [g for g in groups if g & set(ids)]


def test_pairs_that_a_check_parts_are_dropped_and_the_rest_keep_their_distance() -> None:
    """Against all columns at once: the same distances up to 1, infinite beyond."""
    owner = np.repeat(np.arange(12), 2)
    features = RNG.normal(size=(24, 30)) * np.geomspace(0.01, 0.6, 30)
    found = distances(owner.tolist(), features[:, :13], features[:, 13:])
    for i in range(12):
        for j in range(12):
            gaps = [
                np.abs(features[a] - features[b]).max()
                for a in np.flatnonzero(owner == i)
                for b in np.flatnonzero(owner == j)
            ]
            whole = 0.0 if i == j else min(gaps)
            assert found[i, j] == (pytest.approx(whole) if whole <= 1.0 else np.inf)


def test_a_short_in_a_load_is_not_one_in_the_cable() -> None:
    """What trips a breaker at once: with the load unplugged a dead test parts the two."""
    found = _found("  - {circuit: kilns, trips: at once}")
    load, cable = "appliance short: Loft/kiln", "short in cable: Bench–Loft L-N"
    groups = _with(found, load, cable)
    assert len(groups) == 2
    assert not any({load, cable} <= g for g in groups)


def test_a_leak_is_not_nothing_wrong() -> None:
    """Between conductors an insulation test shows what no live reading does."""
    found = _found("  - {at: Bench, L-N: 230, by: multimeter}")
    assert len(_with(found, "nothing wrong", "leak at point: Bench L-N")) == 2


def test_a_meter_that_misleads_is_parted_by_proving_it() -> None:
    """A broken test lead leaves the circuit as it is, but not the meter on a known source."""
    found = _found("  - {at: Bench, L-N: 0, by: multimeter}")
    assert len(_with(found, "nothing wrong", "lead open: instrument")) == 2


def test_a_load_is_tried_elsewhere_with_its_flex() -> None:
    """An element gone and a broken flex are one suspect: either is as dead at another outlet."""
    found = _found("  - {at: Loft, L-N: 230, by: multimeter}\n  - {at: Loft, of: kiln, works: no}")
    groups = _with(found, "load off: Loft/kiln", "open flex: Loft/kiln L", "nothing wrong")
    assert {"load off: Loft/kiln", "open flex: Loft/kiln L"} <= groups[0]
    assert "nothing wrong" not in groups[0]


def test_what_is_tried_alone_differs_from_what_is_not() -> None:
    """Columns: the instrument's fault, the load that draws nothing or whose flex is broken."""
    rows = [
        (),
        (ReadingChange(("all",), "lead open"),),
        (LoadChange("kiln", ""),),
        (Added("flex kiln L", np.inf),),
        (Added("joint Loft L", np.inf),),
    ]
    found = by_itself(rows, {"flex kiln L": "kiln"})
    same = [[bool((a == b).all()) for b in found] for a in found]
    assert same == [
        [True, False, False, False, True],
        [False, True, False, False, False],
        [False, False, True, True, False],
        [False, False, True, True, False],
        [True, False, False, False, True],
    ]


def test_insulation_is_told_apart_by_ratio_and_not_over_range() -> None:
    """1 MΩ from 3 MΩ, not 2 GΩ from 9 GΩ."""
    steps = across(np.array([[1e6, 2e9], [3e6, 9e9]]))
    gap = np.abs(steps[0] - steps[1])
    assert gap[0] > 1.0
    assert gap[1] == 0.0


def test_the_reading_beside_is_that_of_the_leading_suspect() -> None:
    """What stands beside a reading is what the first cause of the first suspect would show."""
    found = _found(
        "  - {at: Loft, L-N: 0.0, by: multimeter}\n  - {at: Bench, L-N: 230, by: multimeter}"
    )
    leader = found.suspects[0].members[0].fault
    assert leader is not None
    job = read_job(FORM + "  - {at: Loft, L-N: 0.0, by: multimeter}\n")
    shown = expect(job.installation, job.readings, leader)[0].figure
    at_loft = next(c for c in found.readings if c.reading.place == "Loft")
    assert at_loft.predicted == pytest.approx(shown, abs=max(3.0, 2 * (at_loft.sigma or 0.0)))


def test_where_nothing_known_explains_it_nothing_is_safe() -> None:
    """Readings that contradict each other leave "none of these", and then every neutral,
    protective conductor and frame may be live."""
    found = _found(
        "  - {at: Bench, L-N: 61, L-E: 140, N-E: 9, by: multimeter}\n"
        "  - {at: Loft, L-N: 17, L-E: 230, N-E: 96, by: multimeter}"
    )
    assert found.none > UNEXPLAINED_FROM
    shock = {(d.place, d.conductor) for d in found.dangers if d.kind == "shock"}
    assert {
        ("Bench", "N"),
        ("Bench", "E"),
        ("Loft", "N"),
        ("Loft", "E"),
        ("Loft", "frame"),
    } <= shock


def test_metal_by_itself_is_looked_at_for_danger() -> None:
    """A tray that touches the earth of a board with its own earth lost is listed as metalwork."""
    job = read_job(
        "supply: TN-C-S 230 V\n"
        "circuits: {kilns: {run: [Bench], plugged in: {Bench: 900 W heater}}}\n"
        "other paths: {Tray: {metal: yes, to: Board E, ohms: 5}}\n"
        "readings:\n  - {from: Tray, to: earth, reads: 190 V, by: multimeter}\n"
    )
    found = diagnose(job.installation, job.readings)
    assert ("Tray", "frame") in {(d.place, d.conductor) for d in found.dangers}


def test_a_terminal_that_is_not_there_is_refused_with_those_near() -> None:
    """A reading at a misspelt terminal is said to be so, not passed over in silence."""
    job = read_job(FORM + "  []\n")
    reading = Reading("r", "volts", a="Bensh.L:front", b="Bench.N:front")
    with pytest.raises(NotFound, match=r'no terminal is called "Bensh.L:front"; near it: Bench'):
        expect(job.installation, [reading])
