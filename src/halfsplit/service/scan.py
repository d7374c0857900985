"""Codes to scan, for the edges."""

from __future__ import annotations

from halfsplit.report.scan import scan_lines, scan_picture

__all__ = ["scan_lines", "scan_picture"]
