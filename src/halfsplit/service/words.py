"""Trade words for the edges, by region."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from halfsplit.faults.words import conductor_words, vocabulary
from halfsplit.form.words import REGIONS
from halfsplit.report.readings import letter
from halfsplit.wiring.model import Region

REGION_NAMES: Mapping[str, str] = {
    "uk": "United Kingdom, Ireland",
    "eu": "Europe, IEC",
    "na": "North America",
    "au": "Australia, New Zealand",
}


def region_of(text: str) -> Region:
    """The region a text names; the first in the list for anything else."""
    return cast(Region, REGIONS.get(text.casefold(), "uk"))


def trade_words(region: str) -> dict[str, str]:
    """Words by key: socket, board, line, earth, earthed, cpc, cable and so on."""
    return vocabulary(region_of(region))


def letter_of(key: str, region: str) -> str:
    """The letter that stands for a conductor."""
    return letter(key, region_of(region))


def conductor(key: str, region: str) -> str:
    """A conductor in words."""
    return conductor_words(key, region_of(region))
