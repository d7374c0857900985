"""One step, a reading in and suspects and next check out: processor seconds and memory, by size.

Each size runs in a process of its own. The installation is prepared once, as the pages keep it;
"first" is with that, "step" without. Seconds are the processor's, on one thread.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable

WANTED = {8: 0.08, 12: 0.3, 40: 3.0}  # seconds a step
THREADS = {f"{name}_NUM_THREADS": "1" for name in ("OMP", "OPENBLAS", "MKL")}


def eight() -> str:
    """A radial of eight socket-outlets with four readings; made up."""
    places = ", ".join(f"4 m, Socket {k}" for k in range(1, 9))
    return f"""
title: Eight outlets
region: uk
supply: TN-S 230 V
circuits:
  hall:
    device: B16
    cable: 2.5/1.5 twin and earth
    run: [{places}]
    plugged in: {{Socket 3: electronics, Socket 6: 60 W}}
readings:
  - {{at: Socket 2, L-N: 231, L-E: 231, N-E: 0.4}}
  - {{at: Socket 5, L-N: 0.6, L-E: 231, N-E: 230}}
"""


def twelve() -> str:
    """Twelve points, lengths "about", twelve readings; made up."""
    places = ", ".join(f"about {3 + k % 4} m, Stop {k}" for k in range(1, 13))
    return f"""
title: Twelve outlets
region: uk
supply: TN-C-S 230 V
circuits:
  gallery:
    device: B20
    cable: 2.5/1.5 twin and earth
    run: [{places}]
    plugged in: {{Stop 4: electronics, Stop 7: 60 W, Stop 9: [electronics, 100 W]}}
readings:
  - {{at: Stop 1, L-N: 231, L-E: 231, N-E: 0.4}}
  - {{at: Stop 3, L-N: 230, L-E: 231, N-E: 0.5, works: yes}}
  - {{at: Stop 8, L-N: 0.6, L-E: 230, N-E: 229}}
  - {{at: Stop 11, L-N: 0.5, L-E: 231}}
"""


def forty() -> str:
    """Eight circuits of five points behind two residual-current devices, thirty readings."""
    lines = ["title: Forty points", "region: uk", "supply: TN-C-S 230 V", "circuits:"]
    for c in range(1, 9):
        places = ", ".join(f"about {3 + (c + k) % 4} m, P{c}{k}" for k in range(1, 6))
        lines += [
            f"  way {c}:",
            f"    device: {'B32' if c % 3 == 0 else 'B16'}",
            "    cable: 2.5/1.5 twin and earth",
            f"    run: [{places}]",
            f"    plugged in: {{P{c}2: electronics, P{c}4: 60 W}}",
        ]
    lines.append("readings:")
    for c in range(1, 8):
        lines.append(f"  - {{at: P{c}1, L-N: {230 + c % 3}, L-E: 231, N-E: 0.{2 + c % 3}}}")
    lines.append("  - {at: P82, L-N: 231, N-E: 0.4, works: yes}")
    lines.append("  - {at: P84, L-N: 3, L-E: 231, N-E: 228}")
    lines.append("  - {at: P85, L-N: 2, L-E: 230}")
    lines.append("  - {at: P83, L-N: 230}")
    return "\n".join(lines) + "\n"


JOBS: dict[int, Callable[[], str]] = {8: eight, 12: twelve, 40: forty}


def measured(points: int, times: int) -> dict[str, float]:
    """Processor seconds of the first answer and of a step after, and the most memory (bytes)."""
    from halfsplit.checks.choose import consider
    from halfsplit.checks.costs import State
    from halfsplit.diagnosis.diagnose import conclude, weigh
    from halfsplit.diagnosis.prepared import Prepared
    from halfsplit.service.answer import MOST_CHECKS, ask, read

    job, _ = read(JOBS[points](), "step")
    start = time.process_time()
    ask(job)
    first = time.process_time() - start
    prepared = Prepared(job.installation)
    laps: dict[str, list[float]] = {"weigh": [], "conclude": [], "checks": []}
    for _ in range(times + 1):
        marks = [time.process_time()]
        bench, weighed = weigh(prepared, job.readings)
        marks.append(time.process_time())
        found = conclude(bench, weighed)
        marks.append(time.process_time())
        consider(job.installation, prepared.plan, bench, weighed, found, job.tools, MOST_CHECKS,
                 state=State(), sources=job.sources)  # fmt: skip
        marks.append(time.process_time())
        for name, a, b in zip(laps, marks, marks[1:], strict=False):
            laps[name].append(b - a)
    half = {name: statistics.median(found[1:] or found) for name, found in laps.items()}
    peak = 1024.0 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return {"first": first, **half, "step": sum(half.values()), "bytes": peak}


def main() -> None:
    """Print one line a size."""
    parser = argparse.ArgumentParser(prog="scripts/bench step", description=__doc__)
    parser.add_argument("sizes", nargs="*", type=int, choices=[*JOBS, []], help="points")
    parser.add_argument("--times", type=int, default=5, help="steps of each size")
    parser.add_argument("--one", type=int, choices=JOBS, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        print(json.dumps(measured(asked.one, asked.times)))
        return
    names = ("first", "weigh", "conclude", "checks", "step")
    print(f"{'points':>6}" + "".join(f"{n:>10}" for n in (*names, "wanted")) + f"{'MB':>8}")
    for points in asked.sizes or JOBS:
        command = [sys.executable, "-m", "bench.step", "--one", str(points), "--times"]
        ran = subprocess.run([*command, str(asked.times)], env={**os.environ, **THREADS},
                             capture_output=True, text=True, check=True)  # fmt: skip
        row = json.loads(ran.stdout)
        cells = "".join(f"{row[name]:>10.3f}" for name in names)
        print(f"{points:>6}{cells}{WANTED[points]:>10.2f}{row['bytes'] / 1e6:>8.0f}")


if __name__ == "__main__":
    main()
