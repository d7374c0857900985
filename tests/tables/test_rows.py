"""Every row has an id of its own and a source; bands are in order; derived columns recompute."""

from __future__ import annotations

import math

import pytest

from halfsplit.errors import NotInTable
from halfsplit.tables import cables, conductors, insulation, listing, sources
from halfsplit.tables.source import Figure, Table

ROWS = listing.every_row()
FIGURES = listing.every_figure()


def test_ids_are_unique() -> None:
    """No two rows share an id, so a record can name the row it used."""
    ids = [row.id for row in ROWS]
    assert len(ids) > 200
    assert sorted(set(ids)) == sorted(ids)


def test_every_row_has_a_known_source() -> None:
    """A row without a listed source does not exist."""
    unknown = [row.id for row in ROWS if row.source not in sources.SOURCES]
    assert unknown == []


def test_source_constants_are_known() -> None:
    """Where a source is named beside a mapping or a formula, it is a listed one too."""
    named = {
        value
        for subject in listing.SUBJECTS
        for name, value in vars(subject).items()
        if name.endswith("_SOURCE")
    }
    assert len(named) > 5
    assert named <= set(sources.SOURCES)
    assert {cable.source for cable in cables.CABLES.values()} <= set(sources.SOURCES)


def test_every_source_is_used() -> None:
    """The list of sources carries nothing that no row points at."""
    used = {row.source for row in ROWS} | {c.source for c in cables.CABLES.values()}
    used |= {
        value
        for subject in listing.SUBJECTS
        for name, value in vars(subject).items()
        if name.endswith("_SOURCE")
    }
    assert set(sources.SOURCES) - used == set()


def test_a_source_says_how_it_is_known() -> None:
    """The words of a source end with published, common practice, memory, computed or judgement."""
    assert sources.source("iec60228").words().endswith("(published)")
    assert sources.source("bs7671-2018-41.3").words().endswith("2018 (computed)")
    assert sources.source("iec60479-2005").kind == "from memory"
    with pytest.raises(NotInTable, match="sources: no row for nowhere"):
        sources.source("nowhere")


def test_bands_hold_their_value() -> None:
    """Every figure lies within its own band and is finite."""
    for figure in FIGURES:
        assert math.isfinite(figure.value), figure.id
        assert figure.low <= figure.value * (1 + 1e-12), figure.id
        assert figure.value <= figure.high * (1 + 1e-12), figure.id


def test_a_band_gives_a_spread() -> None:
    """Low and high are the middle nine tenths: a factor of ten spans 2 x 1.645 deviations."""
    figure = Figure("x", 3.0, "ohm", "iec60228", 1.0, 10.0)
    assert figure.log_spread == pytest.approx(math.log(10.0) / 3.29)
    assert Figure("y", 3.0, "ohm", "iec60228").log_spread == 0.0


def test_tables_cannot_be_changed() -> None:
    """A published table is read-only."""
    with pytest.raises(TypeError):
        conductors.CU_CLASS_1_2.values[2.5] = 7.0  # type: ignore[index]


def test_a_missing_row_lists_what_there_is() -> None:
    """Asking for a row that is not there names the table, the key and the rows it has."""
    with pytest.raises(NotInTable, match=r"cu-class-1-2 \(size\): no row for 3\.0; .*2\.5, 4\.0"):
        conductors.CU_CLASS_1_2[3.0]


def test_twin_and_earth_sums_are_recomputed() -> None:
    """The published R1+R2 column is the sum of its two conductors, to the print's last digit.

    16/6 is printed from 1.15 + 3.08.
    """
    for name, published in cables.R1_R2_PUBLISHED.values.items():
        cable = cables.cable(f"{name} twin and earth")
        assert 1000 * cable.r1_r2_per_m() == pytest.approx(published, abs=0.006), name


def test_insulation_limits_rise_in_voltage() -> None:
    """Rows of one edition are in rising voltage, so the first that holds is the right one."""
    for edition, limits in insulation.LIMITS.items():
        tops = [row.up_to for row in limits]
        assert tops == sorted(tops), edition


def test_every_table_is_positive() -> None:
    """No published table holds a zero or a negative value."""
    for row in ROWS:
        if isinstance(row, Table):
            assert all(value > 0 for value in row.values.values()), row.id
