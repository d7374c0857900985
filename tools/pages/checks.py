"""The kinds of check and the rules that refuse them as a page of the manual."""

from __future__ import annotations

from halfsplit.checks.page import checks_page
from tools.page import Page

PAGES = (Page("docs/checks.md", checks_page),)
