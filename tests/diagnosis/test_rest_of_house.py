"""What the rest of the house draws finds a second way home through a neutral-earth contact."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.diagnosis.diagnose import diagnose
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.form import read_job

FORM = """
supply: TN-C-S 230 V
boards:
  Board: {groups: {RCD 1: {device: 63 A RCD 30 mA, circuits: [sockets, lights]}}}
circuits:
  sockets: {device: B32, cable: 2.5/1.5 twin and earth, run: [8 m, Kitchen, 5 m, Hall]}
  lights: {device: B6, cable: 1.5/1 twin and earth, run: [9 m, Landing]}
readings:
  - {device: RCD 1, trips: at once}
  - {device: RCD 1, trips: yes, with: {off: [sockets]}}
"""
WATTS = 300.0


def test_a_contact_takes_its_share_of_the_whole_neutral_current() -> None:
    """PHENOMENA 11: by the current divider, neutral to bar against round by the contact."""
    job = read_job(FORM)
    prepared = Prepared(job.installation)
    hyp, plan = prepared.hypotheses, prepared.plan
    base = prepared.base(job.readings[1].conditions)
    rows = [
        h
        for h in range(len(hyp))
        if hyp.fault[h] >= 0
        and hyp.faults[hyp.fault[h]].id == "short at point: Kitchen N-E"
        and hyp.severity[h] == 0
    ]
    residual = base.standing(False).residual[rows].max(axis=1)
    ohms = {e.id: e.ohms for e in plan.elements}
    straight = ohms["pole main switch N"] + ohms["tail Board N"]
    round_about = ohms["pole RCD 1 N"] + ohms["tail Board E"] + ohms["neutral-earth link"]
    for key in ("N", "E"):
        joints = (f"joint {place} {key} Board–Kitchen" for place in ("Board", "Kitchen"))
        round_about += sum(ohms[j] for j in joints) + ohms[f"core Board–Kitchen {key}"]
    share = straight / (straight + round_about)
    assert residual[0] < 1e-3  # with nothing in use nothing flows
    assert residual[1] == pytest.approx(share * WATTS / 230.0, rel=0.02)
    assert np.all(np.diff(residual) > 0)


def test_it_may_trip_with_its_own_breaker_off() -> None:
    """A device that parts with the sockets' breaker off may well have a contact in the sockets."""
    job = read_job(FORM)
    found = diagnose(job.installation, job.readings)
    contact = sum(
        c.probability
        for c in found.causes
        if c.fault and set(c.fault.conductors) == {"N", "E"} and c.fault.circuit == "sockets"
    )
    assert contact > 0.15
