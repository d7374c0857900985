"""What every hypothesis would show of every reading, asked once.

A figure depends on the installation, the conditions and the port, not on the value read nor on
the other readings; so it is remembered, and a further reading costs its own solve alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halfsplit.behaviour.soft import LEANS
from halfsplit.diagnosis.bench import Bench
from halfsplit.diagnosis.column import Column
from halfsplit.diagnosis.figures import Figures, Predictor
from halfsplit.diagnosis.sights import Sights
from halfsplit.network import Functional
from halfsplit.wiring.conditions import AS_DESCRIBED

Real = NDArray[np.float64]
CHUNK_BYTES = 12e6  # of the transfers solved at a time


@dataclass(frozen=True, slots=True)
class Coarse:
    """K rows: ``figures`` (n of them), ``leaning`` (K, m, L) the chances of m sights,
    by anybody's threshold and by each of a few that stand for all.

    ``behind`` (K, n) is the impedance (ohm) that a voltage stands behind, ``parted`` (K, s) tells
    by a number which devices opened in each scene.
    """

    figures: Figures
    behind: Real
    leaning: Real
    parted: NDArray[np.int64]

    @property
    def chances(self) -> Real:
        """(K, m) of the sights, by anybody's threshold."""
        return self.leaning[..., 0]

    def part(self, rows: NDArray[np.intp]) -> Coarse:
        """Some of the rows."""
        return Coarse(
            self.figures.part(rows), self.behind[rows], self.leaning[rows], self.parted[rows]
        )


def joined(parts: Sequence[Coarse]) -> Coarse:
    """One after the other."""
    figures = [part.figures for part in parts]
    return Coarse(
        Figures(
            np.concatenate([f.mean for f in figures], axis=1),
            np.concatenate([f.noise for f in figures], axis=1),
            np.concatenate([f.sure for f in figures], axis=1),
            figures[0].shares,
        ),
        np.concatenate([part.behind for part in parts]),
        np.concatenate([part.leaning for part in parts]),
        np.concatenate([part.parted for part in parts]),
    )


def parted(scenes: Sequence[NDArray[np.bool_]], count: int) -> NDArray[np.int64]:
    """(count, s) which devices opened in each scene, told by a number, of flags (count, W)."""
    found = np.zeros((count, len(scenes)), dtype=np.int64)
    for k, devices in enumerate(scenes):
        found[:, k] = devices @ (1 << (np.arange(devices.shape[1], dtype=np.int64) % 62))
    return found


def chunk(bench: Bench) -> int:
    """How many rows are solved at a time, for all questions."""
    scenes = enumerate(bench.scenes)
    wide = max((len(bench.ports(k)) + scene.ports.size for k, scene in scenes), default=1)
    return max(200, int(CHUNK_BYTES / (16 * wide * wide + 1)))


def everyone(predictor: Predictor, sights: Sights) -> Coarse:
    """All rows of the hypotheses, each at its severity."""
    bench = predictor.bench
    known = bench.prepared.columns
    keys = [_key(predictor, k) for k in range(len(bench.questions))]
    fresh = [k for k, key in enumerate(keys) if key not in known]
    for scene in sorted({bench.questions[k].scene for k in fresh}):
        mine = [k for k in fresh if bench.questions[k].scene == scene]
        for k, column in zip(mine, _solved(predictor, sights, scene, mine), strict=True):
            known[keys[k]] = column
    H = len(bench.hypotheses)
    shares = np.array([share for _, share in predictor.alternatives])
    columns = [known[keys[k]] for k in predictor.figures]

    def laid(part: int) -> Real:
        found = np.zeros((shares.size, H, len(columns)))
        for c, column in enumerate(columns):
            for a in range(shares.size):
                found[a, :, c] = column.shown[min(a, len(column.shown) - 1)][part]
        return found

    behind = [column.behind for column in columns]
    bases = zip(bench.bases, bench.hiding, strict=True)
    standing = [base.standing(hides).parted for base, hides in bases]
    seen = [known[keys[k]].chance for k in sights.columns]
    return Coarse(
        Figures(laid(0), laid(1), laid(2), shares),
        np.stack(behind, axis=1) if behind else np.zeros((H, 0)),
        np.stack(seen, axis=1) if seen else np.ones((H, 0, LEANS)),
        parted(standing, H),
    )


def _key(predictor: Predictor, k: int) -> tuple[object, ...]:
    """What a question's column depends on."""
    reading = predictor.bench.questions[k].reading
    asked = replace(reading, id="", text="", line=None, conditions=AS_DESCRIBED)
    if k in predictor.figures:
        asked = replace(asked, value=None)
    instruments = tuple(one.id for one in predictor.instruments(k))
    return (asked, reading.conditions.key(), instruments)


def _solved(
    predictor: Predictor, sights: Sights, scene: int, questions: Sequence[int]
) -> list[Column]:
    """Some questions of one scene, a chunk of rows at a time, the sound row first in each."""
    bench = predictor.bench
    H = len(bench.hypotheses)
    ports: list[Functional] = [p for k in questions for p in bench.questions[k].ports]
    columns = [
        Column(
            [(np.empty(H), np.empty(H), np.empty(H)) for _ in predictor.instruments(k)],
            np.zeros(H),
            np.ones((H, LEANS)),
        )
        for k in questions
    ]
    step = chunk(bench)
    for start in range(0, H, step):
        rows = np.arange(start, min(start + step, H), dtype=np.intp)
        if start:
            rows = np.concatenate([[0], rows])
        answers = bench.look(scene, rows, ports)
        for k, column in zip(questions, columns, strict=True):
            if k not in predictor.figures:
                column.chance[rows] = sights.one(k, rows, answers)
                continue
            column.behind[rows] = predictor.behind(k, answers)
            for (mean, noise, sure), instrument in zip(
                column.shown, predictor.instruments(k), strict=True
            ):
                mean[rows], noise[rows], sure[rows] = predictor.one(k, instrument, rows, answers)
    return columns
