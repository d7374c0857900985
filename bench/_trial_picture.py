"""The picture of a run of trials: claimed beside right, and right by kind of fault."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from bench._trial_figures import Row, Share, answered, bins, by_family
from bench._trial_report import among_three, right

SIDE, LEFT, TOP = 320, 60, 48
BAR, GAP = 12, 18


def picture(rows: Sequence[Row], setting: str) -> str:
    """An SVG: on the left how often it is right when so sure, on the right by kind of fault."""
    single = [r for r in rows if not r["two"]]
    families = list(by_family(single).items())
    height = max(SIDE + TOP + 60, TOP + GAP * len(families) + 40)
    width = LEFT + SIDE + 560
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="12">',
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
        f'<text x="{LEFT}" y="24" font-size="15">{len(rows)} trials {escape(setting)}</text>',
        *_reliability(answered(single)),
        *_families(families),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _reliability(rows: Sequence[Row]) -> list[str]:
    bottom = TOP + SIDE
    parts = [
        f'<rect x="{LEFT}" y="{TOP}" width="{SIDE}" height="{SIDE}" fill="none" stroke="#888"/>',
        f'<line x1="{LEFT}" y1="{bottom}" x2="{LEFT + SIDE}" y2="{TOP}" stroke="#aaa" '
        'stroke-dasharray="4 4"/>',
        f'<text x="{LEFT + SIDE / 2}" y="{bottom + 36}" text-anchor="middle">'
        "claimed for the first suspect</text>",
        f'<text x="16" y="{TOP + SIDE / 2}" text-anchor="middle" '
        f'transform="rotate(-90 16 {TOP + SIDE / 2})">right</text>',
    ]
    for k in range(5):
        at = SIDE * k / 4
        parts += [
            f'<text x="{LEFT + at}" y="{bottom + 16}" text-anchor="middle">{25 * k} %</text>',
            f'<text x="{LEFT - 6}" y="{bottom - at + 4}" text-anchor="end">{25 * k}</text>',
        ]
    for claimed, share, count in bins(rows):
        low, high = Share(round(share * count), count).interval
        x, y = LEFT + SIDE * claimed, bottom - SIDE * share
        parts += [
            f'<line x1="{x:.1f}" y1="{bottom - SIDE * low:.1f}" x2="{x:.1f}" '
            f'y2="{bottom - SIDE * high:.1f}" stroke="#36c"/>',
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="#36c"><title>{count} trials: '
            f"claimed {claimed:.0%}, right {share:.0%}</title></circle>",
        ]
    return parts


def _families(families: Sequence[tuple[str, list[Row]]]) -> list[str]:
    """Bars: dark for the first suspect right, light for one of three."""
    start, wide = LEFT + SIDE + 260, 220
    parts = [f'<text x="{start}" y="{TOP - 8}">right first (dark), among three (light)</text>']
    for k, (family, some) in enumerate(families):
        y = TOP + GAP * k
        first = sum(map(right, some)) / len(some)
        three = sum(map(among_three, some)) / len(some)
        parts += [
            f'<text x="{start - 8}" y="{y + 10}" text-anchor="end">{escape(family)} '
            f"({len(some)})</text>",
            f'<rect x="{start}" y="{y}" width="{wide}" height="{BAR}" fill="#eee"/>',
            f'<rect x="{start}" y="{y}" width="{wide * three:.1f}" height="{BAR}" fill="#9bd"/>',
            f'<rect x="{start}" y="{y}" width="{wide * first:.1f}" height="{BAR}" fill="#258"/>',
        ]
    return parts
