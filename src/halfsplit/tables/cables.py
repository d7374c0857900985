"""Cables by region: cores and sizes, and what lies between the cores per metre.

The capacitance and the insulation conductance between cores decide what a floating conductor
reads, so they are figures with bands, not constants. Capacitances here are *direct* ones, each
between one pair with nothing else assumed joined. A pair measured with the third core floating
shows more: see :func:`pair_capacitance`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from halfsplit.errors import NotInTable
from halfsplit.tables.conductors import Strand, awg_area, ohm_per_m, ohm_per_m_awg
from halfsplit.tables.source import Figure, Table

Build = Literal["flat", "nm", "singles", "flex", "round", "armoured"]
Region = Literal["uk", "eu", "us", "au"]


@dataclass(frozen=True, slots=True)
class Core:
    """One conductor of a cable: a live core (line, neutral, strapper alike) or the protective one.

    ``size`` is mm², or a gauge number when ``gauge``. ``insulated`` is false for a bare protective
    conductor.
    """

    role: Literal["live", "protective"]
    size: float
    gauge: bool
    strand: Strand
    insulated: bool = True

    @property
    def area_mm2(self) -> float:
        """Cross-section in mm²."""
        return awg_area(round(self.size)) if self.gauge else self.size

    def ohm_per_m(self, temp_C: float = 20.0) -> float:
        """Copper DC resistance, Ω/m at ``temp_C``."""
        if self.gauge:
            return ohm_per_m_awg(round(self.size), "copper", temp_C, self.strand)
        return ohm_per_m(self.size, "copper", temp_C, self.strand)


@dataclass(frozen=True, slots=True)
class Cable:
    """A cable type: trade name, where it is used, its cores and the source of its sizes.

    ``live`` counts the live cores (2 in twin and earth, 3 in three-core and earth); ``protective``
    is None where the cable carries none. ``temp_c`` is the conductor's working limit.
    """

    name: str
    region: Region
    build: Build
    live: int
    core: Core
    protective: Core | None
    temp_c: float
    source: str

    @property
    def cores(self) -> tuple[Core, ...]:
        """Live cores first, the protective core last."""
        return (self.core,) * self.live + ((self.protective,) if self.protective else ())

    def r1_r2_per_m(self, temp_C: float = 20.0) -> float:
        """Line plus protective conductor, Ω/m. Raises: NotInTable without a protective core."""
        if self.protective is None:
            raise NotInTable(self.name, "protective conductor", ("live cores only",))
        return self.core.ohm_per_m(temp_C) + self.protective.ohm_per_m(temp_C)

    @property
    def core_core_capacitance(self) -> Figure:
        """Direct capacitance between two live cores, F/m."""
        return CORE_CORE[self.build]

    @property
    def core_earth_capacitance(self) -> Figure:
        """Direct capacitance from one live core to the protective one, F/m."""
        return CORE_EARTH[self.build]

    @property
    def insulation_conductance(self) -> Figure:
        """Conductance between any two cores of a sound cable, S/m."""
        return INSULATION


def _pf(id: str, low: float, typical: float, high: float, source: str, note: str = "") -> Figure:
    """A capacitance given in pF/m, kept in F/m."""
    return Figure(id, typical * 1e-12, "F/m", source, low * 1e-12, high * 1e-12, note=note)


PAIR_NM = _pf("cap-nm-pair", 55.0, 68.9, 85.0, "nm-capacitance", "pair, ground floating; 21 pF/ft")
PAIR_TE = _pf("cap-te-pair", 80.0, 100.0, 150.0, "te-capacitance", "between cores, upwards")

# Split so that core-core + core-earth / 2 gives the published pair; the bare protective core lies
# between the two live ones, so most of the field ends on it.
CORE_CORE = MappingProxyType(
    {
        "flat": _pf("cap-flat-core-core", 20.0, 40.0, 70.0, "capacitance-split"),
        "nm": _pf("cap-nm-core-core", 15.0, 28.9, 50.0, "capacitance-split"),
        "singles": _pf("cap-singles-core-core", 10.0, 30.0, 70.0, "capacitance-split"),
        "flex": _pf("cap-flex-core-core", 35.0, 60.0, 90.0, "capacitance-split"),
        "round": _pf("cap-round-core-core", 35.0, 60.0, 90.0, "capacitance-split"),
        "armoured": _pf("cap-armoured-core-core", 30.0, 55.0, 90.0, "capacitance-split"),
    }
)
CORE_EARTH = MappingProxyType(
    {
        "flat": _pf("cap-flat-core-earth", 80.0, 120.0, 180.0, "capacitance-split"),
        "nm": _pf("cap-nm-core-earth", 55.0, 80.0, 120.0, "capacitance-split"),
        "singles": _pf("cap-singles-core-earth", 10.0, 30.0, 90.0, "capacitance-split"),
        "flex": _pf("cap-flex-core-earth", 35.0, 60.0, 90.0, "capacitance-split"),
        "round": _pf("cap-round-core-earth", 35.0, 60.0, 90.0, "capacitance-split"),
        "armoured": _pf("cap-armoured-core-earth", 90.0, 150.0, 250.0, "capacitance-split"),
    }
)
INSULATION = Figure(
    "insulation-S-per-m",
    2e-11,
    "S/m",
    "insulation-per-metre",
    1e-13,
    4e-10,
    note="50 m: 1 GΩ typically, from 50 MΩ to over range",
)


R1_R2_PUBLISHED: Table[str] = Table(
    "r1-r2-twin-earth",
    "mohm/m",
    "locke-4.3",
    {"1.5/1": 30.2, "2.5/1.5": 19.51, "4/1.5": 16.71, "6/2.5": 10.49, "10/4": 6.44, "16/6": 4.23},
    temp_c=20.0,
    uncertainty=0.001,
    key="line/cpc mm²",
    note="derived: each is the sum of its two conductors",
)


def pair_capacitance(core_core: float, core_earth: float) -> float:
    """Capacitance measured between two cores while the third floats, in the inputs' unit.

    The third core adds two equal capacitances in series: cc + ce / 2.
    """
    return core_core + core_earth / 2.0


def _metric(
    name: str,
    region: Region,
    build: Build,
    live: int,
    size: float,
    protective: float | None,
    source: str,
    *,
    strand: Strand = "solid",
    bare: bool = False,
    temp_C: float = 70.0,
) -> Cable:
    core = Core("live", size, False, strand)
    earth = None if protective is None else Core("protective", protective, False, strand, not bare)
    return Cable(name, region, build, live, core, earth, temp_C, source)


def _uk_strand(size: float) -> Strand:
    return "solid" if size <= 2.5 else "stranded"


TWIN_EARTH_MM2 = MappingProxyType(
    {1.0: 1.0, 1.5: 1.0, 2.5: 1.5, 4.0: 1.5, 6.0: 2.5, 10.0: 4.0, 16.0: 6.0}
)
"""Line size against protective conductor size of UK flat twin and earth, mm²."""


def _uk() -> list[Cable]:
    found = [
        _metric(
            f"{live_mm2:g}/{cpc_mm2:g} {words}",
            "uk",
            "flat",
            live,
            live_mm2,
            cpc_mm2,
            "flat-cable-sizes",
            strand=_uk_strand(live_mm2),
            bare=True,
        )
        for words, live, top in (("twin and earth", 2, 16.0), ("three-core and earth", 3, 16.0))
        for live_mm2, cpc_mm2 in TWIN_EARTH_MM2.items()
        if live_mm2 <= top
    ]
    for size in (1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0):
        strand: Strand = "stranded"
        found.append(
            _metric(f"{size:g} singles", "uk", "singles", 2, size, size, "iec60228", strand=strand)
        )
    for live, words in ((2, "two-core"), (3, "three-core"), (4, "four-core")):
        for size in (1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0):
            found.append(
                _metric(
                    f"{size:g} {words} armoured",
                    "uk",
                    "armoured",
                    live,
                    size,
                    size,
                    "iec60228",
                    strand="stranded",
                    temp_C=90.0,
                )
            )
    for size in (0.5, 0.75, 1.0, 1.25, 1.5, 2.5, 4.0):
        found += [
            _metric(
                f"{size:g} three-core flex",
                "uk",
                "flex",
                2,
                size,
                size,
                "iec60228",
                strand="flexible",
                temp_C=60.0,
            ),
            _metric(
                f"{size:g} two-core flex",
                "uk",
                "flex",
                2,
                size,
                None,
                "iec60228",
                strand="flexible",
                temp_C=60.0,
            ),
        ]
    return found


def _eu() -> list[Cable]:
    return [
        _metric(f"{count}G{size:g}", "eu", "round", count - 1, size, size, "harmonised-sizes")
        for count in (3, 4, 5)
        for size in (1.5, 2.5, 4.0, 6.0, 10.0, 16.0)
    ]


NM_GROUND_GAUGE = MappingProxyType({14: 14, 12: 12, 10: 10, 8: 10, 6: 10})
"""Live gauge against the gauge of the bare ground in nonmetallic-sheathed cable."""


def _us() -> list[Cable]:
    found = []
    for gauge, ground in NM_GROUND_GAUGE.items():
        strand: Strand = "solid" if gauge >= 10 else "stranded"
        for live in (2, 3):
            found.append(
                Cable(
                    f"{gauge}/{live} NM-B",
                    "us",
                    "nm",
                    live,
                    Core("live", gauge, True, strand),
                    Core("protective", ground, True, "solid", insulated=False),
                    90.0,
                    "nm-sizes",
                )
            )
    for gauge in (14, 12, 10, 8, 6):
        core = Core("live", gauge, True, "stranded")
        earth = Core("protective", max(gauge, 10), True, "stranded")
        found.append(
            Cable(f"{gauge} AWG singles", "us", "singles", 2, core, earth, 90.0, "nm-sizes")
        )
    for gauge in (18, 16, 14, 12):
        core = Core("live", gauge, True, "flexible")
        earth = Core("protective", gauge, True, "flexible")
        found.append(Cable(f"{gauge}/3 cord", "us", "flex", 2, core, earth, 60.0, "nm-sizes"))
    return found


def _au() -> list[Cable]:
    return [
        _metric(
            f"{size:g}/{earth:g} flat TPS",
            "au",
            "flat",
            2,
            size,
            earth,
            "harmonised-sizes",
            strand="stranded",
        )
        for size, earth in ((1.0, 1.0), (1.5, 1.5), (2.5, 2.5), (4.0, 2.5), (6.0, 2.5), (10.0, 4.0))
    ]


CABLES = MappingProxyType({cable.name: cable for cable in _uk() + _eu() + _us() + _au()})
"""Every cable type by its trade name."""

_G = re.compile(r"(\d)\s*g\s*(\d+(?:\.\d+)?)")
_NM = re.compile(r"(\d+)[/-](\d)(?: ?(?:awg|nm(?:-?b)?|with ground|w/ ?g(?:round)?)\b)*")
_SIZES = re.compile(r"(\d+(?:\.\d+)?)(?: ?/ ?(\d+(?:\.\d+)?))? ?(?:mm²|mm2|mm|sq ?mm)? ?(.*)")
_WORDS = (
    (
        re.compile(
            r"(?:flat )?(?:twin|two-core|2-?core|2c) ?(?:and|&|\+|n) ?(?:earth|cpc|e)"
            r"|t ?[&+] ?e"
        ),
        "twin and earth",
    ),
    (
        re.compile(r"(?:flat )?(?:three|3)[ -]?c(?:ore)?(?: ?(?:and|&|\+) ?)(?:earth|cpc|e)"),
        "three-core and earth",
    ),
    (re.compile(r"singles?(?: in conduit| in trunking)?|conduit"), "singles"),
    (re.compile(r"(?:two|2)[ -]?c(?:ore)? (?:armoured|swa)"), "two-core armoured"),
    (re.compile(r"(?:three|3)[ -]?c(?:ore)? (?:armoured|swa)|armoured|swa"), "three-core armoured"),
    (re.compile(r"(?:four|4)[ -]?c(?:ore)? (?:armoured|swa)"), "four-core armoured"),
    (re.compile(r"(?:two|2)[ -]?c(?:ore)? flex"), "two-core flex"),
    (re.compile(r"(?:(?:three|3)[ -]?c(?:ore)? )?flex"), "three-core flex"),
    (re.compile(r"(?:flat )?tps"), "flat TPS"),
)


def cable(name: str) -> Cable:
    """The cable a person means: "2.5/1.5 twin and earth", "2.5 T&E", "14/2 NM-B", "3G2.5".

    Case and spacing are forgiven, and the protective size may be left out where only one is made.
    Raises: NotInTable, listing cables of a like kind.
    """
    wanted = " ".join(name.casefold().replace("×", "x").split())
    for known, entry in CABLES.items():
        if known.casefold() == wanted:
            return entry
    found = _gauge_or_g(wanted) or _by_words(wanted)
    if found is None:
        raise NotInTable("cables", f'"{name}"', _alike(wanted))
    return found


def cables_of(region: Region) -> tuple[Cable, ...]:
    """The cable types met in one region."""
    return tuple(entry for entry in CABLES.values() if entry.region == region)


def _gauge_or_g(wanted: str) -> Cable | None:
    if match := _G.fullmatch(wanted):
        return CABLES.get(f"{match[1]}G{float(match[2]):g}")
    if match := _NM.fullmatch(wanted):
        return CABLES.get(f"{match[1]}/{match[2]} NM-B")
    return None


def _by_words(wanted: str) -> Cable | None:
    sizes = _SIZES.fullmatch(wanted)
    if not sizes:
        return None
    kind = next((kind for words, kind in _WORDS if words.fullmatch(sizes[3].strip())), None)
    start = f"{float(sizes[1]):g}"
    for entry in CABLES.values():
        head, _, tail = entry.name.partition(" ")
        first, _, second = head.partition("/")
        given = sizes[2] is None or (second and float(second) == float(sizes[2]))
        if tail == kind and first == start and given:
            return entry
    return None


def _alike(wanted: str) -> tuple[str, ...]:
    head = re.split(r"[ /]", wanted)[0]
    like = tuple(known for known in CABLES if known.casefold().startswith(head) and head)
    return like or (
        "2.5/1.5 twin and earth",
        "1.5/1 three-core and earth",
        "2.5 singles",
        "2.5 two-core armoured",
        "1.5 three-core flex",
        "14/2 NM-B",
        "3G2.5",
    )
