"""The filter that comes before any gain: rules of safety as data, and what a check makes live.

Each rule looks at one check on the site as it stands and gives a reason to refuse it, or nothing.
What the check itself puts on metalwork is not a rule of thumb: it is solved, under every cause
still believed (``hazards``). Cautions are what must be said beside a check that is allowed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from halfsplit.checks.check import Check, Refused
from halfsplit.checks.costs import KINDS
from halfsplit.checks.site import BELIEVED, Site
from halfsplit.checks.words import parts_neutral, regional
from halfsplit.instruments.catalogue import instrument

ELECTRONIC = ("", "electronics", "led", "fluorescent", "surge protector")


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: its number in the order of the rules of safety, its reason, and its test.

    ``refuses`` gives the reason in words for this check on this site, "" where it may be done.
    """

    number: int
    says: str
    refuses: Callable[[Check, Site], str]


def live(check: Check) -> bool:
    """Whether somebody works on a live circuit to do it."""
    return "live" in KINDS[check.kind].needs


def bare(check: Check) -> bool:
    """Whether live terminals are bare before whoever does it."""
    return live(check) and check.access in ("cover", "board")


def _answered(check: Check, site: Site) -> str:
    if site.alarm and live(check):
        return (
            "heat, smell, water or a shock was reported: isolate, keep people away and prove "
            "dead before anything is measured live"
        )
    if check.kind == "elsewhere" and site.diagnosis.alarm:
        return "heat, smell, water or a shock was reported: no appliance is tried anywhere"
    return ""


def _dead_first(check: Check, site: Site) -> str:
    reading = check.reading
    if reading is not None and reading.kind in ("ohms", "megohms") and not check.dead:
        return "continuity and insulation are measured on circuits proved dead"
    return ""


def _earth_proved(check: Check, site: Site) -> str:
    """No load from a line to a protective conductor that nobody has measured."""
    reading = check.reading
    if reading is None or check.dead or reading.kind == "works":
        return ""
    loads = bool(reading.instrument) and instrument(reading.instrument).loads
    if not loads and reading.kind not in ("loop", "ramp"):
        return ""
    if "E" not in check.what.split("-") or check.where in site.earthed:
        return ""
    said = regional("protective conductor", site.region)
    return (
        f"it puts a load onto the {said} at {check.where}, whose continuity has not been proved "
        "dead: frames beyond a break would become live"
    )


def _after_trip(check: Check, site: Site) -> str:
    if live(check) and check.circuit in site.tripped:
        return (
            f"a device of {check.circuit} parted at once: it is not closed again before dead tests "
            "have passed"
        )
    return ""


def _insulation(check: Check, site: Site) -> str:
    reading = check.reading
    if reading is None or reading.kind != "megohms":
        return ""
    if check.kind == "joined insulation":
        return "" if reading.instrument == "insulation 250" else "equipment is in: 250 V only"
    if "all" not in check.conditions.unplugged:
        return "insulation is measured with everything unplugged"
    ends = set(check.what.split("-"))
    if "E" in ends:
        return ""
    fixed = [
        f"the {load.name} at {point.name}"
        for point in site.points.values()
        for load in point.loads
        if not load.plugged and load.kind in ELECTRONIC
        if site.circuits[point.name].name == check.circuit
    ]
    if fixed:
        return f"{fixed[0]} is fixed electronics across line and neutral: it would be damaged"
    return ""


def _sealed(check: Check, site: Site) -> str:
    opens = check.access in ("cover", "board") or check.kind == "open"
    if opens and (site.behind(check.where) == "sealed" or check.where in ("origin", "source")):
        return "sealed equipment is the network operator's"
    return ""


HANDS_ON = ("open", "remake", "renew")
LOST_FROM = 0.05  # belief in a lost supply neutral from which nothing touches the earth terminal


