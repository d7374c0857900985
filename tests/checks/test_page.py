"""The manual's page of checks."""

from __future__ import annotations

from halfsplit.checks.costs import KINDS
from halfsplit.checks.page import checks_page
from halfsplit.checks.safety import RULES


def test_every_kind_and_rule_is_in_the_manual() -> None:
    """No kind of check and no rule is missing from the page."""
    page = checks_page()
    assert all(row.title in page for row in KINDS.values())
    assert all(rule.says in page for rule in RULES)
