"""Writes every generated piece of documentation, or with ``--check`` names those that are stale.

A generator is a module in ``tools/pages`` with a tuple ``PAGES``; adding the module is enough.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

from tools import pages
from tools.page import Page

ROOT = Path(__file__).resolve().parent.parent


def registered() -> list[Page]:
    """Every page of every module in ``tools/pages``, in the order of the modules' names."""
    names = sorted(module.name for module in iter_modules(pages.__path__))
    return [page for name in names for page in import_module(f"tools.pages.{name}").PAGES]


def renewed(root: Path, every: Iterable[Page]) -> dict[Path, str]:
    """Each file that would change, with its new text; several pieces of one file add up."""
    texts: dict[Path, str] = {}
    before: dict[Path, str] = {}
    for page in every:
        path = root / page.path
        if path not in texts:
            before[path] = path.read_text(encoding="utf-8") if path.exists() else ""
            texts[path] = before[path]
        texts[path] = page.applied_to(texts[path])
    return {path: text for path, text in texts.items() if text != before[path]}


def main(arguments: list[str] | None = None) -> int:
    """Write the pieces, or check them; the exit code is 1 when a check finds a stale one."""
    parser = argparse.ArgumentParser(prog="scripts/docs", description=__doc__)
    parser.add_argument("--check", action="store_true", help="change nothing; fail when stale")
    check = parser.parse_args(arguments).check
    changes = renewed(ROOT, registered())
    for path, text in changes.items():
        name = path.relative_to(ROOT)
        if check:
            print(f"{name} is stale; run scripts/docs and commit what it writes", file=sys.stderr)
        else:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
            print(f"wrote {name}")
    if not changes:
        print("every generated page is up to date")
    return 1 if check and changes else 0


if __name__ == "__main__":
    sys.exit(main())
