"""How to write a form, for whoever asks at the command line or on a page."""

from __future__ import annotations

from halfsplit.form.guide import guide_text


def form_guide() -> str:
    """The guide to the written form, in Markdown."""
    return guide_text()
