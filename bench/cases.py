"""Faults reported on real buildings: is what was found the first suspect, or among three?

Every case under ``cases/`` is diagnosed from what was known before the cause, and scored against
``cases/found.yaml``, the only key that is read. Two strata, settled beforehand: identifiable (the
readings bear on the fault) and symptom only. Intervals are Wilson's, 95 % (E. B. Wilson, Journal
of the American Statistical Association 22, 1927).

By default only counts are printed, so that whoever tunes stays blind; ``--misses`` names cases,
with what the figures say of each and what ``cases/missed.yaml`` explains.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from bench._found import STRATA, Key, read_explained, read_keys
from bench._pushed import Pushed, pushed
from bench._scored import OPEN, Scored, read_case, score
from halfsplit.diagnosis.prepared import Prepared

FEWEST = 5  # cases below which counts would tell what was found in one of them
Z = 1.959964  # of a normal, two-sided 95 %
Explained = Mapping[str, tuple[str, str]]  # by code: class and why, from missed.yaml
NOT_YET = ("", "not yet explained")
MEASURES = {
    "cause first": lambda s: s.rank == 1,
    "cause in first three": lambda s: 1 <= s.rank <= 3,
    "place in first three": lambda s: 1 <= s.zone_rank <= 3,
    "excluded": lambda s: s.excluded,
    "next check separates": lambda s: s.separates is True,
}


def wilson(hits: int, total: int, z: float = Z) -> tuple[float, float]:
    """Wilson's interval of a share; (0, 1) of nothing."""
    if total == 0:
        return 0.0, 1.0
    p = hits / total
    middle = (p + z * z / (2 * total)) / (1 + z * z / total)
    half = z / (1 + z * z / total) * math.sqrt(p * (1 - p) / total + z * z / (4 * total**2))
    return max(middle - half, 0.0), min(middle + half, 1.0)


def counted(scores: Sequence[Scored]) -> dict[str, dict[str, Any]]:
    """Per stratum how many cases there are, and per measure hits and interval; JSON's own types."""
    table: dict[str, dict[str, Any]] = {}
    for stratum in STRATA:
        some = [s for s in scores if s.stratum == stratum]
        sizes = [s.size for s in some if 1 <= s.rank <= 3]
        table[stratum] = {
            "cases": len(some),
            "without readings": sum(s.readings == 0 for s in some),
            "not in the catalogue": sum(not s.named for s in some),
            "median places of a right suspect": statistics.median(sizes) if sizes else None,
            **{
                name: {
                    "hits": (hits := sum(map(right, some))),
                    "interval": [round(x, 3) for x in wilson(hits, len(some))],
                }
                for name, right in MEASURES.items()
            },
        }
    return table


def printed(table: dict[str, dict[str, Any]]) -> str:
    """The counts as lines."""
    lines = []
    for stratum, row in table.items():
        total = row["cases"]
        lines.append(
            f"{stratum}: {total} cases, {row['without readings']} without a reading, "
            f"{row['not in the catalogue']} whose cause the catalogue does not hold"
        )
        for name in MEASURES:
            hits, (low, high) = row[name]["hits"], row[name]["interval"]
            share = f"{hits / total:6.1%}" if total else "     -"
            lines.append(
                f"  {name:<22} {hits:3d} of {total:3d}  {share}  ({low:.1%} to {high:.1%})"
            )
        lines.append(
            f"  median places of a right suspect: {row['median places of a right suspect']}"
        )
    lines.append(f'excluded: under 0.1 % while "none of these" holds at most {OPEN:.0%}')
    return "\n".join(lines)


def run(
    keys: Sequence[Key], explain: bool, look_ahead: bool = True
) -> tuple[list[Scored], list[tuple[Scored, Pushed]], list[str]]:
    """Every case scored, the misses with what pushed them down, and those that would not run."""
    scores, misses, broken = [], [], []
    for key in keys:
        try:
            job = read_case(key.code)
            scored, found = score(key, job, look_ahead)
            scores.append(scored)
            if scored.missed and explain:
                misses.append((scored, pushed(key, job, Prepared(job.installation), found)))
        except Exception as error:  # the run goes on; the case is named
            broken.append(f"{key.code}: {type(error).__name__}: {error}")
    return scores, misses, broken


def main(arguments: list[str] | None = None) -> int:
    """Run and print; the exit code is 1 when a case could not be diagnosed at all."""
    parser = argparse.ArgumentParser(prog="scripts/bench cases", description=__doc__)
    parser.add_argument("codes", nargs="*", metavar="CODE", help="only these cases")
    parser.add_argument("--json", action="store_true", help="print one object")
    mode = parser.add_mutually_exclusive_group()
    mode.add_argument("--blind", action="store_true", help="counts only (as without it)")
    mode.add_argument("--misses", action="store_true", help="name the misses, with reasons")
    parser.add_argument("--quick", action="store_true", help="neither next check nor reasons")
    asked = parser.parse_args(arguments)
    keys = read_keys()
    unknown = sorted(set(asked.codes) - set(keys))
    if unknown:
        parser.error(f"no case is called {', '.join(unknown)}; they run r001 to {max(keys)}")
    chosen = [keys[code] for code in asked.codes or sorted(keys)]
    if len(chosen) < FEWEST and not asked.misses:
        parser.error(f"counts of {len(chosen)} are not blind: name {FEWEST} or more, or --misses")
    explain = asked.misses or not asked.quick
    scores, misses, broken = run(chosen, explain, not asked.quick)
    table, by = counted(scores), Counter(reason.by for _, reason in misses)
    explained = read_explained() if asked.misses else {}
    if asked.json:
        told: dict[str, Any] = {"strata": table, "pushed down by": dict(by), "broken": broken}
        if asked.misses:
            told["misses"] = [_object(s, reason, explained) for s, reason in misses]
        print(json.dumps(told, indent=2, allow_nan=False))
    else:
        print(printed(table))
        if by:
            told_by = ", ".join(f"{kind} {count}" for kind, count in by.most_common())
            print(f"misses by what speaks against the cause: {told_by}")
        for s, reason in misses if asked.misses else ():
            print(_line(s, reason, explained))
        for line in broken:
            print(f"could not be diagnosed: {line}", file=sys.stderr)
    return 1 if broken else 0


def _object(s: Scored, reason: Pushed, explained: Explained) -> dict[str, Any]:
    kind, why = explained.get(s.code, NOT_YET)
    return {
        "code": s.code, "stratum": s.stratum, "rank": s.rank, "place rank": s.zone_rank,
        "belief": round(s.belief, 6), "none of these": round(s.none, 6), "leader": s.leader,
        "reason": reason.words, "class": kind, "why": why,
    }  # fmt: skip


def _line(s: Scored, reason: Pushed, explained: Explained) -> str:
    where = f"rank {s.rank}, place {s.zone_rank}" if s.rank or s.zone_rank else "not ranked"
    told = ": ".join(filter(None, explained.get(s.code, NOT_YET)))
    return (
        f"{s.code} {s.stratum}: {where}, belief {s.belief:.3g}, none of these {s.none:.3g}, "
        f"leading {s.leader}\n     {reason.words}\n     {told}"
    )


if __name__ == "__main__":
    sys.exit(main())
