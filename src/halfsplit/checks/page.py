"""The manual's page of checks, made from the table of costs and the rules of safety."""

from __future__ import annotations

from halfsplit.checks import costs
from halfsplit.checks.safety import RULES
from halfsplit.instruments.catalogue import OTHER_TOOLS, instrument

_INTRO = """# Checks

What may be proposed as the next check, what it takes, and what is never proposed. The order is:
first the rules of safety, then what a check itself would make live under every cause still
believed, then how much it settles for each minute of all that it takes now. What lasts is paid
once: isolate once, test several.

The program advises; the person on site decides. Local rules and licensed practice come first.
"""

_PLAN = """
## How the next one is chosen

The best few, by bits per minute and by what they leave to do, are each followed to the end: to the
place opened with the fault in it, or to mending what no look can show. Measuring goes on while one
more measurement, then looking, takes fewer minutes than looking now. `scripts/bench policy` holds
this against the exact optimum on small searches and against other ways of choosing on larger ones,
drawn and from circuits, and holds every suggestion in random states against the rules of safety,
restated, and against the current through a person in the true state.

![How often each way of choosing took how many minutes, on 1,000 searches](policy.svg)
"""


def checks_page() -> str:
    """The page in Markdown: kinds with their minutes, what lasts, the rules that refuse."""
    rows = [
        _INTRO,
        "## Kinds\n",
        "| check | minutes | needs | with one of | can hurt by | minutes from |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    rows += [_row(row) for row in costs.KINDS.values()]
    rows += [
        "",
        "In comparing, each check has minutes added for reading it and entering what it gave "
        f"({costs.ENTER:g}), live ones more for their risk (from "
        f"{costs.KINDS['lamps'].wariness:g} for a plug-in tester to "
        f"{costs.KINDS['open volts'].wariness:g} behind an opened cover), and those that handle "
        f"joints more for what may break or heal (up to {costs.DISTURBED:g}).\n",
        "## What is paid once\n",
        "| what | minutes |",
        "| --- | --- |",
    ]
    rows += [f"| {name} | {value:g} |" for name, value in _LASTING]
    rows += [
        "",
        "## Where nothing that is offered finds it\n",
        "| what | minutes |",
        "| --- | --- |",
    ]
    rows += [f"| {name} | {value:g} |" for name, value in _UNSEEN]
    rows += ["", "All are judgement.\n", "## What refuses a check\n"]
    rows += [f"- {rule.says}" for rule in RULES]
    rows.append(
        "- No check that would put the current planned for letting go (5 mA) or more through "
        "somebody who touches metalwork meanwhile, where it was not there before."
    )
    return "\n".join(rows) + "\n" + _PLAN


_LASTING = (
    ("walking to another place", costs.WALK),
    ("isolating and proving dead", costs.ISOLATE),
    ("energising again", costs.ENERGISE),
    ("the board's cover", costs.BOARD_COVER),
    ("an accessory's cover", costs.COVER),
    ("a floor", costs.FLOOR),
    ("the loft", costs.LOFT),
    ("unplugging everything", costs.UNPLUG),
    ("laying out a wandering lead", costs.LEAD),
    ("a link at the board, its line lifted", costs.LINK),
    ("lifting a core", costs.LIFT_ONE),
    ("lifting several", costs.LIFT_ENDS),
    ("plugging a lamp or a heater in", costs.LAMP),
    ("the usual load left on, for a picture of heat", costs.WARM_UP),
)
_UNSEEN = (
    ("a circuit taken apart stretch by stretch", costs.LOST),
    ("nothing wrong after all, and told so", costs.CONTENT),
)


def _row(row: costs.Cost) -> str:
    tools = "; ".join(_tool(id) for id in row.tools) or "-"
    cells = (row.title, f"{row.minutes:g}", ", ".join(row.needs) or "-", tools,
             "; ".join(row.hazards) or "-", row.reason)  # fmt: skip
    return "| " + " | ".join(cells) + " |"


def _tool(id: str) -> str:
    return id if id in OTHER_TOOLS else instrument(id).title()
