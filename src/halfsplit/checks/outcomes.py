"""What each outcome of a check would mean, before it is taken: bands that leave no gap."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from halfsplit import quantity
from halfsplit.checks.check import Check, Outcome, Remains
from halfsplit.checks.gain import Binned, Grouped, chances
from halfsplit.checks.rows import Rows
from halfsplit.checks.trial import Shown
from halfsplit.diagnosis.result import Diagnosis, Suspect
from halfsplit.faults.catalogue import family
from halfsplit.faults.fault import Fault
from halfsplit.faults.words import conductor_words, describe
from halfsplit.wiring.model import Installation, Region

Real = NDArray[np.float64]
MOST_BANDS = 4
SMALLEST = 0.004  # a band less likely than this is not worth a line of its own
ALIKE = 0.02  # bits lost by joining two bands below which they mean the same
NAMED = 3
NAMED_FROM = 0.05

OVER_WORDS = {"ohms": "over range: no continuity", "megohms": "over range"}
PRINT = {"volts": quantity.volts, "ohms": quantity.ohms, "megohms": quantity.ohms,
         "loop": quantity.ohms, "amps": quantity.amps, "ramp": quantity.amps}  # fmt: skip


def outcomes(
    check: Check,
    shown: Shown,
    found: Binned,
    rows: Rows,
    groups: Grouped,
    names: tuple[Remains, ...],
) -> tuple[Outcome, ...]:
    """The bands of a check, in order; ``names`` are the groups' words, as many as there are."""
    if shown.chance is not None:
        return _worded(shown, found, rows, groups, names)
    keep = _bands(found, rows, groups)
    kind = check.reading.kind if check.reading else "volts"
    edges = np.array(sorted({_rounded(found.edges[k], shown.logged) for k in keep}))
    table = chances(shown, edges)
    over = rows.weight @ table[:, -1] + rows.none / table.shape[1]
    if over < SMALLEST * 4 and len(edges):
        table = np.concatenate([table[:, :-2], table[:, -2:].sum(axis=1, keepdims=True)], axis=1)
        over = 0.0
    result = []
    for b in range(table.shape[1]):
        low = None if b == 0 else float(edges[b - 1]) if b <= len(edges) else None
        high = float(edges[b]) if b < len(edges) else None
        last = over > 0 and b == table.shape[1] - 1
        words = _band_words(kind, shown.logged, low, high, last)
        if last:
            low, high = None, None
        result.append(_outcome(words, table[:, b], rows, groups, names, _si(low, shown),
                               _si(high, shown), table.shape[1]))  # fmt: skip
    return tuple(result)


def _si(edge: float | None, shown: Shown) -> float | None:
    return math.exp(edge) if edge is not None and shown.logged else edge


def _bands(found: Binned, rows: Rows, groups: Grouped) -> list[int]:
    """Edges worth keeping: neighbours that would mean the same are joined, the likest first."""
    joint = np.zeros((groups.count, found.chance.shape[1] - 1))
    np.add.at(joint, groups.of, rows.weight[:, None] * found.chance[:, :-1])
    keep = list(range(joint.shape[1] - 1))
    columns = [joint[:, k] for k in range(joint.shape[1])]
    heat = [_heat(column) for column in columns]
    losses = [_loss(columns, heat, k) for k in keep]
    while keep:
        k = int(np.argmin(losses))
        if losses[k] > ALIKE and len(keep) < MOST_BANDS:
            break
        columns[k : k + 2] = [columns[k] + columns[k + 1]]
        heat[k : k + 2] = [_heat(columns[k])]
        del keep[k], losses[k]
        for near in (k - 1, k):
            if 0 <= near < len(keep):
                losses[near] = _loss(columns, heat, near)
    return keep


def _loss(columns: list[Real], heat: list[float], k: int) -> float:
    """Bits about the group lost when a band and its neighbour are told as one."""
    return heat[k] + heat[k + 1] - _heat(columns[k] + columns[k + 1])


def _heat(column: Real) -> float:
    """Sum of p log2 of its share: what is known of the group inside a band, in bits, negative."""
    whole = float(column.sum())
    p = column[column > 0]
    return float((p * np.log2(p / whole)).sum()) if whole > 0 else 0.0


def _rounded(edge: float, logged: bool) -> float:
    """An edge as a person would say it: two digits."""
    value = math.exp(edge) if logged else float(edge)
    if value == 0 or not math.isfinite(value):
        return edge
    digits = 1 - math.floor(math.log10(abs(value)))
    value = round(value, max(digits, -12)) if abs(value) < 100 else float(f"{value:.2g}")
    return math.log(max(value, 1e-12)) if logged else value


def _band_words(kind: str, logged: bool, low: float | None, high: float | None, over: bool) -> str:
    if over:
        return OVER_WORDS.get(kind, "no reading")
    print_it = PRINT.get(kind, quantity.volts)
    a, b = (math.exp(x) if logged and x is not None else x for x in (low, high))
    if a is None and b is None:
        return "any figure"
    if a is None and b is not None:
        return f"under {print_it(b)}"
    if b is None and a is not None:
        return f"over {print_it(a)}"
    return f"{print_it(a or 0.0)} to {print_it(b or 0.0)}"


