"""What people see: plain at width 80 when piped, in colour on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from threading import Timer

from rich.console import Console
from rich.text import Text

from halfsplit.cli.drawing import LEGEND, draw
from halfsplit.cli.palette import THEME
from halfsplit.service import Answer, Demo, Line, Prediction, Understood, in_hundred

WIDEST = 100
SHOW_PROGRESS_AFTER = 1.0  # s


def console() -> Console:
    """Standard output: the terminal's width up to 100, or 80 when piped."""
    out = Console(theme=THEME, highlight=False, markup=False, emoji=False)
    out.width = min(out.width, WIDEST)
    return out


@contextmanager
def progress(words: str) -> Iterator[None]:
    """Say on standard error that work goes on, once it has taken a second."""
    status = Console(stderr=True).status(f"{words} …")
    timer = Timer(SHOW_PROGRESS_AFTER, status.start)
    timer.daemon = True
    if sys.stderr.isatty():
        timer.start()
    try:
        yield
    finally:
        timer.cancel()
        status.stop()


def answer(found: Answer) -> None:
    """The whole answer: what comes first, the ladder, dangers, suspects, next, cautions."""
    out = console()
    if found.told.first:
        _sentence(out, found.told.first, "! ", "alarm")
        out.print()
    _warnings(out, found.warnings)
    _ladders(out, found)
    _block(out, "Danger until mended", [(s, "hurts") for s in found.told.dangers], "▒ ")
    _suspects(out, found)
    _block(out, "Why", [(s, "") for s in found.why], "- ")
    _block(out, "Take again", [(s, "bad") for s in found.told.slips], "? ")
    _next(out, found)
    _block(out, "Take care", [(s, "quiet") for s in found.cautions], "- ")


def _ladders(out: Console, found: Answer) -> None:
    used: set[str] = set()
    for ladder in found.ladders:
        if ladder.drawn or len(found.ladders) == 1:
            lines, signs = draw(ladder, found.job.region, out.width)
            used |= signs
            for line in lines:
                out.print(line, soft_wrap=True)
            out.print()
    rest = [x.circuit for x in found.ladders if not x.drawn and len(found.ladders) > 1]
    signs_used = "  ".join(f"{sign} {words}" for sign, words in LEGEND.items() if sign in used)
    out.print(Text(f"  {signs_used}", "quiet"))
    if rest:
        _sentence(out, f"Not drawn, nothing read there: {', '.join(rest)}.", "  ", "quiet")
    out.print()


def _suspects(out: Console, found: Answer) -> None:
    out.print(Text("What could explain it", "heading"))
    if found.told.unexplained:
        _sentence(out, found.told.unexplained, "  ", "bad")
    wide = max(len(line.chance) for line in found.told.suspects)
    for line in found.told.suspects:
        _suspect(out, line, wide)
    _sentence(out, f"Besides: {found.told.others}.", "  ", "quiet")
    out.print()


def _suspect(out: Console, line: Line, wide: int) -> None:
    _sentence(out, line.says, f"  {line.chance:>{wide}}  ", "")
    for chance, where in line.look:
        _sentence(out, f"{chance}: {where}", " " * (wide + 4) + "- ", "quiet")


def _next(out: Console, found: Answer) -> None:
    """The next check with what each outcome would mean, then the others in a line each."""
    stop = found.considered.stop if found.considered else ""
    checks = [p for p in found.proposals if p.outcomes]
    if not checks and not stop:
        return
    out.print(Text("Next", "heading"))
    if stop:
        _sentence(out, f"{stop[:1].upper()}{stop[1:]}.", "  ", "")
    for number, check in enumerate(checks):
        said = f"{check.what[:1].upper()}{check.what[1:]}"
        said += f", at {check.where}" if check.where else ""
        if number:
            _sentence(out, f"{said} ({check.minutes:.0f} min)", "  or ", "quiet")
            continue
        _sentence(out, f"{said}; {check.conditions}; {_minutes(check.minutes)}", "  ", "")
        wide = max(len(in_hundred(outcome.chance)) for outcome in check.outcomes)
        for outcome in check.outcomes:
            lead = f"  {in_hundred(outcome.chance):>{wide}}  "
            _sentence(out, f"{outcome.words}: {outcome.says}", lead, "")
        for step, words in enumerate(check.steps, 1):
            _sentence(out, words, f"  {step}. ", "")
    out.print()


