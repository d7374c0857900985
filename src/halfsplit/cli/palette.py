"""Colours of conductors and of states. State is never told by colour alone.

Conductor colours: IEC 60445 (brown, black, grey, blue, green-yellow) and the usual North American
ones (black, red, blue, white, green), both from memory; black is drawn in the terminal's own ink.
"""

from __future__ import annotations

from rich.theme import Theme

_IEC = {
    "L": "rail.brown",
    "L1": "rail.brown",
    "L2": "rail.black",
    "L3": "rail.grey",
    "SL": "rail.brown",
    "N": "rail.blue",
    "E": "rail.earth",
}
_NORTH_AMERICA = {
    "L": "rail.black",
    "L1": "rail.black",
    "L2": "rail.red",
    "L3": "rail.blue",
    "SL": "rail.black",
    "N": "rail.white",
    "E": "rail.green",
}

THEME = Theme(
    {
        "rail.brown": "#c07a3e",
        "rail.black": "default",
        "rail.grey": "#9a9a9a",
        "rail.blue": "#4a90e2",
        "rail.earth": "#a6c83c",
        "rail.red": "red",
        "rail.white": "bright_white",
        "rail.green": "green",
        "alarm": "bold white on red",
        "hurts": "bold red",
        "break": "bold red",
        "good": "green",
        "bad": "bold yellow",
        "quiet": "dim",
        "heading": "bold",
        "place": "bold",
    }
)


def rail_style(key: str, region: str) -> str:
    """The style of a conductor's rail in a region."""
    table = _NORTH_AMERICA if region == "na" else _IEC
    return table.get(key, table["SL"])
