"""The written form: its guide and its JSON Schema, from the table of keys."""

from __future__ import annotations

from halfsplit.form.guide import guide_text
from halfsplit.form.schema import schema_text
from tools.page import Page

PAGES = (Page("docs/form.md", guide_text), Page("docs/form.schema.json", schema_text))