def _minutes(minutes: float) -> str:
    return f"about {minutes:.0f} min" if minutes >= 2 else "a minute or two"


def _block(out: Console, title: str, sentences: Sequence[tuple[str, str]], bullet: str) -> None:
    if not sentences:
        return
    out.print(Text(title, "heading"))
    for words, style in sentences:
        _sentence(out, words, f"  {bullet}", style)
    out.print()


def _sentence(out: Console, words: str, lead: str, style: str) -> None:
    """A sentence with a lead, what wraps standing under its beginning."""
    room = max(24, out.width - len(lead))
    for number, part in enumerate(Text(words, style).wrap(out, room)):
        before = lead if number == 0 else " " * len(lead)
        line = Text(before, style if lead.strip() else "").append_text(part)
        line.rstrip()
        out.print(line, soft_wrap=True)


def _warnings(out: Console, warnings: Sequence[object]) -> None:
    from halfsplit.problems import Problem

    found = [w for w in warnings if isinstance(w, Problem)]
    _block(out, "About the form", [(w.sentence(), "bad") for w in found], "- ")


def prediction(found: Prediction) -> None:
    """What each reading would show."""
    out = console()
    severity = f" ({found.severity})" if found.severity else ""
    _sentence(out, f"{found.says.rstrip('.')}{severity}.", "", "heading")
    if not found.asked:
        out.print(Text("The form has no readings; every pair on a multimeter:", "quiet"))
    place = ""
    order = list(dict.fromkeys(row.told.place for row in found.rows))
    for row in sorted(found.rows, key=lambda row: order.index(row.told.place)):
        if row.told.place != place:
            place = row.told.place
            out.print(Text(place, "place"))
        what = ", ".join(x for x in (row.told.what, row.told.instrument) if x)
        tripped = f"; tripped: {', '.join(row.expected.parted)}" if row.expected.parted else ""
        if row.told.conditions:
            what = f"{what}, {row.told.conditions}"
        if row.expected.figure is None:
            what = row.told.line
        _sentence(out, f"{what}: {row.shows}{tripped}", "  ", "")


def faults(listed: Sequence[tuple[str, tuple[str, ...], str]]) -> None:
    """Every fault with its id and severities."""
    out = console()
    for identity, severities, says in listed:
        out.print(Text(identity, "place"), soft_wrap=True)
        _sentence(out, says, "  ", "")
        if len(severities) > 1:
            _sentence(out, f"severity: {', '.join(severities)}", "  ", "quiet")


def understood(found: Understood) -> None:
    """The form read back."""
    out = console()
    out.print(Text(found.job.title or "(no title)", "heading"))
    for part in found.parts:
        out.print(Text(part.name, "place"))
        for line in part.lines:
            _sentence(out, line, "  ", "")
    if found.taken:
        out.print(Text("not said, the usual taken", "place"))
        for line in found.taken:
            _sentence(out, line, "  ", "")
    if found.unknown:
        out.print(Text("not known, weighed over its usual range", "place"))
        for line in found.unknown:
            _sentence(out, line, "  ", "")
    _warnings(out, found.warnings)


def demo_list(every: Sequence[Demo]) -> None:
    """The demos by name."""
    out = console()
    for one in every:
        _sentence(out, one.call, f"{one.name:<12}", "")


def demo(chosen: Demo, found: Answer, every: Sequence[Demo]) -> None:
    """A demo from the call to the answer, then what to try next."""
    out = console()
    out.print(Text("The call", "heading"))
    _sentence(out, chosen.call, "  ", "")
    out.print()
    answer(found)
    others = " or ".join(f"halfsplit demo {x.name}" for x in every if x.name != chosen.name)
    out.print(Text("Try next", "heading"))
    _sentence(out, f"{others}; the form behind this one: halfsplit demo {chosen.name} --form; "
              "your own: halfsplit diagnose FILE.", "  ", "")  # fmt: skip


def paged(text: str) -> None:
    """A long text as it stands."""
    console().print(Text(text), soft_wrap=True)
