"""A hand on a broken neutral wakes what hangs on it."""

from __future__ import annotations

from halfsplit.diagnosis.diagnose import conclude, weigh
from halfsplit.diagnosis.expect import find_fault
from halfsplit.diagnosis.prepared import Prepared
from halfsplit.diagnosis.survey import survey
from halfsplit.form import read_job
from halfsplit.wiring.conditions import AS_DESCRIBED

FORM = """
supply: TN-S 230 V
circuits:
  lights: {device: B6, cable: 1.5/1 twin and earth, run: [9 m, Hall, 4 m, Landing],
           plugged in: {Landing: LED 8 W}}
readings:
  - {at: Landing, L-N: 1, N-E: 110, works: dead}
"""
WATTS, VOLTS, BODY_OHMS = 8.0, 230.0, 2000.0


def test_a_lamp_that_lets_nothing_through_lets_a_hand_have_its_current() -> None:
    """At no voltage an LED lamp is nearly open; with a person on the neutral it takes the supply's
    (common practice: the neutral beyond a break bites). Its 35 mA at most, not microamperes."""
    job = read_job(FORM)
    prepared = Prepared(job.installation)
    fault = find_fault(job.installation, prepared.plan, "open joint: joint Landing N Hall–Landing")
    found = survey(prepared, [fault.severities[0].effects], AS_DESCRIBED)
    at = next(
        k for k, t in enumerate(found.terminals) if (t.place, t.conductor) == ("Landing", "N")
    )
    amps = float(found.touched()[0, at])
    lamp = WATTS / VOLTS  # a lamp's power factor only adds to it
    assert amps >= 0.5 * lamp
    assert amps <= VOLTS / BODY_OHMS * 1.3


def test_it_is_shown_as_dangerous() -> None:
    """The neutral beyond the break stands in the list of dangers."""
    job = read_job(FORM)
    found = conclude(*weigh(Prepared(job.installation), job.readings))
    assert any(
        d.place == "Landing" and d.conductor == "N" and d.kind == "shock" for d in found.dangers
    )
