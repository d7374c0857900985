"""The catalogue of faults as a page of the manual."""

from __future__ import annotations

from halfsplit.faults.page import faults_page
from tools.page import Page

PAGES = (Page("docs/faults.md", faults_page),)
