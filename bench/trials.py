"""Blind trials: invented installations whose truth another simulator solves, followed to the end.

Each trial draws a house, a trouble and an electrician; ngspice says what is so; the program is
given the written form, two or three first observations, and then the readings of its own checks.
Two settings: as-assumed (drawn from what the program supposes) and as-met (not). A run can be
stopped and taken up again; its rows depend on the seeds alone.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before the first import that needs it

import argparse
import json
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

from bench import _trial_robust, _trial_why
from bench._trial_draw import SETTINGS
from bench._trial_one import as_json, run_trial
from bench._trial_picture import picture
from bench._trial_report import as_object, as_text

DEFAULT_COUNT, DEFAULT_SEED = 100, 1


def rows_of(seeds: Iterable[int], setting: str, jobs: int = 1) -> Iterator[dict[str, Any]]:
    """The rows of some seeds, in their order, whatever the number of processes."""
    run = partial(_row, setting)
    if jobs == 1:
        yield from map(run, seeds)
        return
    with ProcessPoolExecutor(jobs) as pool:
        yield from pool.map(run, seeds)


def _row(setting: str, seed: int) -> dict[str, Any]:
    return as_json(run_trial(seed, setting))


def read_rows(path: Path) -> dict[int, dict[str, Any]]:
    """Rows written so far, by seed; a line cut short by an interruption is done again."""
    found: dict[int, dict[str, Any]] = {}
    for line in path.read_text(encoding="utf-8").splitlines() if path.exists() else ():
        try:
            row = json.loads(line)
        except json.JSONDecodeError:
            continue
        found[row["seed"]] = row
    return found


def run(setting: str, seed: int, count: int, jobs: int, out: Path) -> list[dict[str, Any]]:
    """Run what is not yet there, and leave rows, report and picture in ``out``."""
    out.mkdir(parents=True, exist_ok=True)
    path = out / f"{setting}.jsonl"
    seeds = range(seed, seed + count)
    done = read_rows(path)
    with path.open("a", encoding="utf-8") as file:
        for row in rows_of([s for s in seeds if s not in done], setting, jobs):
            done[row["seed"]] = row
            file.write(json.dumps(row) + "\n")
            file.flush()
    path.write_text("".join(json.dumps(done[s]) + "\n" for s in sorted(done)), encoding="utf-8")
    rows = [done[s] for s in seeds]
    (out / f"{setting}.txt").write_text(as_text(rows, setting) + "\n", encoding="utf-8")
    (out / f"{setting}.json").write_text(
        json.dumps(as_object(rows, setting), indent=1) + "\n", encoding="utf-8"
    )
    (out / f"{setting}.svg").write_text(picture(rows, setting), encoding="utf-8")
    return rows


def main(arguments: list[str] | None = None) -> int:
    """Run and print; the exit code is 1 when a trial could not be worked out."""
    parser = argparse.ArgumentParser(prog="scripts/bench trials", description=__doc__)
    parser.add_argument("--count", type=int, default=DEFAULT_COUNT, metavar="N")
    parser.add_argument("--setting", choices=tuple(SETTINGS), default="as-assumed")
    parser.add_argument("--seed", type=int, default=DEFAULT_SEED, metavar="S",
                        help="of the first trial; the others follow")  # fmt: skip
    parser.add_argument("--jobs", type=int, default=1, metavar="J", help="processes")
    parser.add_argument("--out", type=Path, default=Path("build/trials"), metavar="DIR")
    parser.add_argument("--robust", action="store_true", help="try sure answers instead: a kind "
                        "of fault not known, rates three times off, another order")  # fmt: skip
    parser.add_argument("--why", type=int, metavar="SEED", help="tell one trial in full")
    asked = parser.parse_args(arguments)
    if asked.why is not None:
        print("\n".join(_trial_why.told(asked.why, asked.setting)))
        return 0
    if asked.robust:
        seeds = range(asked.seed, asked.seed + asked.count)
        print("\n".join(_trial_robust.as_lines(_trial_robust.run(seeds, asked.setting))))
        return 0
    rows = run(asked.setting, asked.seed, asked.count, asked.jobs, asked.out)
    print(as_text(rows, asked.setting))
    print(f"rows, report and picture are in {asked.out}")
    return 1 if any(row["failed"] for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
