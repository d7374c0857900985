"""The ring final circuit's dead test: what end-to-end and cross-connected readings should be.

r1, rn, r2 are the end-to-end resistances of line, neutral and protective conductor, ohms.
"""

from __future__ import annotations

from halfsplit.tables.source import Figure

MATCH = Figure("ring-match", 0.05, "ohm", "ring-rules", note="r1 and rn alike within this")
MATCH_COLLEGE = Figure("ring-match-college", 0.05, "ohm", "ring-college")
RATIO_25_15 = Figure("ring-ratio-2.5-1.5", 1.67, "ratio", "ring-rules", 12.1 / 7.41, 1.67)

STEP_3_SOURCE = "ring-derivation"


def cross_line_neutral(r1: float, rn: float) -> float:
    """Line-neutral at every point with opposite ends cross-connected: (r1 + rn) / 4."""
    return (r1 + rn) / 4.0


def cross_line_earth(r1: float, r2: float, x: float = 0.5) -> float:
    """Line-earth with opposite ends cross-connected, at the share ``x`` of the way round.

    r1·r2/(r1+r2) + x(1-x)(r1-r2)²/(r1+r2): least at the cross-links, (r1+r2)/4 at mid-ring, and
    the same everywhere when both conductors are alike. A rise at mid-ring is no spur.
    """
    total = r1 + r2
    return (r1 * r2 + x * (1.0 - x) * (r1 - r2) ** 2) / total


def mid_over_links(r1: float, r2: float) -> float:
    """Mid-ring reading over that at the cross-links: (r1 + r2)² / (4 r1 r2)."""
    return (r1 + r2) ** 2 / (4.0 * r1 * r2)


def length_from_end_to_end(resistance: float, ohm_per_m: float) -> float:
    """Ring length in metres that an end-to-end reading implies."""
    return resistance / ohm_per_m


def ends_match(r1: float, rn: float) -> bool:
    """Whether line and neutral agree as one cable's two live cores should."""
    return abs(r1 - rn) <= MATCH.value + 1e-12