def _worded(
    shown: Shown, found: Binned, rows: Rows, groups: Grouped, names: tuple[Remains, ...]
) -> tuple[Outcome, ...]:
    share = rows.weight @ found.chance
    small = [k for k in range(len(shown.words)) if share[k] < SMALLEST]
    large = [k for k in range(len(shown.words)) if share[k] >= SMALLEST]
    count = len(large) + (1 if small else 0)
    result = [
        _outcome(_said(shown.words[k]), found.chance[:, k], rows, groups, names, None, None, count,
                 (shown.words[k],))
        for k in large
    ]  # fmt: skip
    if small:
        rest = found.chance[:, small].sum(axis=1)
        words = _said(shown.words[small[0]]) if len(small) == 1 else "anything else"
        seen = tuple(shown.words[k] for k in small)
        result.append(_outcome(words, rest, rows, groups, names, None, None, count, seen))
    return tuple(result)


def _said(word: str) -> str:
    if len(word) == 3 and set(word) <= {"0", "1"}:
        lamps = [n for n, c in zip(("L-N", "L-E", "N-E"), word, strict=True) if c == "1"]
        return f"lit: {', '.join(lamps)}" if lamps else "all dark"
    return word


def _outcome(
    words: str,
    chance: Real,
    rows: Rows,
    groups: Grouped,
    names: tuple[Remains, ...],
    low: float | None,
    high: float | None,
    bands: int,
    seen: tuple[str, ...] = (),
) -> Outcome:
    share = groups.gather(rows.weight * chance)
    other = rows.none / bands
    whole = float(share.sum()) + other
    after = share / max(whole, 1e-300)
    order = np.argsort(-after, kind="stable")
    means = tuple(
        Remains(names[g].says, names[g].places, float(after[g]))
        for g in order[:NAMED]
        if after[g] >= NAMED_FROM
    )
    return Outcome(words, whole, means, _says(means, after, other / max(whole, 1e-300)), low, high,
                   seen)  # fmt: skip


def _says(means: tuple[Remains, ...], after: Real, none: float) -> str:
    """What would remain, in one line."""
    left = int((after >= NAMED_FROM).sum())
    if not means:
        return "leaves everything open"
    first = f"{quantity.percent(means[0].probability)} {means[0].says}"
    if len(means) == 1:
        return first
    more = f", then {means[1].says} ({quantity.percent(means[1].probability)})"
    extra = f" and {left - 2} more" if left > 2 else ""
    return first + more + extra


def group_names(diagnosis: Diagnosis, count: int, region: Region) -> tuple[Remains, ...]:
    """Each group's words and places, then "the rest" up to ``count``; no two say the same."""
    says = [_suspect_words(s, region) for s in diagnosis.suspects]
    often = Counter(says)
    named = [
        Remains(words if often[words] == 1 else _short(s.says, whole=True), s.places, s.probability)
        for words, s in zip(says, diagnosis.suspects, strict=True)
    ]
    rest = Remains("something less likely", (), 0.0)
    return (*named, *(rest for _ in range(count - len(named))))


def _suspect_words(suspect: Suspect, region: Region) -> str:
    """What one member says for itself, or which conductor and where for several."""
    if len(suspect.members) < 2 or len(suspect.places) < 2 or len(suspect.conductors) != 1:
        return _short(suspect.says)
    conductor = conductor_words(suspect.conductors[0], region)
    if len(suspect.places) == 2:
        return f"the {conductor} between {' and '.join(suspect.places)}"
    return f"the {conductor} at {', '.join(suspect.places[:-1])} or {suspect.places[-1]}"


def cause_names(
    diagnosis: Diagnosis, ids: Sequence[str], installation: Installation, apart: bool
) -> tuple[Grouped, tuple[Remains, ...]]:
    """Rows (K) by what is said of their causes ``ids``, and that; two of the same kind at one place
    are one unless told ``apart``, by their cable."""
    faults = {c.fault.id: c.fault for c in diagnosis.causes if c.fault}
    known = {id: faults[id] for id in dict.fromkeys(ids) if id in faults}
    whole = {id: describe(f, family(f.family), installation) for id, f in known.items()}
    says = {id: _short(text) for id, text in whole.items()}
    often = Counter(says.values())
    for id, fault in known.items() if apart else ():
        if often[says[id]] > 1:
            cable = _cable(fault)
            says[id] = f"{says[id]} (cable {cable})" if cable else _short(whole[id], whole=True)
    found: dict[str, Remains] = {}
    for id in dict.fromkeys(ids):
        text = says.get(id, "something less likely" if id else "nothing wrong")
        found.setdefault(text, Remains(text, known[id].places if id in known else (), 0.0))
    number = {text: n for n, text in enumerate(found)}
    rest = number.get("something less likely", 0)
    of = [number.get(says.get(i, "" if i else "nothing wrong"), rest) for i in ids]
    return Grouped(np.array(of, dtype=np.intp), len(number)), tuple(found.values())


def _cable(fault: Fault) -> str:
    """The cable whose core a fault is at, "" where there is none."""
    ends = (value.partition(":")[2] for key, value in fault.detail if key in ("a", "b"))
    return next((run for run in ends if "–" in run), "")


def _short(says: str, whole: bool = False) -> str:
    """A suspect's sentence inside another: without its full stop, its first clause unless whole."""
    said = says.rstrip(".")
    head = said if whole else said.split(":")[0].split(", between the ")[0]
    return head[:1].lower() + head[1:]
