"""What followed the finding, back into the written form: one entry for each thing."""

from __future__ import annotations

from halfsplit.form.after import After, LeftSafe, Mended, Seen, Tested
from halfsplit.form.lines import Data, bounded, number, yes
from halfsplit.quantity import ABOUT_SPREAD

_UNITS = {
    "continuity": "ohm", "ring ends": "ohm", "ring cross": "ohm", "insulation": "ohm",
    "electrode": "ohm", "loop": "ohm", "fault current": "A", "trip time": "s",
    "trip current": "A", "volts": "V",
}  # fmt: skip
_RING = {"L": "r1", "N": "rn", "E": "r2"}


def after_data(after: After) -> Data:
    """The keys of the form for all that followed; none for what was not written."""
    data: Data = {}
    if after.mends:
        data["mend"] = [mend_data(m, f"m{k}") for k, m in enumerate(after.mends, start=1)]
    if after.tests:
        data["tests after"] = [result_data(t, f"t{k}") for k, t in enumerate(after.tests, start=1)]
    if after.open_items:
        data["open items"] = list(after.open_items)
    if after.left_safe is not None:
        data["left safe"] = left_data(after.left_safe)
    if after.seen:
        data["seen"] = [seen_data(s, f"o{k}") for k, s in enumerate(after.seen, start=1)]
    return data


def mend_data(mend: Mended, usual: str = "") -> Data:
    """One entry of ``mend``; ``usual`` is the id its place in the list gives it anyway."""
    data: Data = {} if mend.id in ("", usual) else {"id": mend.id}
    data["did"] = mend.did
    if mend.place:
        data["at"] = mend.place
    if mend.kind == "joint":
        data["joint"] = list(mend.conductors)
    elif mend.kind in ("accessory", "nothing"):
        data[mend.kind] = "yes"
    elif mend.kind in ("electrode", "link", "supply"):
        data["supply"] = "operator" if mend.kind == "supply" else mend.kind
    else:
        data[mend.kind] = mend.part
    return data | _told(mend.fault, mend.who, mend.when)


def _told(fault: str, who: str, when: str) -> Data:
    return {k: v for k, v in (("fault", fault), ("who", who), ("when", when)) if v}


def result_data(test: Tested, usual: str = "") -> Data:
    """One entry of ``tests after``."""
    data: Data = {} if test.id in ("", usual) else {"id": test.id}
    if test.place:
        data["at"] = test.place
    if test.circuit:
        data["circuit"] = test.circuit
    if test.part:
        data["load" if "/" in test.part else "device"] = test.part
    data |= _result(test)
    if test.instrument:
        data["by"] = test.instrument
    if test.nulled is not None:
        data["nulled"] = yes(test.nulled)
    if test.equipment:
        data["equipment"] = "yes"
    if test.celsius is not None:
        data["temperature"] = number(test.celsius)
    if test.again:
        data["again"] = test.again
    return data | _told("", test.who, test.when)


def _result(test: Tested) -> Data:
    key = {"dead": "proved dead"}.get(test.test, test.test)
    if test.test == "trip time":
        return {key: {test.port: test.seen or _shown(test)}}
    if test.test not in _UNITS:
        return {key: test.seen}
    if test.test == "continuity" and test.port in ("L+E", "L+N"):
        return {"R1+R2" if test.port == "L+E" else "R1+Rn": _shown(test)}
    if test.test in ("electrode", "fault current", "trip current"):
        return {key: _shown(test)}
    port = _RING.get(test.port, test.port) if test.test == "ring ends" else test.port
    return {key: {port: _shown(test)}}


def _shown(test: Tested) -> str:
    text = "over range"
    if test.value is not None:
        unit = _UNITS[test.test]
        text = bounded(test.bound, test.value, unit, test.spread, ABOUT_SPREAD)
    return text + (f" at {test.volts:.0f} V" if test.volts is not None else "")


def left_data(left: LeftSafe) -> Data:
    """The mapping of ``left safe``."""
    pairs = (
        ("why", left.why), ("isolated", list(left.isolated)), ("locked", left.locked),
        ("labelled", left.labelled), ("told", list(left.told)),
        ("do not use", list(left.do_not_use)), ("who", left.who), ("when", left.when),
    )  # fmt: skip
    return {key: value for key, value in pairs if value}


def seen_data(seen: Seen, usual: str = "") -> Data:
    """One entry of ``seen``."""
    data: Data = {} if seen.id in ("", usual) else {"id": seen.id}
    data["what"] = seen.what
    if seen.place:
        data["at"] = seen.place
    if seen.code:
        data["class"] = seen.code
    return data | _told("", seen.who, seen.when)
