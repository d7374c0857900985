"""How likely each kind of fault is before any reading: one table, each row with its reason.

A weight is relative to "nothing wrong here" = 1 for the whole installation, given that somebody
has called an electrician. No finesse: published frequencies are of fires, inspections and lost
neutrals, not of call-outs, so most rows are judgement held to the order of magnitude that those
allow, and rankings should survive every row three times off.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from halfsplit.errors import NotInTable
from halfsplit.wiring.history import all_words

# Being called multiplies the odds of any one fault by about this, once: a second, unrelated
# fault has its weight divided by it. Judgement: one call-out in ten or so has two faults.
CALLED = 100.0

Group = Literal[
    "joint", "core", "contact", "insulation", "crossing", "supply", "device", "appliance", "reading"
]


@dataclass(frozen=True, slots=True)
class Rate:
    """One row: ``weight`` per ``per``; ``group`` says which history words raise it.

    ``source`` is the published source, or "judgement".
    """

    id: str
    weight: float
    per: str
    group: Group
    reason: str
    source: str = "judgement"

    @property
    def words(self) -> str:
        """The reason and its source as one sentence for the manual."""
        return f"{self.reason} ({self.source})."


_FIRES_US = (
    "USFA vol.19 no.8: 43 % other electrical failure, 23 % unspecified arc, 11 % worn insulation"
)
_APPLIANCES = (
    "copy of a UK safety-charity statistics page: 71 % of electrical fires from appliances"
)
_PEN = "Engineering & Technology magazine, Nov 2022: 474 broken combined conductors in a year"
_RCD = "safety charity press release on 607 residual-current devices: 2.1 to 3.8 % failed"
_RANK = "home-inspection blog top ten: miswired outlets second"
_HOUSING = "Housing for Health survey data A1.4: 58 % of 7639 houses had a failed power point"
_WIRING = "Parliamentary answer 217712: wiring, cabling and plugs 8.9 % of dwelling fires"

_ROWS: tuple[Rate, ...] = (
    # joints and contacts
    Rate("open joint", 0.020, "line or neutral joint", "joint",
         "most circuit faults are where a core meets a terminal"),
    Rate("loose joint", 0.028, "line or neutral joint", "joint",
         "load current works a joint loose, so it warms and loosens more", _FIRES_US),
    Rate("contact open", 0.006, "line or neutral contact of a point", "contact",
         "plug contacts wear with use but seldom part", _HOUSING),
    Rate("worn contact", 0.012, "line or neutral contact of a point", "contact",
         "plug contacts wear and scorch with use", _HOUSING),
    Rate("worn alike", 0.006, "circuit with several like accessories", "contact",
         "accessories of one make and age wear and tarnish together"),
    Rate("loose flex", 0.008, "live conductor of a cord or fixed connection", "appliance",
         "lampholders and plugs burn at their contacts", _APPLIANCES),
    Rate("open flex", 0.010, "conductor of a flexible cord", "appliance",
         "flexible cords break at the plug and at the entry to the appliance", _APPLIANCES),
    # cables
    Rate("broken core", 0.0010, "metre of core", "core",
         "a core breaks by nails, drills, rodents and sharp bends", _WIRING),
    Rate("damaged core", 0.0004, "metre of core", "core",
         "a core nicked when stripped, or partly cut through, is rarer than a break"),
    Rate("short in cable", 0.0008, "metre of run and pair", "insulation",
         "insulation cut or chafed through", _FIRES_US),
    Rate("short at point", 0.006, "point and pair", "insulation",
         "cores trapped by a cover, stray strands, a failed accessory"),
    Rate("leak in cable", 0.0010, "metre of run and pair", "insulation",
         "damp or aged insulation leaks before it breaks down", _FIRES_US),
    Rate("leak at point", 0.012, "point and pair", "insulation",
         "water collects in boxes and fittings"),
    Rate("damp point", 0.003, "point", "insulation",
         "rain finds its way into outdoor boxes, and dries out before anybody measures"),
    Rate("damp cable", 0.0004, "metre of run said to be wet or outdoors", "insulation",
         "water stands in ducts and glands, and drains away again"),
    # several conductors at one place
    Rate("cable off", 0.0020, "end of a run", "joint",
         "a cable pulled, or never pushed home, takes every core with it"),
    Rate("cable cut", 0.0003, "metre of run", "core",
         "a spade, saw or drill goes through the whole cable less often than through one core",
         _WIRING),
    Rate("accessory off", 0.0020, "point", "joint",
         "left hanging by decorators, or never connected"),
    Rate("ring conductor off", 0.0030, "conductor of a ring at one terminal", "joint",
         "the two cores of a ring share a screw, and come off together"),
    # crossings and work
    Rate("crossed at run end", 0.0040, "pair at one end of a run", "crossing",
         "made when the run was connected, found when first noticed", _RANK),
    Rate("crossed front", 0.0080, "pair at one accessory", "crossing",
         "the commonest wiring mistake at an accessory", _RANK),
    Rate("crossed between cables", 0.0020, "pair of cores of two cables", "crossing",
         "look-alike cables in one box are confused when a fitting is changed"),
    Rate("switch terminals mixed", 0.004, "two-way switch or pair of them", "crossing",
         "the common is marked differently from one make of switch to the next"),
    Rate("crossed flex", 0.0010, "pair at one plug", "crossing",
         "a plug wired wrongly by its owner"),
    Rate("strapped earth", 0.0040, "outlet", "crossing",
         "done where no protective conductor arrives, to please a plug tester"),
    Rate("switched neutral", 0.012, "switch or single-pole device at a point", "crossing",
         "colours of switch cores mislead whoever changed the fitting"),
    Rate("light on permanent line", 0.006, "switched light", "crossing",
         "permanent and switched line are taken for each other when a fitting is changed"),
    Rate("lamps in series", 0.0015, "string of lights", "crossing",
         "a light added without following the line and neutral"),
    # between circuits
    Rate("borrowed neutral", 0.0020, "point and other circuit", "crossing",
         "landing lights often borrow the nearest neutral"),
    Rate("neutrals joined", 0.0010, "point and other circuit", "crossing",
         "two circuits meet in one box"),
    Rate("lines joined", 0.0008, "point and other circuit", "crossing",
         "two circuits meet in one box, or two gangs share a feed by mistake"),
    Rate("neutral on wrong bar", 0.020, "circuit", "crossing",
         "made when a board is changed or a circuit moved"),
    Rate("neutrals exchanged", 0.004, "pair of circuits with neutral terminals apart", "crossing",
         "neutrals look alike at the bar when a board is changed"),
    Rate("lines exchanged", 0.006, "pair of circuits", "crossing",
         "made when a board is changed; labels then tell lies"),
    Rate("neutral on a line", 0.0015, "circuit and other line", "crossing",
         "a white core taken for a line, or two wires of a double-pole device"),
    Rate("on the high leg", 0.010, "single-line circuit of a high-leg supply", "crossing",
         "every third way of such a board is the high leg, and looks like the others"),
    Rate("backfeed", 0.03, "other source said to be off", "supply",
         "interlocks are left out, and a lead with two plugs is quickly made"),
    Rate("second feed", 0.0010, "circuit", "crossing",
         "an outbuilding or a former shop kept its first supply"),
    Rate("same leg", 0.08, "shared-neutral circuit", "crossing",
         "found often enough for one estimate of a tenth of boards",
         "electrician's blog: about 10 % of panels, one estimate"),
    Rate("neutral-earth at board", 0.02, "board or bar", "crossing",
         "a link left in at a sub-board, or a neutral on the earth bar"),
    # rings
    Rate("ring joined across", 0.0004, "pair of ring points", "crossing",
         "an added outlet fed from two places of the ring"),
    Rate("rings exchanged", 0.010, "pair of ring ends of two rings", "crossing",
         "ring ends mixed when a board was changed"),
    Rate("rings joined", 0.0002, "pair of points of two rings", "crossing",
         "an outlet in a party wall fed from both sides"),
    # lighting
    Rate("switch bridged", 0.010, "switch contact", "device",
         "welded contacts, or line and switched line in one terminal"),
    Rate("switch stuck open", 0.012, "switch contact", "device",
         "worn or burnt contacts"),
    Rate("switch left", 0.10, "switch", "reading",
         "left in another position than was said"),
    Rate("link left in", 0.02, "half-switched outlet", "crossing",
         "the link between the halves has to be broken off by hand", _RANK),
    # devices
    Rate("device off", 0.25, "device", "device",
         "found tripped or switched off more often than anything else is found"),
    Rate("outlet tripped", 0.60, "residual-current outlet", "device",
         "a tripped outlet in another room is a commonplace of dead outlets"),
    Rate("hidden device tripped", 0.004, "run", "device",
         "a residual-current outlet in another room feeds more than anybody remembers"),
    Rate("pole open", 0.010, "pole", "device",
         "a device that looks closed but does not make"),
    Rate("pole burnt", 0.010, "pole", "device",
         "a hot pole or a screw not tightened at the device"),
    Rate("will not trip", 0.030, "residual-current device", "device",
         "in service some do not operate; regular testing lowers it", _RCD),
    # appliances
    Rate("element to frame", 0.15, "heating appliance", "appliance",
         "sheathed elements take in moisture and crack", _APPLIANCES),
    Rate("appliance leak", 0.05, "appliance without an earthed frame mentioned", "appliance",
         "frames are seldom mentioned, and damp or dirt leaks without one", _APPLIANCES),
    Rate("line to frame", 0.020, "appliance with an earthed frame", "appliance",
         "a chafed or pinched core inside", _APPLIANCES),
    Rate("neutral to frame", 0.020, "appliance with an earthed frame", "appliance",
         "a chafed or pinched core inside; nothing shows until a residual device sees it",
         _APPLIANCES),
    Rate("big filters", 0.03, "electronic load with an earthed frame", "appliance",
         "filter capacitors add up on a shared residual-current device"),
    Rate("appliance short", 0.03, "appliance", "appliance",
         "a failed rectifier, capacitor or winding", _APPLIANCES),
    Rate("load off", 0.08, "load", "reading",
         "unplugged, switched off at itself, or its lamp or element gone"),
    Rate("load stuck", 0.010, "load", "appliance",
         "a stuck contactor or thermostat, or a motor held fast"),
    Rate("forgotten load", 0.05, "outlet", "reading",
         "chargers, clocks and bells are plugged in and not mentioned"),
    # supply
    Rate("supply line lost", 0.10, "line", "supply",
         "a network interruption or a blown service fuse"),
    Rate("supply line poor", 0.020, "line", "supply",
         "a corroded service joint"),
    Rate("supply neutral lost", 0.030, "neutral", "supply",
         "rarer than a lost line, and far more damaging"),
    Rate("supply neutral poor", 0.040, "neutral", "supply",
         "weathered service splices loosen before they part"),
    Rate("combined conductor lost", 0.025, "combined conductor", "supply",
         "reported some hundreds of times a year in one country, each touching many homes", _PEN),
    Rate("combined conductor poor", 0.025, "combined conductor", "supply",
         "a joint corrodes before it parts", _PEN),
    Rate("combined conductor lost upstream", 0.015, "combined conductor", "supply",
         "a break at a street joint takes several houses with it", _PEN),
    Rate("supply short", 0.010, "pair of supply conductors", "supply",
         "water in a street joint or a spade; the network's own fuse then goes"),
    Rate("supply cable damaged", 0.004, "line of a supply, with its neutral", "supply",
         "a service cable torn, dug into or burnt parts its neutral and lets a line touch what is "
         "left of it"),
    Rate("supply earth lost", 0.030, "protective conductor", "supply",
         "a cable sheath corroded or a clamp disturbed goes unnoticed for years"),
    Rate("supply earth poor", 0.020, "protective conductor", "supply",
         "a corroded clamp or sheath raises it before it parts"),
    Rate("electrode poor", 0.08, "electrode", "supply",
         "rods corrode, soil dries, clamps are disturbed"),
    Rate("link missing", 0.010, "link", "supply",
         "never made, or left out after work at the origin"),
    Rate("bond open", 0.010, "bond", "joint",
         "clamps corrode or are left off after other trades' work"),
    Rate("stray path", 0.05, "path of unknown presence", "joint",
         "pipes, screens and structural metal often join what the drawing keeps apart"),
    Rate("supply voltage", 0.06, "supply", "supply",
         "outside its limits now and then; solar feed-in and long lines make it likelier"),
    Rate("primary phase lost", 0.020, "three-phase supply", "supply",
         "one of the network's high-voltage fuses blows in storms"),
    Rate("network off earth", 0.010, "supply", "supply",
         "a fault or a heavy neutral current elsewhere on the network; usually small"),
    Rate("supply reversed", 0.0002, "line and neutral of a supply", "crossing",
         "only hands exchange line and neutral at the origin, and such work is the operator's and "
         "tested; of a split supply it destroys things the moment it is made"),
    # readings
    Rate("lead open", 0.08, "set of readings", "reading",
         "a broken test lead is the commonest instrument fault"),
    Rate("fuse blown", 0.03, "set of readings", "reading",
         "a meter fuse blown on an earlier job kills its current and ohms ranges"),
    Rate("wrong range", 0.03, "set of readings", "reading",
         "a range or prefix read wrongly throughout"),
    Rate("leads not nulled", 0.06, "set of readings", "reading",
         "test leads add a few tenths of an ohm unless nulled"),
    Rate("test lamp blown", 0.03, "set of readings", "reading",
         "a test lamp that never lights proves nothing"),
)  # fmt: skip

RATES: dict[str, Rate] = {row.id: row for row in _ROWS}


def rate(id: str) -> Rate:
    """The row of that id. Raises: NotInTable, listing the rows there are."""
    try:
        return RATES[id]
    except KeyError:
        raise NotInTable("fault rates", id, RATES) from None


@dataclass(frozen=True, slots=True)
class History:
    """A plain word of ``wiring.history`` and what it multiplies, by group. All judgement."""

    word: str
    times: tuple[tuple[Group, float], ...]
    reason: str


HISTORY: tuple[History, ...] = (
    History("worked on", (("crossing", 15.0), ("joint", 4.0), ("core", 3.0), ("insulation", 3.0),
                          ("supply", 2.0)),
            "what was disturbed last is looked at first, and only hands cross conductors"),
    History("amateur", (("crossing", 8.0), ("joint", 3.0), ("insulation", 2.0)),
            "work by whoever does not do it daily is more often wrong"),
    History("always so", (("crossing", 6.0), ("joint", 0.5), ("contact", 0.5), ("core", 0.5),
                          ("insulation", 0.5), ("appliance", 0.5), ("supply", 0.5)),
            "what never was right was made wrong; it did not wear out or break"),
    History("worked before", (("crossing", 0.2),),
            "what worked and was not touched since is not crossed; work since outweighs this"),
    History("remade", (("joint", 0.2), ("crossing", 3.0)),
            "whoever remakes a joint leaves a good one, or moves the cores"),
    History("tested", (("device", 4.0), ("joint", 2.0), ("crossing", 2.0)),
            "a device left off or tripped, a core left lifted, a link left in"),
    History("neglected", (("device", 2.0), ("joint", 1.5), ("insulation", 1.5)),
            "nobody looked, tightened or pressed a test button"),
    History("dug", (("core", 6.0), ("insulation", 5.0), ("supply", 4.0)),
            "a spade finds what is buried, cables and earthing alike"),
    History("water", (("insulation", 6.0), ("joint", 2.0), ("appliance", 2.0)),
            "water leaks current and corrodes joints"),
    History("rodents", (("core", 8.0), ("insulation", 8.0)), "gnawed cable"),
    History("old", (("joint", 2.0), ("insulation", 2.5), ("contact", 2.0), ("device", 2.0)),
            "insulation hardens, contacts tarnish and springs tire"),
    History("outdoor", (("insulation", 4.0), ("joint", 1.5)), "weather, spades, and damp boxes"),
    History("aluminium", (("joint", 4.0),), "it creeps and oxidises under a screw"),
    History("storm", (("supply", 5.0), ("device", 2.0), ("appliance", 2.0)),
            "lines come down, surges pass"),
    History("worn", (("contact", 5.0),), "contacts that have been pulled many times"),
    History("loose", (("joint", 4.0), ("contact", 2.0)), "somebody has seen or felt it move"),
    History("overloaded", (("joint", 4.0), ("contact", 3.0), ("device", 2.0)),
            "heat loosens what carries it"),
    History("demand grown", (("supply", 3.0), ("joint", 1.5)),
            "lines and joints carry more than they were made for"),
)  # fmt: skip

HANDS = frozenset({"worked on", "amateur"})  # words that say somebody had their hands there
LEAST, MOST = 0.05, 20.0
TRIED = 0.05  # what is left of a part's rate once it was renewed without effect: judgement


def meanings(texts: Iterable[str]) -> tuple[History, ...]:
    """The history rows that free words name, each once, in table order."""
    return _named(tuple(texts))


@lru_cache(maxsize=1024)
def _named(texts: tuple[str, ...]) -> tuple[History, ...]:
    said = all_words(texts)
    return tuple(row for row in HISTORY if row.word in said)


def multiplier(group: Group, here: Iterable[str], everywhere: Iterable[str] = ()) -> float:
    """What history makes of a rate: words about the place count fully, about the house by root.

    There is one supply, so what befell it is not thinned by the house's size; works somewhere are.
    That it worked before says nothing once somebody has worked on it. Returns 0.05 to 20.
    """
    local = meanings(here)
    house = tuple(row for row in meanings(everywhere) if row not in local)
    touched = any(row.word in HANDS for row in (*local, *house))
    factor = 1.0
    for row in (*local, *house):
        if touched and row.word == "worked before":
            continue
        full = row in local or (group == "supply" and row.word not in HANDS)
        factor *= dict(row.times).get(group, 1.0) ** (1.0 if full else 0.5)
    return min(max(factor, LEAST), MOST)


# What a joint's kind, its conductor and its access make of its rate. All judgement.
JOINT_KINDS: dict[str, float] = {"screw": 1.0, "push-in": 1.5, "splice": 1.3, "aluminium": 4.0}
CARRIES_LOAD = 1.0
CARRIES_NOTHING = 0.35  # a protective conductor neither warms nor is missed
ACCESS: dict[str, float] = {"plug": 1.0, "cover": 1.0, "floor": 1.2, "loft": 1.3, "sealed": 0.6}


def conductor_factor(key: str) -> float:
    """Line, neutral and switched conductors carry the load; a protective conductor does not."""
    return CARRIES_NOTHING if key in ("E", "earth") else CARRIES_LOAD


# How likely each pair of conductors is to be crossed, against line and neutral. Judgement.
def pair_factor(a: str, b: str) -> float:
    """Crossing line and neutral is likeliest; anything with the protective conductor is rarer."""
    keys = {a, b}
    if "E" in keys:
        return 0.4 if "N" in keys else 0.25
    return 1.0 if "N" in keys else 0.7
