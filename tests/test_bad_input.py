"""Bad input, as a new user gives it: a message with its five parts, exit status 2 (1 where only solving fails)."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pvlib
import pytest

from .command import run

STATION = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
"""A whole measured TMY3 year that comes with pvlib: two header lines, 8,760 rows."""
DNI, HEADERS = 7, 2


@pytest.fixture(scope="module")
def year() -> list[str]:
    return STATION.read_text().splitlines()


def refused(said, *parts: str, status: int = 2) -> str:
    """One line that says what, where, got, allowed, and what to try; and `parts`, in order."""
    assert said.status == status, said.err
    assert said.out == ""
    assert "Traceback" not in said.err
    assert said.err.startswith("loopnet: ")
    assert said.err.count("\n") == 1
    for piece in ("; got ", "; allowed: ", ". Try: "):
        assert piece in said.err, said.err
    assert re.search(".*".join(parts), said.err), said.err
    return said.err


# -- weather -----------------------------------------------------------------------------------------------------------


def weather(tmp_path, lines, name="year.csv", encoding="utf-8"):
    """Rank one plant under a file of these lines."""
    path = tmp_path / name
    path.write_bytes(lines if isinstance(lines, bytes) else ("\n".join(lines) + "\n").encode(encoding))
    return run("rank", "sand_silo", "--weather", path)


def test_no_weather_file(tmp_path):
    (tmp_path / "valley.epw").write_text("x")
    refused(run("rank", "sand_silo", "--weather", tmp_path / "vally.epw"), "vally.epw: no such file; got /",
            "allowed: EPW, TMY3", "Try: did you mean valley.epw")


def test_truncated(tmp_path, year):
    refused(weather(tmp_path, [*year[:3000], year[3000][:40]]), "year.csv, row 3001: the last row breaks off",
            "got 14 values; allowed: 71 values", "fetch the file again")


def test_shorter_than_a_year(tmp_path, year):
    refused(weather(tmp_path, year[:HEADERS + 100]), "is missing", "got 100 rows", "allowed", "Try")


def test_8759_rows(tmp_path, year):
    refused(weather(tmp_path, year[:500] + year[501:]), "year.csv, row 501: ", "is missing", "got 8759 rows, 1 missing",
            "allowed")


def test_wrong_column(tmp_path, year):
    head = year[1].replace("DNI (W/m^2)", "DNI (W/m2)")
    refused(weather(tmp_path, [year[0], head, *year[2:]]), r"row 2, column DNI \(W/m\^2\): a column is missing; got",
            "allowed: ", r"rename 'DNI \(W/m2\)'")


def test_stretch_of_missing_values(tmp_path, year):
    lines = list(year)
    for row in range(HEADERS + 2000, HEADERS + 2024):
        cells = lines[row].split(",")
        cells[DNI] = "NaN"
        lines[row] = ",".join(cells)
    refused(weather(tmp_path, lines), r"rows? 20\d\d-20\d\d, column DNI", "got", "allowed: ", "3 h|3 hours")


@pytest.mark.parametrize("data", [b"\xff\xfe\x00garbage", bytes(range(128, 256)) * 40])
def test_bytes_that_are_no_text(tmp_path, data):
    refused(weather(tmp_path, data), "year.csv", "not a ")


def test_odd_bytes_in_a_header_are_accepted_with_a_note(tmp_path, year):
    path = tmp_path / "latin.csv"
    path.write_bytes("\n".join([year[0].replace("GREENSBORO", "PEÑA"), *year[1:]]).encode("latin-1"))
    said = run("rank", "sand_silo", "--weather", path, "--json", "-")
    assert said.status == 0, said.err
    assert "row 1: byte 0xd1 is not UTF-8; the file is read as Latin-1" in said.err
    plant, = json.loads(said.out)
    # Direct normal of this station's year, summed from the file's own column by hand: 1,477 kWh/m2.
    assert plant["sun_on_aperture_kwh"] / plant["aperture_m2"] == pytest.approx(1477, rel=0.01)


# -- plants ------------------------------------------------------------------------------------------------------------

NEGATIVE_AREA = """from components.field import CollectorField
from components.row import Row


def build():
    row = Row(length="60 m", aperture="-400 m^2")
