"""What people read: the ladder, what comes first, the words of their region, help."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from halfsplit.cli.main import app
from tests.cli.running import DEMOS, SHED, STAIRS, WORKSHOP, Ran, halfsplit, in_a_process

RING = """
region: uk
supply: TN-S 230 V
circuits:
  ring:
    device: B32
    ring: [9 m, Kitchen, 5 m, Dining, 7 m, Lounge, 8 m]
    spurs: {Dining: [4 m, Hatch]}
  lights: {device: B6, run: [6 m, Porch]}
readings:
  - {at: Kitchen, L-N: 230, by: multimeter}
  - {at: Hatch, L-E: 230, by: multimeter}
"""


def _diagnosed(file: Path) -> Ran:
    ran = halfsplit("diagnose", str(file))
    assert (ran.status, ran.err) == (0, "")
    return ran


def _block(out: str, title: str) -> str:
    return out.split(f"\n{title}\n")[1].split("\n\n")[0]


def test_reported_danger_is_the_first_line() -> None:
    """After a tingle the first line says to isolate and keep people away, before anything else."""
    first = _diagnosed(SHED).out.splitlines()[0]
    assert first.startswith("! First isolate, keep people away, and prove dead")


def test_no_alarm_where_none_was_reported() -> None:
    """Without shock, heat, smell or water the first line is the ladder's."""
    assert _diagnosed(STAIRS).out.startswith("stair lights, B6")


@pytest.mark.parametrize("file", [SHED, WORKSHOP, STAIRS], ids=lambda file: file.stem)
def test_piped_output_is_plain_and_narrow(file: Path) -> None:
    """Piped, no line is wider than 80 columns, and no colour codes are sent."""
    out = _diagnosed(file).out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "\x1b" not in out


def test_the_ladder_names_both_terminals_of_the_break() -> None:
    """The broken rail shows a gap, a cross and both terminals; below it the rail is dashed."""
    lines = _diagnosed(SHED).out.splitlines()
    at = next(k for k, line in enumerate(lines) if "✕  E broken between" in line)
    assert lines[at - 1].rstrip() == "  ┃  ┃  ╵"
    said = " ".join(line[11:].strip() for line in lines[at : at + 3])
    assert said.count("Charger shelf") >= 2
    assert "core of Tool bench–Charger shelf" in said
    assert "terminal at Charger shelf" in said
    assert lines[at + 1].startswith("  ┃  ┃  ┊")
    assert "○" not in lines[at - 2]


def test_readings_stand_on_their_rung_with_instrument_and_verdict() -> None:
    """A reading says between what, with what, what the suspect gives, and whether it fits."""
    lines = _diagnosed(SHED).out.splitlines()
    rung = next(k for k, line in enumerate(lines) if "●  Tool bench" in line)
    reading = lines[rung + 1]
    assert "L–E 236 V, multimeter" in reading
    assert reading.endswith("V, fits")


def test_a_ring_comes_back_and_a_spur_has_rails_of_its_own() -> None:
    """The ring ends at the board, the spur hangs beside it, an unread circuit is only named."""
    out = halfsplit("diagnose", "-", given=RING).out
    lines = out.splitlines()
    assert any(line.endswith("back to Board") for line in lines)
    spur = next(k for k, line in enumerate(lines) if line.endswith("from Dining"))
    hatch = next(line for line in lines if "Hatch" in line)
    assert lines[spur].startswith("  ┃  ┃  ┃  L  N  E")
    assert hatch.startswith("  ┃  ┃  ┃  ●──")
    assert "Not drawn, nothing read there: lights." in out


def test_state_is_told_without_colour() -> None:
    """Every sign on the ladder is explained in words beneath it."""
    out = _diagnosed(SHED).out
    for sign, words in (("✕", "broken"), ("┊", "floats"), ("▒", "may hurt"), ("●", "held")):
        assert f"{sign} {words}" in out


def test_a_healthy_circuit_is_left_in_peace() -> None:
    """Sound readings: nothing wrong leads, no break, no slip, no alarm, nothing to explain."""
    out = halfsplit("diagnose", "-", given=RING).out
    assert not out.startswith("!")
    assert "✕" not in out
    assert "\nTake again\n" not in out
    assert "\nWhy\n" not in out
    assert "Nothing wrong in what was described" in _block(out, "What could explain it")


def test_a_slip_is_pointed_out() -> None:
    """One figure that nothing fits is marked on its rung and asked for again."""
    wrong = RING + "  - {at: Dining, L-N: 23, by: multimeter}\n  - {at: Dining, L-E: 230}\n"
    wrong += "  - {at: Dining, N-E: 0.1, by: multimeter}\n  - {works: [Dining, Lounge]}\n"
    out = halfsplit("diagnose", "-", given=wrong).out
    assert "a slip?" in out
    assert "L–N 23 V at Dining" in _block(out, "Take again")


@pytest.mark.parametrize("word", ["receptacle", "hot", "equipment ground", "grounded"])
def test_north_america_has_its_words(word: str) -> None:
    """A North American job is told with hot, ground and receptacle."""
    told = _diagnosed(WORKSHOP).out + halfsplit("predict", str(WORKSHOP), "--faults").out
    assert word in told


