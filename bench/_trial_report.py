"""The report of a run of trials, as text and as one object."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from typing import Any

from bench._trial_figures import (
    Mean,
    Row,
    Share,
    alarmed,
    answered,
    bootstrap,
    brier,
    by_family,
    calibration_error,
    log_loss,
    mean_of,
    share,
)


def right(row: Row) -> bool:
    """The first suspect is what is truly wrong, or cannot be told from it."""
    return bool(row["rank"] == 1)


def among_three(row: Row) -> bool:
    """One of the first three is."""
    return bool(1 <= row["rank"] <= 3)


def _share(name: str, s: Share) -> str:
    low, high = s.interval
    return f"{name:<44} {s.hits:5d} of {s.total:5d}  {s.value:6.1%}  ({low:.1%} to {high:.1%})"


def _mean(name: str, m: Mean, unit: str = "") -> str:
    return f"{name:<44} {m.value:9.3f}{unit}  ({m.low:.3f} to {m.high:.3f})"


def measures(rows: Sequence[Row]) -> dict[str, Share]:
    """Every share, by name.

    The last answer is the one before the look that found it, looks that found nothing counted.
    """
    single = [r for r in rows if not r["two"]]
    called = [r for r in single if r["complaint"]]
    quiet = [r for r in single if not r["complaint"]]
    sound = [r for r in single if r["sound"]]
    double = [r for r in rows if r["two"]]
    return {
        "found, or first in the last answer": share(single, lambda r: r["end_rank"] == 1),
        "found, or among its first three": share(single, lambda r: 1 <= r["end_rank"] <= 3),
        "  of these without a wrong place or repair": share(
            single,
            lambda r: r["end_rank"] == 1 and not r["wrong_opens"] and not r["wrong_repairs"],
        ),
        "first in the last answer, before a look": share(single, right),
        "among its first three": share(single, among_three),
        "  first, where something struck somebody": share(called, right),
        "  in three, where something struck somebody": share(called, among_three),
        "  first, where nothing did": share(quiet, right),
        "first when it first said to act": share(single, lambda r: r["acted_rank"] == 1),
        "first by the program's own groups": share(single, lambda r: right(r) or r["lumped"]),
        "true place opened within the checks": share(
            [r for r in single if not r["sound"]], lambda r: r["found"] > 0
        ),
        "false alarm at a sound installation": share(sound, alarmed),
        "two faults: one of them first": share(double, right),
        "two faults: both named first": share(double, lambda r: r["both"]),
        "danger shown as safe": share(rows, lambda r: bool(r["unsafe"])),
        "could not be worked out": share(rows, lambda r: bool(r["failed"])),
    }


def scores(rows: Sequence[Row]) -> dict[str, Mean]:
    """Every score with its interval, by name."""
    single = [r for r in rows if not r["two"] and not r["failed"]]
    sure = answered(single)
    found = [r for r in single if r["found"]]
    return {
        "log loss": bootstrap(sure, log_loss),
        "Brier": bootstrap(sure, brier),
        "calibration error": bootstrap(sure, calibration_error),
        "claimed on average": bootstrap(sure, mean_of("claimed")),
        "checks in all": bootstrap(single, mean_of("checks")),
        "minutes in all": bootstrap(single, mean_of("minutes")),
        "minutes to the true place": bootstrap(found, mean_of("found_minutes")),
        "wrong places opened": bootstrap(single, mean_of("wrong_opens")),
        "wrong repairs": bootstrap(single, mean_of("wrong_repairs")),
        "members of the first suspect": bootstrap(single, mean_of("size")),
        "places of the first suspect": bootstrap(single, mean_of("places")),
    }


def as_text(rows: Sequence[Row], setting: str) -> str:
    """The report in words and figures."""
    lines = [f"{len(rows)} trials {setting}, one fault at most but where it says two"]
    lines += [_share(name, s) for name, s in measures(rows).items()]
    lines += [_mean(name, m) for name, m in scores(rows).items()]
    lines += ["", f"{'by kind of fault':<26} {'trials':>6} {'first':>6} {'three':>6} "
                  f"{'belief':>7} {'checks':>7}"]  # fmt: skip
    for family, some in by_family([r for r in rows if not r["two"]]).items():
        first = sum(map(right, some)) / len(some)
        three = sum(map(among_three, some)) / len(some)
        lines.append(
            f"{family:<26} {len(some):6d} {first:6.0%} {three:6.0%} "
            f"{statistics.fmean(r['belief'] for r in some):7.2f} "
            f"{statistics.fmean(r['checks'] for r in some):7.1f}"
        )
    return "\n".join(lines)


def as_object(rows: Sequence[Row], setting: str) -> dict[str, Any]:
    """The same figures as one object of JSON's own types."""
    return {
        "setting": setting,
        "trials": len(rows),
        "shares": {
            name.strip(): {"hits": s.hits, "of": s.total, "interval": list(s.interval)}
            for name, s in measures(rows).items()
        },
        "scores": {
            name: {"value": m.value, "interval": [m.low, m.high]}
            for name, m in scores(rows).items()
        },
    }
