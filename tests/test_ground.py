"""The ground the project stands on: scripts, lock, documentation and what may be in the files."""

from __future__ import annotations

import ast
import math
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import halfsplit
from tools import docs
from tools.page import Page

ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = ("setup", "outside", "demo", "test", "check", "docs", "bench")
TEXT = {
    ".py",
    ".md",
    ".toml",
    ".yaml",
    ".yml",
    ".json",
    ".css",
    ".js",
    ".html",
    ".svg",
    ".lock",
    "",
}

# Addresses that are names of formats or of this very machine, not of places to fetch from.
ALLOWED_ADDRESS = re.compile(
    r"https?://(localhost|127\.0\.0\.1|192\.0\.2\.\d+|testserver|"
    r"www\.w3\.org/|json-schema\.org/|[\w.]*example\b|\{)"
)
ADDRESS = re.compile(r"(?:https?|ftp|file)://[^\s\"'`<>)\]}]+")
MACHINE_PATH = re.compile(r"(?<![\w.~-])/(?:home|root|work|Users|opt|mnt|tmp|srv)/[\w.-]+")


def _tracked() -> list[Path]:
    """Text files under version control, or all outside the usual litter in a plain copy."""
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode == 0 and listed.stdout:
        found = [ROOT / name for name in listed.stdout.split("\0") if name]
    else:
        found = [
            p for p in ROOT.rglob("*") if not any(_litter(x) for x in p.relative_to(ROOT).parts)
        ]
    return [path for path in found if path.is_file() and path.suffix in TEXT]


def _litter(part: str) -> bool:
    return part == "__pycache__" or (part.startswith(".") and part not in (".ci", ".gitignore"))


def _links(page: Path) -> list[str]:
    """Relative link targets of a page, without anchors."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    targets = [target.split("#")[0] for target in re.findall(r"\]\(([^)\s]+)\)", text)]
    return [target for target in targets if target and "://" not in target]


def _bare_path(folder: Path, *programs: str, **scripts: str) -> dict[str, str]:
    """An environment whose PATH holds only the named programs and the given shell scripts."""
    for program in programs:
        found = shutil.which(program)
        assert found, f"this test needs {program}"
        (folder / program).symlink_to(found)
    for name, body in scripts.items():
        (folder / name).write_text(f"#!/bin/sh\n{body}\n", encoding="utf-8")
        (folder / name).chmod(0o755)
    return {"PATH": str(folder)}


def _run_script(name: str, env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    bash = shutil.which("bash")
    assert bash
    script = str(ROOT / "scripts" / name)
    return subprocess.run([bash, script], env=env, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("path", [*(f"scripts/{name}" for name in SCRIPTS), ".ci/run"])
def test_scripts_can_be_run(path: str) -> None:
    """Every script has its run bit, names bash and stops at the first failure."""
    script = ROOT / path
    text = script.read_text(encoding="utf-8")
    assert os.access(script, os.X_OK)
    assert text.startswith("#!/usr/bin/env bash\n")
    assert "\nset -euo pipefail\n" in text


def test_ci_runs_what_people_run() -> None:
    """CI calls scripts/test, which sets up, checks and ends with pytest's own closing line."""
    assert "exec scripts/test" in (ROOT / ".ci/run").read_text(encoding="utf-8")
    steps = (ROOT / "scripts/test").read_text(encoding="utf-8").strip().splitlines()
    assert steps[-4:-1] == ["scripts/setup", "scripts/outside", "scripts/check"]
    assert "-m pytest -n 2" in steps[-1]


def test_missing_programs_are_named_with_the_command(tmp_path: Path) -> None:
    """Without the simulator, the browser or the right to install, the script says what to run."""
    env = _bare_path(tmp_path, "bash", id="echo 1000")
    ran = _run_script("outside", env)
    assert ran.returncode == 2
    assert "apt-get install --no-install-recommends ngspice chromium" in ran.stderr


def test_nothing_is_said_when_the_programs_are_there(tmp_path: Path) -> None:
    """With simulator and browser present the script is silent and installs nothing."""
    env = _bare_path(tmp_path, "bash", ngspice="exit 0", chromium="exit 0")
    ran = _run_script("outside", env)
    assert (ran.returncode, ran.stdout + ran.stderr) == (0, "")


@pytest.mark.parametrize("python3", ["exit 1", None], ids=["too old", "absent"])
def test_a_missing_python_is_named_with_the_command(tmp_path: Path, python3: str | None) -> None:
    """Without Python 3.11 or newer, setup says which package to install on which release."""
    scripts = {} if python3 is None else {"python3": python3}
    ran = _run_script("setup", _bare_path(tmp_path, "bash", "dirname", **scripts))
    assert ran.returncode == 2
    assert "No Python 3.11 or newer" in ran.stderr
    assert "apt-get install python3.11 python3.11-venv" in ran.stderr


def test_the_lock_is_hashed_and_names_no_address() -> None:
    """Every locked package is pinned and hashed, and the lock does not say where from."""
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    entries = [entry for entry in re.split(r"\n(?=\S)", lock.strip()) if not entry.startswith("#")]
    assert all("==" in entry and "--hash=sha256:" in entry for entry in entries)
    assert "://" not in lock
    assert "index" not in lock.replace("--hash", "")
    assert not (ROOT / "uv.lock").exists()


