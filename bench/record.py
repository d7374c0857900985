"""How long the record takes: as a program of its own, and in the pages, which know the diagnosis.

Seconds of the processor, so that what else the machine does is left out; the clock stands beside.
Compiled modules are kept, as any installation keeps them.
"""

from __future__ import annotations

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from halfsplit.form.lines import layout
from halfsplit.form.read import read_job
from halfsplit.service.record import history_of_form, make_record
from tests.report.jobs import PRINT_ROOM, RING, SIXTY

JOBS: dict[str, dict[str, Any]] = {
    "print room": PRINT_ROOM,
    "ring": RING,
    "60 readings": SIXTY,
    "none": {"circuits": {"c": {"run": ["5 m", "P"]}}},
}


def program(form: str, folder: Path, times: int) -> tuple[float, float]:
    """(processor seconds, clock seconds) of ``halfsplit report``, the first run left out."""
    path = folder / "job.yaml"
    path.write_text(form, "utf-8")
    command = [sys.executable, "-m", "halfsplit", "report", str(path), "-o", str(folder / "o.pdf")]
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    env["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")
    busy, clock = [], []
    for number in range(times + 1):
        before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        subprocess.run(command, env=env, capture_output=True, check=True)
        took = time.perf_counter() - start
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        if number:
            clock.append(took)
            busy.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return statistics.median(busy), statistics.median(clock)


def timed(what: Callable[[], object], times: int) -> float:
    """Processor seconds of a call, the first left out."""
    what()
    found = []
    for _ in range(times):
        start = time.process_time()
        what()
        found.append(time.process_time() - start)
    return statistics.median(found)


def main() -> None:
    """Print each job's seconds: the whole program, diagnosis and record, the typesetting alone."""
    parser = argparse.ArgumentParser(prog="scripts/bench record", description=__doc__)
    parser.add_argument("--times", type=int, default=5, help="runs of each")
    times = max(1, parser.parse_args().times)
    print(f"{'job':<14}{'program':>9}{'clock':>8}{'record':>8}{'PDF':>7}   s, medians of {times}")
    with tempfile.TemporaryDirectory() as folder:
        for name, form in JOBS.items():
            text = layout(form)
            job, history = read_job(text, name), history_of_form(text)
            busy, clock = program(text, Path(folder), times)
            made = make_record(job, history)
            whole = timed(lambda job=job, history=history: make_record(job, history), times)  # type: ignore[misc]
            print(f"{name:<14}{busy:>9.2f}{clock:>8.2f}{whole:>8.2f}{timed(made.pdf, times):>7.2f}")


if __name__ == "__main__":
    main()
