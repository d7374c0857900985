"""The table of keys: one table feeds the reading, the JSON Schema and the guide.

``takes`` says what a key holds: ``text``, ``yes`` (yes or no), ``number`` (a number with its
unit), ``words`` (a text or a list of texts), ``chain`` (lengths and points in turn), ``ends`` or
``tests`` (a mapping of free keys to numbers), ``map of X`` (names, each with section X), ``list of
X``, or a section ``X`` itself; a section may always be given as a short text where it has one.
"""

from __future__ import annotations

from types import MappingProxyType

from halfsplit.form.key import Key
from halfsplit.form.keys_taken import TAKEN
from halfsplit.form.keys_wiring import WIRING

SECTIONS = MappingProxyType(
    {
        "job": "The whole form",
        "supply": "The supply (a short text will do)",
        "board": "A board",
        "group": "Ways behind one shared device",
        "device": "A protective device (a short text will do)",
        "circuit": "A circuit",
        "leg": "A length in a run, when more than its length is known",
        "light": "A light in a lighting circuit",
        "run": "A run of cable in longhand",
        "point": "A point (its kind alone will do)",
        "switch": "A switch in longhand",
        "load": "A load (a short text will do)",
        "path": "A conducting path that is not a circuit",
        "source": "Another source than the supply (on, off or its kind will do)",
        "reading": "A reading, or several taken at one place",
        "with": "Conditions while a reading was taken",
        "mend": "Something put right (give did, and the part it disturbed)",
        "after": "Tests after the mend, one entry or several taken at one place",
        "left": "How what could not be mended was left",
        "found": "Something seen and not mended",
    }
)

KEYS: tuple[Key, ...] = WIRING + TAKEN

_BY_SECTION = MappingProxyType(
    {section: tuple(key for key in KEYS if key.section == section) for section in SECTIONS}
)


def table_of(section: str) -> tuple[Key, ...]:
    """The rows of one section, in order."""
    return _BY_SECTION[section]


def keys_of(section: str) -> tuple[str, ...]:
    """The proper names of a section's keys."""
    return tuple(key.name for key in _BY_SECTION[section])


def required_of(section: str) -> tuple[str, ...]:
    """The keys a section cannot do without."""
    return tuple(key.name for key in _BY_SECTION[section] if key.required)


def aliases(section: str) -> dict[str, str]:
    """Other spellings of a section's keys, each with the proper name."""
    return {other: key.name for key in _BY_SECTION[section] for other in key.also}
