"""Sensitivities from the one factorisation against solving the altered installation again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.expect import find_fault
from halfsplit.diagnosis.figures import Predictor
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.instruments.reading import Reading
from halfsplit.wiring.conditions import Conditions
from halfsplit.wiring.model import About, Installation
from tests.diagnosis.jobs import shed

STEP = 1e-4


def _longer(installation: Installation, run: str, factor: float) -> Installation:
    circuit = installation.circuits[0]
    runs = tuple(
        replace(r, length=About(r.length.value * factor, r.length.spread)) if r.name == run else r
        for r in circuit.runs
    )
    return installation.with_circuit(replace(circuit, runs=runs))


def _figures(installation: Installation, readings: tuple[Reading, ...], fault: str) -> np.ndarray:
    prepared = Prepared(installation)
    chosen = find_fault(installation, prepared.plan, fault)
    prepared = Prepared(installation, prepared.plan, (chosen,))
    predictor = Predictor(Bench(prepared, readings))
    row = np.array([1], dtype=np.intp)
    return predictor.predict(row, predictor.answers(row, np.ones((1, 2)))).mean[:, 0]


@pytest.mark.parametrize("by", [", by: multimeter", ""])
@pytest.mark.parametrize(
    "fault",
    [
        "open joint: joint Loft N Shelf–Loft",
        "open joint: joint Loft E Shelf–Loft",
        "loose joint: joint Shelf L Bench–Shelf",
        "leak at point: Loft L-E",
    ],
)
def test_a_longer_run_moves_the_figures_as_the_sensitivities_say(fault: str, by: str) -> None:
    """∂(reading)/∂(log length), live and dead, equals what solving the longer run again gives.

    So it does for each voltmeter that may have been used where none is named.
    """
    job = shed(f"  - {{at: Loft, L-N: 230, L-E: 230, N-E: 1{by}}}")
    dead = Conditions(dead=True, unplugged=("all",))
    ohms = Reading("d", "ohms", "Board.N", "Desk.N:front", value=1.0, conditions=dead)
    readings = (*job.readings, ohms)
    prepared = Prepared(job.installation)
    chosen = find_fault(job.installation, prepared.plan, fault)
    prepared = Prepared(job.installation, prepared.plan, (chosen,))
    predictor = Predictor(Bench(prepared, readings))
    row = np.array([1], dtype=np.intp)
    bench = predictor.bench
    answers = [
        bench.solve(k, row, np.ones((1, 2)), pulls=bench.pulls(k)) for k in range(len(bench.scenes))
    ]
    here = predictor.predict(row, answers)
    J, _ = predictor.leanings(row, np.ones((1, 2)), np.zeros((1, 2)), answers, here)
    run = "Bench–Shelf"
    n = next(k for k, item in enumerate(prepared.items) if item.name == f"length {run}")
    up = _figures(_longer(job.installation, run, np.exp(STEP)), readings, fault)
    down = _figures(_longer(job.installation, run, np.exp(-STEP)), readings, fault)
    by_difference = (up - down) / (2 * STEP)
    scale = np.maximum(np.abs(up), 1e-3)
    finite = np.abs(up) < 1e8
    # Loads are held at their present admittance in the sensitivities: small beside lengths.
    assert J[:, 0, :, n][finite] / scale[finite] == pytest.approx(
        by_difference[finite] / scale[finite], abs=2e-3
    )


def test_an_open_line_may_read_some_tens_of_volts() -> None:
    """An open line beside a sound neutral picks up volts from other cables (practice: 30 V)."""
    job = shed("  - {at: Loft, L-N: 14, L-E: 14, N-E: 0, by: multimeter, with: {unplugged: all}}")
    found = diagnose(job.installation, job.readings)
    line = sum(c.probability for c in found.causes if c.fault and c.fault.conductors == ("L",))
    assert line > 0.8
    assert found.none < 0.05
