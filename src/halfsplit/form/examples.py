"""Every pattern of the written form by an invented example: title, what to know, the form."""

from __future__ import annotations

from halfsplit.form.examples_taken import TAKEN
from halfsplit.form.examples_wiring import WIRING

EXAMPLES: tuple[tuple[str, str, str], ...] = WIRING + TAKEN
