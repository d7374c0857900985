"""Distributions of minutes as an image: one row per policy, a bar per few minutes."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

import numpy as np

from halfsplit.checks.policy import Real

BIN = 4.0  # minutes
SHOWN = 0.97  # quantile of the widest distribution at which the picture ends
LEFT, WIDE, ROW, TOP, BARS = 250, 560, 62, 46, 44
INK, PALE, MEAN = "#1b1b1b", "#7a93b8", "#b3261e"


def chart(title: str, minutes: Mapping[str, Real]) -> str:
    """An SVG image: how often each policy took how long, its mean marked and written."""
    end = BIN * np.ceil(max(float(np.quantile(m, SHOWN)) for m in minutes.values()) / BIN)
    height = TOP + ROW * len(minutes) + 40
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {LEFT + WIDE + 40} {height}" '
        f'font-family="sans-serif" font-size="13" fill="{INK}">',
        f'<rect width="100%" height="100%" fill="#ffffff"/><title>{escape(title)}</title>',
        f'<text x="16" y="26" font-size="16">{escape(title)}</text>',
    ]
    for k, (name, taken) in enumerate(minutes.items()):
        parts += _row(name, taken, float(end), TOP + ROW * k)
    parts += _axis(float(end), TOP + ROW * len(minutes))
    return "\n".join([*parts, "</svg>"]) + "\n"


def _row(name: str, taken: Real, end: float, top: int) -> list[str]:
    """One policy: its bars, what is beyond the end in the last, and its mean."""
    edges = np.arange(0.0, end + BIN / 2, BIN)
    count, _ = np.histogram(np.minimum(taken, end - BIN / 2), edges)
    share = count / max(int(count.max()), 1)
    wide = WIDE / len(count)
    base = top + BARS
    bars = [
        f'<rect x="{LEFT + k * wide:.1f}" y="{base - BARS * s:.1f}" width="{wide - 1:.1f}" '
        f'height="{BARS * s:.1f}" fill="{PALE}"/>'
        for k, s in enumerate(share)
        if s > 0
    ]
    mean = float(taken.mean())
    x = LEFT + WIDE * min(mean, end) / end
    return [
        f'<text x="{LEFT - 12}" y="{base - 16}" text-anchor="end">{escape(name)}</text>',
        f'<text x="{LEFT - 12}" y="{base}" text-anchor="end" fill="{MEAN}">mean {mean:.1f} min'
        "</text>",
        *bars,
        f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{base - BARS - 4}" y2="{base}" stroke="{MEAN}" '
        'stroke-width="2"/>',
        f'<line x1="{LEFT}" x2="{LEFT + WIDE}" y1="{base}" y2="{base}" stroke="{INK}"/>',
    ]


def _axis(end: float, top: int) -> list[str]:
    """Minutes along the foot; the last bar holds all that took longer."""
    step = 10.0 if end <= 80 else 20.0
    return [
        f'<text x="{LEFT + WIDE * t / end:.1f}" y="{top + 16}" text-anchor="middle">{t:.0f}</text>'
        for t in np.arange(0.0, end + 1e-9, step)
    ] + [
        f'<text x="{LEFT + WIDE}" y="{top + 34}" text-anchor="end">minutes till it is found '
        "(the last bar: longer)</text>"
    ]