"""
BASE = "from architectures.oil_salt import build as base\n\n\ndef build():\n    return base()"


def plant(tmp_path, text, command="check", name="mine.py"):
    path = tmp_path / name
    path.write_text(text)
    return run(command, path)


def test_unknown_plant():
    refused(run("rank", "oil_slat"), "PLANT: no such plant; got 'oil_slat'; allowed: air_rock, air_tower, dish_oil, ",
            "Try: oil_salt")
    refused(run("diff", "sand_silo", "mine.py"), "mine.py: no such plant file", "check the path")
    refused(run("show", "."), "got a folder")


def test_negative_area(tmp_path):
    refused(plant(tmp_path, NEGATIVE_AREA), r"mine.py, line 6: Row.aperture: out of range; got -400 m\^2; allowed: 0.1")


def test_wrong_unit(tmp_path):
    refused(plant(tmp_path, BASE + '.with_component("field", outlet="392 kg")'), "mine.py, line 5: "
            "CollectorField.outlet: wrong unit; got 392 kg")


def test_outlet_above_what_the_medium_stands(tmp_path):
    # Highest bulk temperature of diphenyl oxide/biphenyl: 393 degC by the loop, 400 degC by makers' data (from memory).
    error = refused(plant(tmp_path, BASE + '.with_component("field", outlet="450 degC")'),
                    "field outlet: diphenyl oil is too hot; got 450 degC; allowed: 12 degC to ", "a lower outlet")
    assert 385 <= float(re.search(r"to (\d+) degC", error).group(1)) <= 400


def test_salt_that_freezes_on_its_way_back(tmp_path):
    # Boiling at 12 bar, 188 degC (IAPWS-IF97), takes the salt below 220 to 240 degC, where solar salt freezes.
    error = refused(plant(tmp_path, BASE + '.with_component("turbine", pressure="12 bar")'
                          '.with_component("boiler", hot_outlet_guess="210 degC", pinch="8 K")'),
                    "stream .*: nitrate salt freezes; got", "degC; allowed: ", "a higher return temperature")
    assert float(re.search(r"got ([\d.]+) degC", error).group(1)) < 240


def test_syntax_error(tmp_path):
    refused(plant(tmp_path, "def build(:\n    return 1\n"), "mine.py, line 1: the plant file has a syntax error",
            r"got 'def build\(:'", "mend this line")


def test_no_build(tmp_path):
    refused(plant(tmp_path, "plant = 3\n"), r"mine.py: the plant file has no build\(\)", "architectures/")


def test_build_returns_something_else(tmp_path):
    refused(plant(tmp_path, "def build():\n    return [1, 2]\n"), r"build\(\) does not return a plant; got list")


@pytest.mark.parametrize(("line", "got"), [
    ("1 / 0", "ZeroDivisionError: division by zero"), ("import nothing_here", "ModuleNotFoundError: No module"),
    ("raise SystemExit(0)", "SystemExit: 0"), ("base", "NameError: name 'base' is not defined")])
def test_build_raises(tmp_path, line, got):
    refused(plant(tmp_path, f"def build():\n    {line}\n"), "mine.py, line 2: the plant file does not run; got " + got)


def test_not_a_python_file(tmp_path):
    refused(plant(tmp_path, "hello", name="mine.txt"), "mine.txt: this is not a Python file; got '.txt'")
    (tmp_path / "bytes.py").write_bytes(b"\xff\xfe\x00")
    refused(run("check", tmp_path / "bytes.py"), "bytes.py")


def test_a_port_left_open(tmp_path):
    said = plant(tmp_path, BASE.replace("return base()", "plant = base()\n    plant.streams.pop()\n    return plant"))
    assert said.status == 2
    assert re.search("plant 'oil_salt': the (in|out)let of .* is open; got no stream.*Try: ", said.err)


def test_a_plant_that_has_no_solution(tmp_path):
    """Steam hotter than the salt that makes it: well drawn, within every range, and impossible."""
    refused(plant(tmp_path, BASE + '.with_component("boiler", steam_temperature="395 degC")'),
            "boiler, .*: temperatures cross", "K; allowed: more than 0 K", status=1)


def test_a_plant_file_may_import_its_neighbour(tmp_path):
    (tmp_path / "temperatures_of_mine.py").write_text('HOT = "590 degC"\n')
    said = plant(tmp_path, "from temperatures_of_mine import HOT\nfrom architectures.sand_silo import build as base\n"
                 'def build():\n    return base().with_component("field", outlet=HOT)\n')
    assert said.status == 0, said.err
    assert re.search(r"field +silos.charge +[\d.]+ +590.0", said.out)


# -- as a shell sees it ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("arguments", "status", "part"), [
    (["check", "oil_slat"], 2, "no such plant"),
    (["rank", "sand_silo", "--weather", "nowhere.epw"], 2, "no such file")])
def test_exit_status_of_the_process(tmp_path, arguments, status, part):
    done = subprocess.run([sys.executable, "-m", "loopnet.cli", *arguments], capture_output=True, text=True,
                          cwd=tmp_path, check=False)
    assert (done.returncode, done.stdout) == (status, "")
    assert part in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("arguments", [["rnk"], ["rank", "--jsn", "x"], ["show"], ["diff", "sand_silo"], []])
def test_a_line_that_is_no_command(arguments):
    said = run(*arguments)
    assert said.status == 2
    assert "Usage: loopnet" in said.err + said.out
    assert "Traceback" not in said.err