def test_the_lock_covers_every_dependency() -> None:
    """Each package that pyproject asks for, extras included, is in the lock."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"]]
    for extra in project["optional-dependencies"].values():
        wanted += extra
    plain = {re.sub(r"[-_.]+", "-", re.split(r"[<>=!~ \[;]", name)[0]).lower() for name in wanted}
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    locked = {name.lower() for name in re.findall(r"^([\w.-]+)==", lock, flags=re.MULTILINE)}
    assert plain <= {re.sub(r"[-_.]+", "-", name) for name in locked}


def test_no_address_or_machine_path_is_in_the_files() -> None:
    """Nothing tracked names a host to fetch from or a path of somebody's machine."""
    found = []
    for path in _tracked():
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            addresses = [a for a in ADDRESS.findall(line) if not ALLOWED_ADDRESS.match(a)]
            for bad in [*addresses, *MACHINE_PATH.findall(line)]:
                found.append(f"{path.relative_to(ROOT)}, line {number}: {bad}")
    assert found == []


def test_the_search_for_addresses_finds_them() -> None:
    """The patterns above catch an address and a machine path, and let ordinary text through."""
    slash = "/"
    assert ADDRESS.findall(f"see https:{slash}{slash}somewhere.net/x")
    assert MACHINE_PATH.findall(f"in {slash}home{slash}someone")
    assert not MACHINE_PATH.findall("hot/work/cold, and/opt/out, ~/tmp/x")


def test_the_version_is_said_once() -> None:
    """The package, pyproject and the newest changelog entry agree on the version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    heading = re.search(r"^## (\S+)", (ROOT / "CHANGELOG.md").read_text(), flags=re.MULTILINE)
    assert heading, "CHANGELOG.md has no entry"
    assert project["version"] == halfsplit.__version__ == heading[1]


def test_the_newest_changelog_entry_says_something() -> None:
    """The first entry lists at least one change."""
    newest = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8").split("\n## ")[1]
    assert "\n- " in newest


def test_every_page_is_linked_and_every_link_leads_somewhere() -> None:
    """Links of the pages lead to files, and the index names every page in docs."""
    pages = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]
    broken = [
        f"{page.relative_to(ROOT)}: {target}"
        for page in pages
        for target in _links(page)
        if not (page.parent / target).exists()
    ]
    assert broken == []
    index = {(ROOT / "docs" / target).resolve() for target in _links(ROOT / "docs/index.md")}
    unlisted = set((ROOT / "docs").rglob("*.md")) - index - {ROOT / "docs/index.md"}
    assert unlisted == set()


def test_the_readme_opens_with_the_job() -> None:
    """The first thing after the title is one paragraph that says what the program is for."""
    title, opening, following = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")[:3]
    assert title == "# halfsplit"
    assert following.startswith("## ")
    assert all(word in opening for word in ("electrician", "readings", "at fault", "where"))


def test_every_script_has_its_line_in_the_guide() -> None:
    """CONTRIBUTING describes each script a person runs."""
    guide = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
    present = {path.name for path in (ROOT / "scripts").iterdir() if path.is_file()}
    assert present == set(SCRIPTS)
    assert [name for name in SCRIPTS if f"scripts/{name}`" not in guide and name != "outside"] == []


def test_generated_pages_are_up_to_date() -> None:
    """What scripts/docs would write is what stands in the files."""
    stale = docs.renewed(ROOT, docs.registered())
    names = [str(path.relative_to(ROOT)) for path in stale]
    assert names == [], "run scripts/docs and commit what it writes"


def test_a_stale_page_is_found(tmp_path: Path) -> None:
    """A part between marks that differs from what is made is replaced, and nothing else."""
    page = Page("page.md", lambda: "new", mark="x")
    (tmp_path / "page.md").write_text("a\n<!-- x:begin -->\nold\n<!-- x:end -->\nb\n")
    changed = docs.renewed(tmp_path, [page])
    assert list(changed.values()) == ["a\n<!-- x:begin -->\nnew\n<!-- x:end -->\nb\n"]
    (tmp_path / "page.md").write_text(changed[tmp_path / "page.md"])
    assert docs.renewed(tmp_path, [page]) == {}


def test_a_page_without_its_marks_is_refused() -> None:
    """A page that lacks the marks is named, with what was found."""
    with pytest.raises(ValueError, match=r"page\.md needs .*x:begin.* found 0 and 0"):
        Page("page.md", lambda: "new", mark="x").applied_to("no marks here")


@pytest.mark.parametrize(
    ("behind", "ohms", "farads", "said"),
    [
        (2e-9, 10e6, 100e-12, "| 108 V |"),
        (2e-9, 200e3, 0.0, "| 14 V |"),
        (2e-9, 5e3, 0.0, "| 0.4 V |"),
        (94e-9, 200e3, 0.0, "113 V on the 200 kΩ"),
        (94e-9, 5e3, 0.0, "17 V on the 5 kΩ"),
    ],
)
def test_the_ghost_voltages_of_the_method_page_are_right(
    behind: float, ohms: float, farads: float, said: str
) -> None:
    """Half of 230 V behind a capacitance, read by each instrument, gives the page's figures."""
    omega = 2 * math.pi * 50
    source = 1 / (1j * omega * behind)
    shown = 115 / abs(1 + source * (1 / ohms + 1j * omega * farads))
    figure = re.search(r"[\d.]+", said)
    assert figure
    digits = len(figure[0].partition(".")[2])
    assert f"{shown:.{digits}f}" == figure[0]
    assert said in (ROOT / "docs/method.md").read_text(encoding="utf-8")


def test_every_test_states_its_claim() -> None:
    """Each test's docstring says what is true when it passes."""
    silent = [
        f"{path.relative_to(ROOT)}: {node.name}"
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and node.name.startswith("test_")
        and not ast.get_docstring(node)
    ]
    assert silent == []


def test_importing_the_package_loads_nothing_heavy() -> None:
    """``import halfsplit`` reads no third-party package."""
    code = (
        "import sys, halfsplit; print([m for m in ('numpy', 'yaml', 'typer') if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
