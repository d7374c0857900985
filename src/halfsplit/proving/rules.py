"""Which edition's limits apply, side by side; a record remembers the id of the one it used."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from halfsplit.errors import NotInTable

NONE_HELD = "no limit held for this: use your local rules"


@dataclass(frozen=True, slots=True)
class Rules:
    """One edition: which rows of the tables it uses. "" where no row is held.

    ``loop`` is an edition of the loop rules, or "iec" for the breaker standard's own bands;
    ``cold`` says whether a loop measured cold is held to 0.8 of the limit (else to the limit over
    the heating of a conductor from 20 to 70 °C). ``residual`` is the edition of required residual
    tests; "gfci" for ground-fault devices. ``supply`` is the voltage band's region, ``drop`` the
    voltage drop's. ``ring`` says whether ring tests are part of the practice.
    """

    id: str
    region: str
    title: str
    also: tuple[str, ...] = ()
    loop: str = ""
    cold: bool = False
    insulation: str = ""
    residual: str = ""
    supply: str = ""
    drop: str = ""
    ring: bool = False


_ALL = (
    Rules(
        "uk-2022", "uk", "BS 7671:2018 with amendment 2 (2022)",
        ("2022", "18th amendment 2", "amendment 2", "a2"), "bs7671-2018", True, "bs7671-2018",
        "2022", "uk", "uk", True,
    ),
    Rules(
        "uk-2018", "uk", "BS 7671:2018 before amendment 2", ("2018", "18th"), "bs7671-2018", True,
        "bs7671-2018", "2018", "uk", "uk", True,
    ),
    Rules(
        "uk-2008", "uk", "BS 7671:2008", ("2008", "17th"), "bs7671-2008", True, "", "2018", "uk",
        "uk", True,
    ),
    Rules(
        "uk-16th", "uk", "BS 7671, 16th edition", ("16th", "2001"), "", False, "bs7671-16th", "",
        "uk", "", True,
    ),
    Rules(
        "eu-iec", "eu", "IEC 60364-6", ("iec", "60364"), "iec", False, "iec60364-6", "2022", "eu",
        "", False,
    ),
    Rules(
        "au-2018", "au", "AS/NZS 3000", ("as-nzs-3000", "2018", "3000"), "as-nzs-3000", False,
        "as-nzs-3000", "2022", "au", "", False,
    ),
    Rules(
        "na-nec", "na", "NEC, with ANSI/NETA and UL 943 where they hold figures",
        ("nec", "2023", "2020", "2017", "2014", "2011"), "", False, "neta", "gfci", "us", "us",
        False,
    ),
)  # fmt: skip

RULES = MappingProxyType({rules.id: rules for rules in _ALL})
"""Every edition by id; the first of a region is the one used by default."""


def rules_for(region: str, edition: str = "") -> Rules:
    """The rules of a region, of a named edition or the newest. Raises: NotInTable."""
    own = [rules for rules in _ALL if rules.region == region]
    word = " ".join(edition.casefold().split())
    if not word and own:
        return own[0]
    for rules in own:
        if word in (rules.id, rules.title.casefold(), *rules.also):
            return rules
    known = [f"{rules.also[0]} ({rules.title})" for rules in own]
    raise NotInTable(f"editions of rules, {region}", edition or region, known)
