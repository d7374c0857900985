"""Why this check and not another: a sentence made of the figures that were compared."""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.checks import words
from halfsplit.checks.check import Check, Refused
from halfsplit.checks.planned import ENDS, Planned, Scored
from halfsplit.checks.site import Site
from halfsplit.quantity import percent

MORE_BITS = 1.05  # times the gain from which another check settles more
SAME = 0.5  # minutes: ways that differ by less are as quick


def why(one: Scored, found: Planned, refused: Sequence[Refused], site: Site) -> str:
    """What it settles and takes, and why not the most telling or the most obvious other."""
    if found.looks:
        return _finds(one, found, site)
    said = f"It settles {_bits(one.gain)} in {_min(one.minutes)}, {one.rate:.2f} bits a minute."
    others = [s for s in found.order if s is not one]
    obvious = _obvious(one, others, found, site)
    if obvious:
        said = f"{said} {obvious}"
    telling = (s for s in others if s.check.kind not in ENDS)
    more = max(telling, key=lambda s: s.gain, default=None)
    if more is not None and more.gain > one.gain * MORE_BITS:
        return f"{said} {_more(more, site)}"
    stopped = max((r for r in refused if r.gain), key=lambda r: r.gain or 0.0, default=None)
    if stopped is not None and (stopped.gain or 0.0) > one.gain:
        return f"{said} {_named(stopped.check, site)} would settle more, but {stopped.reason}."
    if not others:
        return f"{said} Nothing else that is allowed settles anything."
    return said


def _more(more: Scored, site: Site) -> str:
    """Why not the check that settles most: what it takes, now and in the end."""
    name, bits = _named(more.check, site), _bits(more.gain)
    if more.whole is None:
        return (
            f"{name} would settle more ({bits}) but takes {_min(more.minutes)}: {more.rate:.2f} a "
            "minute."
        )
    return (
        f"{name} would settle more at once ({bits} in {_min(more.minutes)}), yet it takes "
        f"{_min(more.whole)} in all with it first."
    )


def _obvious(one: Scored, others: Sequence[Scored], found: Planned, site: Site) -> str:
    """Minutes till it is found this way, beside the next best way and beside looking at once."""
    if one.whole is None:
        return ""
    said = f"This way it takes about {_min(one.whole)} till it is found"
    ways = [s for s in others if s.whole is not None and s.whole >= one.whole + SAME]
    second = min(ways, key=lambda s: s.whole or 0.0, default=None)
    parts = []
    if second is not None and second.whole is not None:
        parts.append(f"{_min(second.whole)} with {_named(second.check, site, False)} first")
    look = max((s for s in others if s.hit > 0), key=lambda s: s.hit, default=None)
    if look is not None and found.stop > one.whole:
        parts.append(
            f"{_min(found.stop)} by looking alone, the likeliest first "
            f"({words.brief(look.check, site)}, {percent(look.hit)})"
        )
    return f"{said}; {', '.join(parts)}." if parts else f"{said}."


def _finds(one: Scored, found: Planned, site: Site) -> str:
    """Why to open here first: the chance to find it, and the minutes, beside the next place."""
    if one.hit <= 0:
        return f"It settles {_bits(one.gain)} in {_min(one.minutes)} where a look does not."
    said = f"It would be found there with {percent(one.hit)}, in {_min(one.minutes)}."
    other = next((s for s in found.order if s is not one and s.hit > 0), None)
    if other is None:
        return f"{said} Nowhere else is likely."
    return (
        f"{said} Beside it: {words.brief(other.check, site)}, {percent(other.hit)} in "
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