def _lost_neutral(check: Check, site: Site) -> str:
    """A link, hands on a protective conductor, or a dead test of it, where it may stand live all
    the same."""
    if site.lost_supply < LOST_FROM:
        return ""
    may = (
        "the supply's neutral or combined conductor may be lost: the earth terminal may stand "
        "live with the main switch off, so"
    )
    if check.conditions.links:
        return f"{may} nothing is linked"
    ends = check.what.replace("+", "-").split("-")
    if check.dead and (check.reading is not None or check.kind == "tone") and "E" in ends:
        return f"{may} nothing is measured on it as if it were dead"
    if check.kind in HANDS_ON:
        return f"{may} no conductor is handled before it is measured to an independent earth"
    return ""


RULES: tuple[Rule, ...] = (
    Rule(1, "Heat, smoke, water or shock: isolate first, people away.", _answered),
    Rule(3, "No continuity or insulation test until proved dead.", _dead_first),
    Rule(5, "No load between line and a protective conductor that may be open.", _earth_proved),
    Rule(7, "Lost supply neutral: keep off the earth terminal and sealed equipment.", _sealed),
    Rule(
        7,
        "Lost supply neutral: nothing is linked or handled, and the earth terminal is not taken as "
        "dead.",
        _lost_neutral,
    ),
    Rule(8, "After an instantaneous trip no reclosing before dead tests.", _after_trip),
    Rule(9, "No insulation test across connected electronics.", _insulation),
)


def refusal(check: Check, site: Site) -> Refused | None:
    """The first rule that refuses a check, None where none does."""
    for rule in RULES:
        reason = rule.refuses(check, site)
        if reason:
            return Refused(check, rule.number, reason)
    return None


def sift(checks: tuple[Check, ...], site: Site) -> tuple[tuple[Check, ...], tuple[Refused, ...]]:
    """(checks allowed by the rules, those refused with reasons)."""
    allowed, refused = [], []
    for check in checks:
        found = refusal(check, site)
        if found is None:
            allowed.append(check)
        else:
            refused.append(found)
    return tuple(allowed), tuple(refused)


def cautions(check: Check, site: Site) -> tuple[str, ...]:
    """What must be said beside a check before it is done; the usual ones among them."""
    said: list[str] = []
    if site.alarm:
        said.append(
            "Isolate first and keep people away: heat, smell, water or a shock was reported."
        )
    if site.lost_supply >= BELIEVED:
        said.append(
            "The supply's neutral may be lost: with the main switch off the earth terminal and "
            "metalwork may still be live. Measure to an independent earth and call the network "
            "operator."
        )
    if check.dead or check.kind == "open":
        said.append(
            "Dead means proved dead: every pair, and each conductor to a proved earth, with a "
            "two-pole detector proved before and after."
        )
    if live(check):
        said.append(
            "Live: only if you are permitted to and it is justified; fused probes with short tips, "
            "one hand where you can."
        )
    if bare(check):
        said.append(
            "Opened equipment is live inside; this is offered because nothing else that is allowed "
            "settles as much: cover what you do not measure, stand dry, have nobody near."
        )
    if parts_neutral(check, site):
        said.append(
            "A neutral is parted: isolate every circuit that could share it, clamp 0 A, prove it "
            "dead; it can bite with its own breaker off."
        )
    if check.conditions.links or check.conditions.lifted:
        said.append(
            "Every link and lifted core is an open item: nothing is energised until it is back."
        )
    if check.reading is not None and check.reading.kind == "megohms":
        said.append("Discharge the conductors afterwards; nobody at the outlets during the test.")
    if check.dead and check.access == "board":
        said.append(
            "What feeds the main switch stays live with it off: nothing there is touched or tugged."
        )
    if check.kind == "thermal":
        said.append("The load heats a tired joint: stay by, and switch off at any smell or smoke.")
    if check.kind in ("volts under load", "drop"):
        said.append("The load heats a tired joint: leave it on for a minute at most, and stay by.")
    if check.conditions.added or check.kind == "loaded volts":
        said.append(
            "A load beyond an open neutral brings that neutral to line voltage: nobody touches it "
            "meanwhile."
        )
    if check.dead and not site.sources:
        said.append(
            "Ask about other sources (solar, battery, generator) before trusting isolation."
        )
    elif check.dead:
        said.append(
            f"Other sources here: {', '.join(site.sources)}. Isolate each at its own point."
        )
    return tuple(regional(text, site.region) for text in said)
