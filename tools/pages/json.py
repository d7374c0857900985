"""The page on JSON and the diagnosis's schema, from the table of keys."""

from __future__ import annotations

from halfsplit.service.schema import manual_text, schema_text
from tools.page import Page

PAGES = (Page("docs/json.md", manual_text), Page("docs/diagnosis.schema.json", schema_text))