@pytest.mark.parametrize(
    "word",
    [
        "socket-outlet",
        "consumer unit",
        "protective conductor",
        "R1+R2",
        "cpc",
        "ring end",
        "proved earth",
        "earth terminal",
        "earthed",
    ],
)
def test_north_america_is_not_told_in_british_words(word: str) -> None:
    """Words and tests of other regions do not appear on a North American job."""
    out = _diagnosed(WORKSHOP).out
    assert word not in out


def test_conductors_go_by_the_letters_of_the_region() -> None:
    """The rails are L N E in Britain and H N G in North America."""
    assert "\n  L  N  E\n" in _diagnosed(SHED).out
    assert "\n  H  N  G\n" in _diagnosed(WORKSHOP).out


def test_the_usual_cautions_are_given() -> None:
    """Prove dead, live work only where justified and permitted, local rules, it advises only."""
    for file in (SHED, WORKSHOP, STAIRS):
        care = " ".join(_block(_diagnosed(file).out + "\n\n", "Take care").split())
        for words in ("Dead means proved dead", "justified and permitted", "local rules first"):
            assert words in care
        assert "This advises; you decide." in care


def test_a_lost_supply_neutral_brings_its_own_caution() -> None:
    """Where the supply's neutral may be lost, the main switch is said not to make metal safe."""
    out = " ".join(_diagnosed(WORKSHOP).out.split())
    assert "The supply's neutral may be lost" in out
    assert "metalwork may still be live" in out


def test_words_alter_when_the_circuit_alters() -> None:
    """Explanations come from the solved circuit: without electronics the frame stands elsewhere."""
    text = SHED.read_text(encoding="utf-8")
    bare = text.replace("electronics", "heater 1 kW")
    one, other = (
        _block(halfsplit("diagnose", "-", given=given).out, "Why") for given in (text, bare)
    )
    assert "hang free" in one
    assert one != other


def test_validate_reads_the_form_back() -> None:
    """Supply, circuits, points, what was left out and what is unknown are all read back."""
    out = halfsplit("validate", "-", given="circuits: {hall: {run: [Porch, 4 m, Hall]}}\n").out
    for words in (
        "circuit hall",
        "Porch to Hall: 4 m",
        "supply: ",
        "device of hall: ",
        "Board to Porch",
    ):
        assert words in out


def test_predict_says_what_each_reading_would_show() -> None:
    """With the break the sail loft's earth floats; without it line to earth is whole."""
    sound = halfsplit("predict", str(SHED)).out
    fault = "open joint: joint Charger shelf E Tool bench–Charger shelf"
    broken = halfsplit("predict", str(SHED), "--fault", fault).out
    assert sound.startswith("Nothing wrong.")
    assert "L–E, multimeter: 230 V" in sound.split("Sail loft")[1]
    assert "L–E, multimeter: 118 V" in broken.split("Sail loft\n")[1]


def test_demos_are_listed_and_their_forms_printed() -> None:
    """Every demo can be named, listed, and printed as the form that it is."""
    listed = halfsplit("demo", "--list").out
    for file in sorted(DEMOS.glob("*.yaml")):
        assert file.stem in listed
        assert halfsplit("demo", file.stem, "--form").out == file.read_text(encoding="utf-8")


def test_the_readme_names_every_command_and_no_other() -> None:
    """Each command of the program stands in the README's table, and each of the table's exists."""
    page = (DEMOS.parents[2] / "README.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1] for line in page.splitlines() if line.startswith("| `halfsplit ")]
    told = {name for row in rows for name in re.findall(r"`halfsplit (\w+)", row)}
    known = {c.name or (c.callback.__name__ if c.callback else "") for c in app.registered_commands}
    assert told == known


def test_the_guide_to_the_form_is_at_hand() -> None:
    """``forms`` prints the guide with its examples."""
    out = halfsplit("forms").out
    assert out.startswith("# The written form")
    assert "plugged in:" in out


def test_help_loads_nothing_heavy() -> None:
    """Help comes without NumPy, YAML or the solver being loaded."""
    code = (
        "import sys; sys.argv = ['halfsplit', '--help']\n"
        "from halfsplit.cli.main import run\n"
        "try: run()\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'yaml', 'scipy', 'halfsplit.service', 'rich.console'}\n"
        "heavy &= set(sys.modules)\n"
        "print(sorted(heavy), file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "diagnose" in ran.stdout
    assert ran.stderr.strip() == "[]"


def test_a_failure_of_the_program_is_said_to_be_one(tmp_path: Path) -> None:
    """When the program itself fails it says so, does not blame the form, and ends with 1."""
    code = (
        "import sys; sys.argv = ['halfsplit', 'forms']\n"
        "from halfsplit import cli\nimport halfsplit.cli.commands as c\n"
        "def broken(): raise KeyError('inner')\n"
        "c.forms = broken\n"
        "from halfsplit.cli.main import run\nrun()"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ran.returncode == 1
    assert "The program itself failed (KeyError: 'inner')" in ran.stderr
    assert "Traceback" not in ran.stderr


def test_the_program_runs_as_a_module() -> None:
    """``python -m halfsplit`` is the same command."""
    ran = in_a_process("demo", "--list")
    assert ran.status == 0
    assert "boat-shed" in ran.out
