"""Why this check and not another: a sentence made of the figures that were compared."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from halfsplit.checks import words
from halfsplit.checks.check import Check, Refused
from halfsplit.checks.site import Site
from halfsplit.quantity import percent


class _Scored(Protocol):
    @property
    def check(self) -> Check: ...
    @property
    def gain(self) -> float: ...
    @property
    def minutes(self) -> float: ...
    @property
    def hit(self) -> float: ...
    @property
    def rate(self) -> float: ...


def why(one: _Scored, scored: Sequence[_Scored], refused: Sequence[Refused], site: Site) -> str:
    """What it settles and takes, and why not the most telling other."""
    if one.hit > 0:
        return _finds(one, scored, site)
    said = f"It settles {_bits(one.gain)} in {_min(one.minutes)}, {one.rate:.2f} bits a minute."
    others = [s for s in scored if s is not one]
    more = max(others, key=lambda s: s.gain, default=None)
    if more is not None and more.gain > one.gain * 1.05:
        return (
            f"{said} {_named(more.check, site)} would settle more ({_bits(more.gain)}) but takes "
            f"{_min(more.minutes)}: {more.rate:.2f} a minute."
        )
    stopped = max((r for r in refused if r.gain), key=lambda r: r.gain or 0.0, default=None)
    if stopped is not None and (stopped.gain or 0.0) > one.gain:
        return f"{said} {_named(stopped.check, site)} would settle more, but {stopped.reason}."
    nearest = max(others, key=lambda s: s.rate, default=None)
    if nearest is not None:
        return (
            f"{said} Next comes {_named(nearest.check, site, False)}: {_bits(nearest.gain)} in "
            f"{_min(nearest.minutes)}."
        )
    return f"{said} Nothing else that is allowed settles anything."


def _finds(one: _Scored, scored: Sequence[_Scored], site: Site) -> str:
    """Why to open here first: the chance to find it, and the minutes, beside the next place."""
    said = f"It would be found there with {percent(one.hit)}, in {_min(one.minutes)}."
    other = next((s for s in scored if s is not one and s.hit > 0), None)
    if other is None:
        return f"{said} Nowhere else is likely."
    return (
        f"{said} Beside it: {_named(other.check, site, False)}, {percent(other.hit)} in "
        f"{_min(other.minutes)}."
    )


def _named(check: Check, site: Site, first: bool = True) -> str:
    name = words.what(check, site)
    place = words.where(check, site)
    said = f"{name} at {place}" if place else name
    return said[:1].upper() + said[1:] if first else said


def _bits(gain: float) -> str:
    return f"{gain:.2f} bit" + ("" if f"{gain:.2f}" == "1.00" else "s")


def _min(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 9.95 else f"{minutes:.1f} min"
