"""Which instrument it may have been, when nobody said.

The kind of instrument is a nuisance that is enumerated: each candidate predicts its own figure and
the readings choose between them.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from halfsplit.instruments.catalogue import instrument, that_read
from halfsplit.instruments.instrument import Instrument
from halfsplit.tables import practice

# How often leads were not nulled before a continuity test: judgement.
UN_NULLED = 0.25


@lru_cache(maxsize=64)
def candidates(kind: str, id: str = "", region: str = "uk") -> tuple[tuple[Instrument, float], ...]:
    """(instrument, share) of what may have given a reading of ``kind``; shares add to 1.

    With an ``id`` the instrument is known and only its own band is left (input resistance, leads
    not nulled). No candidate for kinds no instrument reads (what people see and feel).
    ``region`` leans towards what is usual there. Raises: NotInTable for an id there is not.
    """
    if id:
        known = [(instrument(id), 1.0)]
    else:
        known = [(one, _weight(one, kind, region)) for one in that_read(kind)]
    parts = [
        (member, weight * share)
        for one, weight in known
        if weight > 0
        for member, share in _members(one)
    ]
    whole = sum(weight for _, weight in parts)
    return tuple((member, weight / whole) for member, weight in parts)


def _weight(one: Instrument, kind: str, region: str) -> float:
    if kind == "proved dead":  # the reading says a two-pole detector was used
        return {"two-pole": 0.9, "two-pole load": 0.1}.get(one.id, 0.0)
    if region == "na" and one.id == "two-pole":
        return one.weight / 2  # a multimeter is likelier there: judgement
    return one.weight


def _members(one: Instrument) -> tuple[tuple[Instrument, float], ...]:
    if one.id == "continuity":
        leads = replace(one, lead_ohms=practice.LEADS_PAIR.high, floor=practice.LEADS_PAIR.value)
        return ((one, 1 - UN_NULLED), (leads, UN_NULLED))
    return one.variants()
