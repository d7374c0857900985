"""How long a person waits: help, a demo, a prediction, each as a program of its own."""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

DEMO = Path(__file__).resolve().parents[1] / "src" / "halfsplit" / "demos" / "boat-shed.yaml"
COMMANDS = (
    ("--help",),
    ("forms",),
    ("validate", str(DEMO)),
    ("predict", str(DEMO)),
    ("demo",),
    ("demo", "workshop"),
    ("demo", "stairs"),
)


def seconds(arguments: tuple[str, ...], times: int) -> list[float]:
    """Wall-clock seconds of each run, the first (cold) one left out."""
    command = [sys.executable, "-m", "halfsplit", *arguments]
    found = []
    for number in range(times + 1):
        start = time.perf_counter()
        subprocess.run(command, env=os.environ, capture_output=True, check=True)
        if number:
            found.append(time.perf_counter() - start)
    return found


def main() -> None:
    """Print the median and the slowest of each command."""
    parser = argparse.ArgumentParser(prog="scripts/bench start", description=__doc__)
    parser.add_argument("--times", type=int, default=5, help="runs of each command")
    times = max(1, parser.parse_args().times)
    print(f"{'command':<24}{'median':>9}{'slowest':>9}   s, {times} runs each")
    for arguments in COMMANDS:
        found = seconds(arguments, times)
        name = " ".join(Path(word).name for word in arguments)
        print(f"{name:<24}{statistics.median(found):>9.2f}{max(found):>9.2f}")


if __name__ == "__main__":
    main()
