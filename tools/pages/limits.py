"""The page of limits by edition, from the tables that verdicts use."""

from __future__ import annotations

from halfsplit.proving.page import limits_page
from tools.page import Page

PAGES = (Page("docs/limits.md", limits_page),)
