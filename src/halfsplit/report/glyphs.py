"""Which letters the faces on this machine can draw, read from their character maps.

A typesetter draws a box for a letter it has no face for and says nothing. Names come in every
script, so the record says which letters are boxes. Formats 4 and 12 of the ``cmap`` table
(ISO/IEC 14496-22) are read; faces in other formats count as drawing nothing.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

Spans = tuple[tuple[int, int], ...]

CARRIED: Spans = ((0x0900, 0x097F),)
"""What the typesetter's own faces draw besides: New Computer Modern has Devanagari."""


def missing(text: str, faces: Iterable[str]) -> tuple[str, ...]:
    """The printable letters of ``text`` that none of the font files can draw, each once."""
    wanted = {c for c in text if not c.isspace() and c.isprintable() and ord(c) > 0x7E}
    wanted = {c for c in wanted if not any(low <= ord(c) <= high for low, high in CARRIED)}
    for face in faces:
        if not wanted:
            break
        spans = covered(face)
        wanted = {c for c in wanted if not any(low <= ord(c) <= high for low, high in spans)}
    return tuple(sorted(wanted))


@lru_cache(maxsize=256)
def covered(face: str) -> Spans:
    """The code points a font file maps, as spans with both ends; empty for what is no font."""
    try:
        data = Path(face).read_bytes()
        return _spans(data)
    except (OSError, struct.error, IndexError):
        return ()


def _spans(data: bytes) -> Spans:
    start = struct.unpack_from(">I", data, 12)[0] if data[:4] == b"ttcf" else 0
    count = struct.unpack_from(">H", data, start + 4)[0]
    for k in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sIII", data, start + 12 + 16 * k)
        if tag == b"cmap":
            return _cmap(data, offset)
    return ()


def _cmap(data: bytes, at: int) -> Spans:
    found: list[tuple[int, int]] = []
    for k in range(struct.unpack_from(">H", data, at + 2)[0]):
        offset = struct.unpack_from(">I", data, at + 8 + 8 * k)[0]
        kind = struct.unpack_from(">H", data, at + offset)[0]
        if kind == 4:
            found += _format_4(data, at + offset)
        elif kind == 12:
            found += _format_12(data, at + offset)
    return tuple(sorted(set(found)))


def _format_4(data: bytes, at: int) -> list[tuple[int, int]]:
    half = struct.unpack_from(">H", data, at + 6)[0] // 2
    ends = struct.unpack_from(f">{half}H", data, at + 14)
    starts = struct.unpack_from(f">{half}H", data, at + 16 + 2 * half)
    return [(low, high) for low, high in zip(starts, ends, strict=True) if low != 0xFFFF]


def _format_12(data: bytes, at: int) -> list[tuple[int, int]]:
    groups = struct.unpack_from(">I", data, at + 12)[0]
    rows = struct.iter_unpack(">III", data[at + 16 : at + 16 + 12 * groups])
    return [(low, high) for low, high, _ in rows]
