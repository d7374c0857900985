"""What each kind of check costs: minutes, disturbance, what must be so first, which tools.

One table. All minutes are judgement: an electrician at work in a furnished building. What lasts
(isolated, a cover off, a lead laid out) is paid once: ``State`` remembers it.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from halfsplit.checks.check import Check

JUDGEMENT = "judgement"


@dataclass(frozen=True, slots=True)
class Cost:
    """One kind of check.

    ``minutes`` at its place, everything else being ready. ``disturbs`` 0 (nothing) to 1 (what is
    touched may itself be mended or broken). ``access``: plug, cover, board, none. ``needs``: dead,
    live, lead, link, lifted, unplugged. ``hazards`` are words for what can hurt. ``tools``: any one
    of these instruments. ``wariness`` are minutes added in the comparison for the risk of live
    work: dead comes before live, and a plug before an opened accessory, at equal worth.
    """

    kind: str
    title: str
    minutes: float
    disturbs: float
    access: str
    needs: tuple[str, ...]
    hazards: tuple[str, ...]
    tools: tuple[str, ...]
    wariness: float
    reason: str = JUDGEMENT

    @property
    def more(self) -> float:
        """Minutes that count beside those it takes: entering it, its danger, what it disturbs."""
        return ENTER + self.wariness + DISTURBED * self.disturbs


METERS = ("multimeter", "two-pole", "moving coil")
OHMMETERS = ("continuity", "meter ohms")
INSULATION = ("insulation 500", "insulation 250")
_LIVE = ("live parts behind the shutters",)
_OPEN = ("bare live terminals within reach", "arc when a probe slips")

_ROWS = (
    Cost("question", "a question, or a glance", 0.5, 0.0, "none", (), (), (), 0.0),
    Cost("ask", "a question to the people there", 0.5, 0.0, "none", (), (), (), 0.0),
    Cost("devices", "look at every device and switch", 1.0, 0.0, "none", (), (), (), 0.0),
    Cost("meter", "prove the instrument on a known source", 1.0, 0.0, "none", (), (), (), 0.2),
    Cost("elsewhere", "try the appliance elsewhere", 3.0, 0.1, "plug", (), (), (), 0.2),
    Cost("appliance", "the appliance measured at its plug", 3.0, 0.1, "plug", (), (),
         (*INSULATION, *OHMMETERS), 0.0),
    Cost("volts", "volts at a plug", 0.7, 0.0, "plug", ("live",), _LIVE, METERS, 0.4),
    Cost("loaded volts", "volts under the tester's own load", 0.8, 0.0, "plug", ("live",),
         (*_LIVE, "livens what hangs free"), ("low impedance", "two-pole load"), 0.6),
    Cost("volts under load", "volts at a plug with a heater on beyond", 1.5, 0.0, "plug",
         ("live",), (*_LIVE, "a tired joint heats"), METERS, 0.8),
    Cost("drop", "millivolts across a joint under load", 3.0, 0.3, "cover", ("live",),
         (*_OPEN, "a tired joint heats"), ("millivolts",), 7.0),
    Cost("open volts", "volts behind an opened cover", 1.5, 0.2, "cover", ("live",), _OPEN, METERS,
         6.0),
    Cost("board volts", "volts at the board", 1.5, 0.1, "board", ("live",), _OPEN, METERS, 3.0),
    Cost("earth volts", "volts to an independent earth", 4.0, 0.0, "plug", ("live",),
         (*_LIVE, "the earth terminal may bite"), METERS, 0.4),
    Cost("lamps", "a plug-in tester", 0.4, 0.0, "plug", ("live",), ("may mislead",),
         ("plug tester",), 0.2),
    Cost("loop", "live loop test", 1.5, 0.0, "plug", ("live",),
         (*_LIVE, "full voltage on frames if the earth is open"), ("loop low", "loop"), 0.8),
    Cost("clamp", "clamp at the board", 2.0, 0.0, "board", ("live",), _OPEN,
         ("leakage clamp", "clamp"), 2.0),
    Cost("leg clamp", "clamp on one leg of a ring", 2.0, 0.0, "board", ("live",), _OPEN,
         ("leakage clamp", "clamp"), 2.0),
    Cost("ramp", "ramp of a residual device", 2.0, 0.0, "plug", ("live",),
         (*_LIVE, "full voltage on frames if the earth is open"), ("ramp",), 0.8),
    Cost("thermal", "a picture of heat, covers closed", 1.0, 0.0, "none", ("live",), (),
         ("thermal camera",), 0.2),
    Cost("holds", "does the device hold", 2.0, 0.1, "none", ("live",), ("closes on a fault",), (),
         1.5),
    Cost("lead", "continuity with a wandering lead", 2.0, 0.1, "plug", ("dead", "lead"), (),
         OHMMETERS, 0.0),
    Cost("link", "continuity with a link at the board", 1.5, 0.1, "plug",
         ("dead", "link", "lifted"), (), OHMMETERS, 0.0),
    Cost("ring", "ring ends", 4.0, 0.3, "board", ("dead", "lifted"), (), OHMMETERS, 0.0),
    Cost("leg", "one leg of a split ring", 2.0, 0.2, "plug", ("dead", "lifted"), (), OHMMETERS,
         0.0),
    Cost("parted", "the neutral lifted from its bar", 3.0, 0.3, "board", ("dead", "lifted"),
         ("a shared neutral bites with its breaker off",), OHMMETERS, 0.0),
    Cost("tone", "a tone sent along and traced, opened where it ends", 10.0, 0.3, "board",
         ("dead",), (), ("tone tracer",), 0.0),
    Cost("joined insulation", "insulation, line and neutral joined, to earth", 2.0, 0.1, "board",
         ("dead", "link"), ("the test voltage stays on cables until discharged",),
         ("insulation 250",), 0.0),
    Cost("insulation", "insulation", 2.0, 0.1, "board", ("dead", "unplugged"),
         ("the test voltage stays on cables until discharged",), INSULATION, 0.0),
    Cost("between", "ohms between two conductors of a circuit", 1.5, 0.1, "board",
         ("dead", "unplugged"), (), OHMMETERS, 0.0),
    Cost("split", "insulation beyond a core parted on the way", 3.0, 0.4, "cover",
         ("dead", "unplugged", "lifted"),
         ("the test voltage stays on cables until discharged",), (*INSULATION, *OHMMETERS), 0.0),
    Cost("joint", "continuity across a joint", 2.0, 0.4, "cover", ("dead",), (), OHMMETERS, 0.0),
    Cost("open", "open it, look and tug", 4.0, 0.6, "cover", ("dead",), (), (), 0.0),
    Cost("remake", "every joint of a place made anew", 20.0, 0.8, "cover", ("dead",), (), (), 0.0),
    Cost("renew", "a cable bridged or drawn anew", 45.0, 0.8, "cover", ("dead",), (), (), 0.0),
    Cost("call", "the network operator called", 10.0, 0.0, "none", (), (), (), 0.0),
    Cost("isolate", "isolate, keep people away, prove dead", 5.0, 0.0, "board", (), _OPEN,
         ("two-pole",), 0.0),
)  # fmt: skip

KINDS: MappingProxyType[str, Cost] = MappingProxyType({row.kind: row for row in _ROWS})

DISTURBED = (
    2.0  # minutes that handling every joint of a place counts for: what is handled may break,
)
# or heal for a while. Judgement
ENTER = 0.8  # minutes to read a check, enter its figure and think: taken by each, so compared

# What lasts, in minutes: paid when the state changes. All judgement.
WALK = 1.0  # to another place
ISOLATE = 5.0  # switch off, lock, notice, prove dead
ENERGISE = 2.0  # covers on, links out, switch on
BOARD_COVER = 3.0
COVER = 3.0
FLOOR = 20.0
LOFT = 8.0
UNPLUG = 2.0
LEAD = 2.0  # lay out the wandering lead, null it
LINK = 3.0  # lift the line at its device, make the link
LIFT_ENDS = 4.0  # several cores
LIFT_ONE = 2.0
LAMP = 1.0  # put a lamp in somewhere
WARM_UP = 10.0  # the usual load left on, for a picture of heat
REPLUG = 1.0

# Where nothing that is offered finds it: the circuit taken apart stretch by stretch; nothing wrong
# after all, and told so. Both judgement.
LOST = 120.0
CONTENT = 5.0

BEHIND = MappingProxyType({"cover": COVER, "floor": FLOOR, "loft": LOFT, "plug": COVER})


@dataclass(frozen=True, slots=True)
class State:
    """What has been done already and lasts.

    ``at`` is where one stands ("" the board), ``isolated`` whether proved dead and still off,
    ``unplugged`` whether everything is out, ``open`` places with their cover off, ``lead`` laid
    out, ``link`` what is linked or lifted at the board, ``lamp`` what was put in and where,
    ``warm`` whether the usual load has been on for a while, ``looked`` ids of looks that found
    nothing.
    """

    at: str = ""
    isolated: bool = False
    unplugged: bool = False
    board_open: bool = False
    open: frozenset[str] = frozenset()
    lead: bool = False
    link: tuple[object, ...] = ()
    lamp: tuple[object, ...] = ()
    warm: bool = False
    looked: frozenset[str] = frozenset()

    def after(self, check: Check) -> State:
        """The state once a check has been done."""
        needs, conditions = KINDS[check.kind].needs, check.conditions
        opened = self.open | {check.where} if check.access == "cover" else self.open
        return State(
            check.where,
            check.dead or check.kind == "isolate" or (self.isolated and not needs),
            "all" in conditions.unplugged if _unplugs(check) else self.unplugged,
            self.board_open or check.access == "board" or check.dead,
            frozenset() if "live" in needs else opened,
            check.kind == "lead" or self.lead,
            _parted(check) if check.dead else () if needs else self.link,
            conditions.added if needs else self.lamp,
            check.kind == "thermal" or (self.warm and "dead" not in needs),
            self.looked,
        )

    def holds(self) -> set[Token]:
        """What lasts, as tokens: what a check needs of these it need not pay for."""
        held: set[Token] = {("at", self.at), ("parted", self.link), ("added", self.lamp)}
        held |= {("open", place) for place in self.open}
        held.add("isolated" if self.isolated else "live")
        held.add("out" if self.unplugged else "in")
        if not (self.isolated and self.open):
            held.add("shut")
        if self.board_open:
            held.add("board")
        if self.lead:
            held.add("lead")
        if self.warm:
            held.add("warm")
        return held


Token = str | tuple[str, object]


def _parted(check: Check) -> tuple[object, ...]:
    """What is linked or lifted for a check."""
    return (*check.conditions.links, *check.conditions.lifted)


def _unplugs(check: Check) -> bool:
    """Whether it matters to the check what is plugged in; a dead one may want it all out."""
    if not KINDS[check.kind].needs or check.kind == "joint":
        return False
    return not check.dead or "all" in check.conditions.unplugged


def lasting(check: Check, behind: str = "cover") -> dict[Token, float]:
    """What must be so for a check and lasts, each with the minutes it takes where it is not so.

    ``behind`` is what must be opened to reach the terminals: cover, floor or loft.
    """
    cost, conditions = KINDS[check.kind], check.conditions
    if cost.access == "none" and not cost.needs:
        return {("at", ""): WALK} if check.kind == "devices" else {}
    wants: dict[Token, float] = {("at", check.where): WALK}
    if "dead" in cost.needs:
        wants["isolated"] = ISOLATE
    if "live" in cost.needs:
        wants |= {"live": ENERGISE, "shut": COVER}
    if "lead" in cost.needs:
        wants["lead"] = LEAD
    if check.kind == "thermal":
        wants["warm"] = WARM_UP
    if _unplugs(check):
        wants |= {"out": UNPLUG} if "all" in conditions.unplugged else {"in": REPLUG}
    if conditions.added:
        wants["added", conditions.added] = LAMP
    if check.dead and _parted(check):
        several = LIFT_ENDS if len(conditions.lifted) > 1 else LIFT_ONE
        wants["parted", _parted(check)] = several if conditions.lifted else LINK
    if check.access == "board":
        wants["board"] = BOARD_COVER
    if check.access == "cover":
        wants["open", check.where] = BEHIND.get(behind, COVER)
    return wants


def minutes(check: Check, state: State, behind: str = "cover") -> float:
    """Minutes for a check from where one stands, the change of conditions included."""
    held = state.holds()
    more = (price for token, price in lasting(check, behind).items() if token not in held)
    return KINDS[check.kind].minutes + sum(more)
