"""Small jobs of our own for the tests of diagnosis."""

from __future__ import annotations

from halfsplit.form import Job, read_job

SHED = """
title: Kiln shed
region: uk
supply: TN-S 230 V
circuits:
  kilns:
    device: B16
    cable: 2.5/1.5 twin and earth
    run: [8 m, Bench, 4 m, Shelf, 5 m, Loft, 3 m, Desk]
    plugged in: {Desk: 60 W heater}
"""


def shed(readings: str, extra: str = "") -> Job:
    """The kiln shed with some readings, as one indented block."""
    return read_job(f"{SHED}{extra}\nreadings:\n{readings}")


HALF_MAINS = """
  - {at: Bench, L-N: 230, L-E: 230, by: multimeter}
  - {at: Loft, L-N: 230, L-E: 118, N-E: 105, by: multimeter}
"""
