"""find and sweep through the command line: what they find is what solving finds, and nothing computed is lost."""

from __future__ import annotations

import csv
import gc
import json
import multiprocessing
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdf
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.detail import Requirement
from bridge2d.detail_file import load
from bridge2d.errors import InputError
from bridge2d.section_results import solve_section
from bridge2d.solved_sections import SolvedSections
from bridge2d.variants.axes import axis, span
from bridge2d.variants.chart import SIZE, chart_bytes, label_inside
from bridge2d.variants.computing import computed_chunk
from bridge2d.variants.finding import find, round_step
from bridge2d.variants.found_words import in_words
from bridge2d.variants.gridded import Gridded
from bridge2d.variants.sweeping import JOURNAL_ENDING, Journal, Plan, swept
from bridge2d.variants.varied import MET, MISSED, REFUSED, Base, computed, numbers, row, standing, varied
from tests.small_detail import CORNER as PLAIN

DETAILS = Path(__file__).parents[2] / "details"
CORNER = f"""\
{PLAIN}[[requirement]]
quantity = "f_rsi"
minimum = 0.75
name = "mould"
source = "test"
"""


@pytest.fixture
def corner(tmp_path: Path) -> Path:
    file = tmp_path / "corner.toml"
    file.write_text(CORNER, encoding="utf-8")
    return file


def solved(file: Path, text: str, tolerance: float = 1e-3):
    """The detail with another text, solved as a user would."""
    other = file.with_name("other.toml")
    other.write_text(text, encoding="utf-8")
    return calculate(load(other).detail, tolerance)


# -- variants ----------------------------------------------------------------------------------------------------------


def test_a_variant_is_the_file_with_that_value(corner: Path) -> None:
    loaded = load(corner)
    changed = CORNER.replace("insulation_thickness = 60", "insulation_thickness = 95")
    expected, found = solved(corner, changed), computed(loaded, {"insulation_thickness": 95.0})
    assert [psi.value for psi in found.psi] == [psi.value for psi in expected.psi]
    assert [one.value for one in found.f_rsi] == [one.value for one in expected.f_rsi]
    assert [one.met for one in found.requirements] == [one.met for one in expected.requirements]


def test_sections_that_do_not_change_are_computed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    loaded = load(Path(__file__).parents[2] / "details" / "tollhouse_joist.toml")
    solved_ones: list[str] = []

    def counted(section, tolerance, *more):
        solved_ones.append(section.name)
        return solve_section(section, tolerance, *more)

    monkeypatch.setattr("bridge2d.section_results.solve_section", counted)
    monkeypatch.setattr("bridge2d.variants.varied._SECTIONS", SolvedSections(10))
    one, other = (computed(loaded, {"bearing_length": length}, 0.01) for length in (120.0, 130.0))
    assert len(solved_ones) == 5  # of three sections the one between the joists shows no bearing
    assert solved_ones.count("between joists") == 1
    again = computed(loaded, {"bearing_length": 120.0}, 0.01)
    assert len(solved_ones) == 5
    assert numbers(again) == numbers(one) != numbers(other)
    plain = calculate(varied(loaded, {"bearing_length": 120.0}), 0.01)
    assert numbers(plain) == numbers(one)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"insulation_thickness": 9000.0}, "insulation_thickness"),
        ({"insulation_material": "unobtainium"}, "insulation_material"),
        ({"inside_temperature": -20.0}, "inside_temperature"),
        ({"nothing": 1.0}, "nothing"),
    ],
)
def test_a_variant_that_does_not_fit_is_refused_by_name(corner: Path, changes: dict, said: str) -> None:
    with pytest.raises(InputError, match=said):
        varied(load(corner), changes)
    found = row(Base.of(load(corner)), changes)
    assert found["status"] == REFUSED
    assert said in str(found["reason"])


@pytest.mark.parametrize(
    ("words", "values"),
    [
        ("insulation_thickness=40:80:3", (40.0, 60.0, 80.0)),
        ("insulation_thickness=4 cm,80 mm", (40.0, 80.0)),
        ("insulation_thickness=50:50:1", (50.0,)),
        ("masonry_material=granite, softwood", ("granite", "softwood")),
        ("masonry_material=granite; solid brick, old, 1600", ("granite", "solid brick, old, 1600")),
    ],
)
def test_axes_are_read_as_in_the_file(corner: Path, words: str, values: tuple) -> None:
    assert axis(words, load(corner)).values == values


def test_a_file_in_inches_is_varied_in_inches(corner: Path) -> None:
    text = CORNER.replace("300", "12").replace("= 60", "= 2.5").replace("junction", 'units = "inch-pound"\njunction', 1)
    corner.write_text(text, encoding="utf-8")
    loaded = load(corner)
    found = axis("insulation_thickness=2:4:3", loaded)
    assert found.values == (2.0, 3.0, 4.0)
    assert found.column == "insulation_thickness [in]"
    assert varied(loaded, {"insulation_thickness": 3.0}) == varied(loaded, {"insulation_thickness": "76.2 mm"})


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("insulation=40:80:3", "did you mean"),
        ("insulation_thickness", "cannot be read"),
        ("insulation_thickness=", "cannot be read"),
        ("insulation_thickness=40:80", "cannot be read"),
        ("insulation_thickness=40:80:0", "how many values"),
        ("insulation_thickness=40:80:x", "how many values"),
        ("insulation_thickness=thick,thin", "insulation_thickness: "),
        ("insulation_thickness=0:1e300:3", "beyond all bounds"),
    ],
)
def test_words_that_cannot_be_read_are_told(corner: Path, words: str, said: str, capsys, tmp_path) -> None:
    assert main(["sweep", str(corner), "--vary", words, "-o", str(tmp_path / "t.csv")]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1
    assert not list(tmp_path.glob("t.*"))


# -- find --------------------------------------------------------------------------------------------------------------


def test_the_found_value_meets_the_limit_and_its_neighbour_does_not(corner: Path, capsys) -> None:
    assert main(["find", str(corner), "--vary", "insulation_thickness=10:110", "--step", "1", "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)
    (crossing,) = found["crossings"]
    assert abs(crossing["met"] - crossing["other"]) == 1
    assert crossing["standing"] == MISSED
    for value, met in ((crossing["met"], True), (crossing["other"], False)):
        text = CORNER.replace("insulation_thickness = 60", f"insulation_thickness = {value}")
        (one,) = solved(corner, text, 1e-5).requirements
        assert (one.met, one.certain) == (met, True)
    assert len(found["trials"]) < 20


def test_a_limit_of_the_call_stands_for_those_of_the_file(corner: Path, capsys) -> None:
    values = [solved(corner, CORNER.replace("= 60", f"= {t}")).psi[0].value for t in (50, 70)]
    limit = 0.5 * (values[0].value + values[1].value)
    call = ["find", str(corner), "--vary", "insulation_thickness=50:70", "--psi-max", f"{limit:.6f}", "--json"]
    assert main(call) == 0
    (found,) = json.loads(capsys.readouterr().out)
    (crossing,) = found["crossings"]
    assert {50, 70} <= {trial["value"] for trial in found["trials"]}
    assert 50 < min(crossing["met"], crossing["other"]) < 70


def test_values_and_limits_have_the_units_of_the_call(corner: Path, tmp_path: Path, capsys) -> None:
    """The same search in either units: 1 in is 25.4 mm, 1 Btu/(h·ft·°F) is 1.730735 W/(m·K)."""
    inches = ["--vary", "insulation_thickness=1:4", "--step", "0.25", "--units", "inch-pound"]
    limit = solved(corner, CORNER).psi[0].value.value
    assert main(["find", str(corner), *inches, "--psi-max", f"{limit / 1.730735:.8f}"]) == 0
    said = capsys.readouterr().out
    assert f"Limits: Ψ external ≤ {limit / 1.730735:.6g} Btu/(h·ft·°F)" in said
    millimetres = ["--vary", "insulation_thickness=25.4:101.6", "--step", "6.35", "--json"]
    assert main(["find", str(corner), *millimetres, "--psi-max", f"{limit:.8f}"]) == 0
    (found,) = json.loads(capsys.readouterr().out)
    (crossing,) = found["crossings"]
    assert f"insulation_thickness = {crossing['met'] / 25.4:g} in: all limits met" in said
    table, chart = tmp_path / "t.csv", tmp_path / "t.pdf"
    call = ["sweep", str(corner), "--vary", "insulation_thickness=2,3,4", "--units", "inch-pound", "-o", str(table)]
    assert main([*call, "--chart", str(chart), "--jobs", "1"]) == 0
    assert "Ψ external [Btu/(h·ft·°F)]: within" in capsys.readouterr().out
    expected = solved(corner, CORNER.replace("= 60", "= 76.2")).psi[0].value
    [one] = [cell for cell in cells(table) if cell["insulation_thickness [in]"] == "3"]
    assert float(one["psi_external [W/(m·K)]"]) == pytest.approx(expected.value, rel=1e-8)
    assert "Ψ external [Btu/(h·ft·°F)]" in pypdf.PdfReader(chart).pages[0].extract_text()


def test_no_value_and_every_value(corner: Path, capsys) -> None:
    vary = ["--vary", "insulation_thickness=20:40", "--step", "5"]
    assert main(["find", str(corner), *vary, "--f-rsi-min", "0.999"]) == 1
    assert "the limits are met at none of 5 values of insulation_thickness from 20 to 40 mm" in capsys.readouterr().out
    assert main(["find", str(corner), *vary, "--f-rsi-min", "0.1"]) == 0
    assert "all limits are met at each of 5 values" in capsys.readouterr().out


def test_a_second_parameter_is_set_in_turn(corner: Path, capsys) -> None:
    call = ["find", str(corner), "--vary", "insulation_thickness=10:110", "--vary", "masonry_thickness=250,450"]
    assert main([*call, "--step", "20", "--json"]) == 0
    thin, thick = json.loads(capsys.readouterr().out)
    assert (thin["fixed"], thick["fixed"]) == ({"masonry_thickness": 250.0}, {"masonry_thickness": 450.0})
    assert thin["crossings"]
    assert thick["crossings"] != thin["crossings"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "0 parameters are varied"),
        (["--vary", "insulation_thickness=80:40"], "the least first"),
        (["--vary", "insulation_thickness=40:80:3"], "cannot be read"),
        (["--vary", "masonry_material=granite:softwood"], "no quantity"),
        (["--vary", "insulation_thickness=40:80", "--vary", "insulation_thickness=1,2"], "varied twice"),
        (["--vary", "insulation_thickness=40:80", "--step", "90"], "does not fit the range"),
        (["--vary", "insulation_thickness=40:80", "--step", "0"], "no step"),
        (["--vary", "inside_temperature=20:20.0000000001"], "no room"),
        (["--vary", "insulation_thickness=40:80", "--psi-max", "nan"], "no limit"),
        (["--vary", "insulation_thickness=40:80", "--chi-max", "1"], "has no chi"),
        (["--vary", "insulation_thickness=40:80", "--u-max", "1"], "has no u_value"),
    ],
)
def test_calls_that_find_nothing_are_told(corner: Path, words: list[str], said: str, capsys) -> None:
    assert main(["find", str(corner), *words]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


def test_without_a_limit_there_is_nothing_to_find(corner: Path, capsys) -> None:
    corner.write_text(CORNER[: CORNER.index("[[requirement]]")], encoding="utf-8")
    assert main(["find", str(corner), "--vary", "insulation_thickness=40:80"]) == 2
    assert "there is no limit that could be met" in capsys.readouterr().err


def test_a_free_section_has_no_parameters(tmp_path: Path, capsys) -> None:
    assert main(["new", "free_section", str(tmp_path / "free.toml")]) == 0
    capsys.readouterr()
    assert main(["find", str(tmp_path / "free.toml"), "--vary", "region=1:2"]) == 2
    assert "no parameters that could be varied" in capsys.readouterr().err


def test_values_that_are_refused_are_no_answer(corner: Path) -> None:
    loaded = load(corner)
    found = find(loaded, span("inside_temperature=-20:20", loaded), loaded.detail.requirements, step=5.0)
    standings = [trial.standing for trial in found.trials]
    assert standings[0] == REFUSED
    assert MET in standings
    assert any("refused (inside_temperature: " in words for words in in_words(found))


def test_no_value_where_some_are_refused_is_told_with_their_counts(corner: Path) -> None:
    loaded = load(corner)
    limit = Requirement("f_rsi", 0.999, "minimum", "x", "test")
    found = find(loaded, span("inside_temperature=-20:20", loaded), (limit,), step=5.0)
    assert not found.any_met
    (said,) = in_words(found)
    counts = [sum(one.standing == standing for one in found.trials) for standing in (MISSED, REFUSED)]
    assert said.startswith(
        f"the limits are met at none of {len(found.trials)} values of inside_temperature from -20 to 20 °C: "
        f"{counts[0]} not met, {counts[1]} refused; closest is "
    )


def test_on_a_terminal_every_value_and_variant_is_told(corner: Path, tmp_path: Path, capsys, monkeypatch) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    call = ["find", str(corner), "--vary", "insulation_thickness=40:41", "--f-rsi-min", "0.1", "--step", "1"]
    assert main(call) == 0
    told = capsys.readouterr().err
    assert told == "  insulation_thickness = 40 mm: met\n  insulation_thickness = 41 mm: met\n"
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", "-o", str(tmp_path / "t.csv")]
    assert main([*call, "--jobs", "1", "--between", "0"]) == 0
    told = [one.strip() for one in capsys.readouterr().err.split("\r") if one.strip()]
    assert told[-1] == "3 of 3 variants, about 0 s left"


def test_a_step_is_round() -> None:
    assert [round_step(width) for width in (100.0, 180.0, 200.0, 0.5, 7.0)] == [0.5, 1.0, 1.0, 0.005, 0.05]


def test_a_limit_within_the_bracket_is_decided_by_a_narrower_one(corner: Path) -> None:
    """A Ψ so close to the limit that the usual bracket holds it."""
    loaded = load(corner)
    psi = computed(loaded, {}).psi[0].value
    limit = psi.value + 0.3 * psi.half_width
    limits = (loaded.detail.requirements[0].__class__("psi", limit, "maximum", "x", "test", "external"),)
    wide = computed(load(corner), {}, 1e-3)
    found = find(loaded, span("insulation_thickness=60:60.001", loaded), limits, step=0.001)
    assert found.trials[0].standing in (MET, MISSED)
    assert standing(wide) == MET


# -- sweep -------------------------------------------------------------------------------------------------------------


def cells(file: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(file.read_text(encoding="utf-8-sig").splitlines()))


def test_every_variant_has_its_row(corner: Path, tmp_path: Path, capsys) -> None:
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", "--vary", "masonry_thickness=250,9000"]
    assert main([*call, "-o", str(tmp_path / "t.csv"), "--jobs", "1"]) == 0
    rows = cells(tmp_path / "t.csv")
    assert [row["insulation_thickness [mm]"] for row in rows] == ["40", "40", "60", "60", "80", "80"]
    assert [row["status"] for row in rows] == ["computed", "refused"] * 3
    assert "masonry_thickness" in rows[1]["reason"]
    expected = solved(corner, CORNER.replace("= 60", "= 80").replace("= 300", "= 250"))
    psi = next(one.value for one in expected.psi if one.dimensions == "internal")
    assert float(rows[4]["psi_internal [W/(m·K)]"]) == pytest.approx(psi.value, rel=1e-8)
    assert float(rows[4]["psi_internal_lower [W/(m·K)]"]) == pytest.approx(psi.lower, rel=1e-8)
    assert rows[4]["limits"] == standing(expected)
    assert "6 variants written; 3 refused" in capsys.readouterr().out
    assert not (tmp_path / f"t.csv{JOURNAL_ENDING}").exists()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no process can be killed so here")
def test_processes_side_by_side_give_the_same_table_though_one_is_killed(corner: Path, tmp_path: Path, capsys) -> None:
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:24", "--between", "0"]
    axes = (axis("insulation_thickness=40:80:24", load(corner)),)
    plan = Plan(Base.of(load(corner)), axes, 1e-3, between=0)
    journal = Journal(tmp_path / f"2.csv{JOURNAL_ENDING}", plan)

    def kill(done: int, _count: int, _what: str) -> None:
        if done:
            os.kill(multiprocessing.active_children()[0].pid, signal.SIGKILL)

    ended = r"a process that computed was ended from outside; (8|16) of 24 variants are kept"
    with closing(journal), pytest.raises(InputError, match=ended) as said:
        swept(plan, journal, 2, progress=kill)
    assert "the same call goes on from there" in str(said.value)
    for jobs in ("1", "2"):
        assert main([*call, "-o", str(tmp_path / f"{jobs}.csv"), "--jobs", "1"]) == 0
    assert re.search(r"24 variants written, (8|16) of them by an earlier run", capsys.readouterr().out)
    assert (tmp_path / "1.csv").read_bytes() == (tmp_path / "2.csv").read_bytes()


def test_a_hypercube_has_one_point_in_every_slice(corner: Path, tmp_path: Path) -> None:
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80", "--vary", "masonry_thickness=200:400:2"]
    assert main([*call, "--hypercube", "8", "-o", str(tmp_path / "t.csv"), "--jobs", "1"]) == 0
    rows = cells(tmp_path / "t.csv")
    for name, low, width in (("insulation_thickness [mm]", 40, 40), ("masonry_thickness [mm]", 200, 200)):
        slices = sorted(int((float(row[name]) - low) / width * 8) for row in rows)
        assert slices == list(range(8))


def test_a_hypercube_takes_each_word_as_often(corner: Path) -> None:
    loaded = load(corner)
    axes = (axis("masonry_material=granite,softwood", loaded), axis("insulation_thickness=40:80:2", loaded))
    found = Plan(Base.of(loaded), axes, 1e-3, 8, 0).variants()
    assert sorted(one["masonry_material"] for one in found) == ["granite"] * 4 + ["softwood"] * 4


def test_a_row_has_what_the_detail_has(corner: Path) -> None:
    window = calculate(load(DETAILS / "tollhouse_window.toml").detail, 0.1)
    found = numbers(window)
    assert window.psi_installation is not None
    assert [found[f"psi_installation_{side.name}"] for side in window.installations] == [
        side.psi.value for side in window.installations
    ]
    assert not any(name.startswith("psi_external") for name in found)
    bare = numbers(replace(calculate(load(corner).detail, 0.1), f_rsi=(), requirements=()))
    assert "f_rsi" not in bare
    assert "limits" not in bare
    assert "psi_external" in bare


def test_an_interrupted_sweep_goes_on(corner: Path, tmp_path: Path, capsys, monkeypatch) -> None:
    axes = (axis("insulation_thickness=40:80:20", load(corner)),)
    plan = Plan(Base.of(load(corner)), axes, 1e-3, between=0)
    journal = Journal(tmp_path / f"t.csv{JOURNAL_ENDING}", plan)
    for number, found in computed_chunk(plan.base, 1e-3, tuple(enumerate(plan.variants()[:9]))):
        journal.add(number, found)
    journal.close()
    with journal.path.open("ab") as file:
        file.write(b'[9, {"status": "comp')  # torn in the middle of a line
    seen = []

    def counted(base, tolerance, chunk):
        seen.extend(number for number, _ in chunk)
        return computed_chunk(base, tolerance, chunk)

    monkeypatch.setattr("bridge2d.variants.computing.computed_chunk", counted)
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:20", "-o", str(tmp_path / "t.csv")]
    assert main([*call, "--jobs", "1", "--between", "0"]) == 0
    assert seen == list(range(9, 20))
    assert "20 variants written, 9 of them by an earlier run" in capsys.readouterr().out
    assert len(cells(tmp_path / "t.csv")) == 20


def test_the_journal_of_another_sweep_is_left_alone(corner: Path, tmp_path: Path, capsys) -> None:
    journal = tmp_path / f"t.csv{JOURNAL_ENDING}"
    for text in (b'{"sweep": "another"}\n[0, {}]\n', b"rows\n"):
        journal.write_bytes(text)
        call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:2", "-o", str(tmp_path / "t.csv")]
        assert main([*call, "--jobs", "1"]) == 2
        assert "the rows of another sweep" in capsys.readouterr().err
        assert journal.read_bytes() == text


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no process can be killed so here")
def test_a_sweep_that_is_killed_loses_nothing(corner: Path, tmp_path: Path) -> None:
    call = [sys.executable, "-m", "bridge2d", "sweep", str(corner), "--vary", "insulation_thickness=40:80:32"]
    call += ["-o", str(tmp_path / "t.csv"), "--jobs", "1", "--between", "0"]
    journal = tmp_path / f"t.csv{JOURNAL_ENDING}"
    with subprocess.Popen(call, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        until = time.monotonic() + 60
        while time.monotonic() < until and (not journal.exists() or journal.read_bytes().count(b"\n") < 9):
            time.sleep(0.02)
        process.kill()
    kept = journal.read_bytes().count(b"\n") - 1
    assert kept >= 8
    done = subprocess.run(call, capture_output=True, text=True, check=True)
    assert kept == 32 or f"{kept} of them by an earlier run" in done.stdout
    assert len(cells(tmp_path / "t.csv")) == 32


def test_parquet_holds_the_same_table(corner: Path, tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", "--jobs", "1"]
    for name in ("t.csv", "t.parquet"):
        assert main([*call, "-o", str(tmp_path / name)]) == 0
    made = parquet.read_table(tmp_path / "t.parquet")
    rows = cells(tmp_path / "t.csv")
    assert made.column_names == list(rows[0])
    assert made["f_rsi"].to_pylist() == pytest.approx([float(row["f_rsi"]) for row in rows], rel=1e-8)
    assert b"bridge2d" in made.schema.metadata
    assert made.schema.metadata[b"fixed: masonry_thickness"] == b"300 mm"
    assert any(name.startswith(b"f_rsi: error of linear interpolation") for name in made.schema.metadata)


def test_parquet_without_its_library_is_told(corner: Path, tmp_path: Path, capsys, monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", "-o", str(tmp_path / "t.parquet")]
    assert main(call) == 2
    assert "pip install 'bridge2d[parquet]'" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["-o", "t.txt"], "the file is a CSV or PARQUET"),
        (["-o", "missing/t.csv"], "its folder does not exist"),
        (["-o", "t.csv", "--chart", "t.doc"], "the file is a PDF or SVG or PNG"),
        (["-o", "t.csv", "--hypercube", "0"], "no number"),
        (["-o", "t.csv", "--limit", "nan"], "no limit"),
        (["-o", "t.csv", "--between", "-1"], "no number of values"),
        (
            ["-o", "t.csv", "--vary", "insulation_material=mineral foam board,mineral wol 0.040"],
            "'mineral wool 0.040'?",
        ),
        (["-o", "t.csv", "--vary", "masonry_thickness=1:2:90000", "--vary", "board_thickness=1:2:90000"], "variants"),
    ],
)
def test_calls_that_cannot_be_swept_are_told(corner, words, said, capsys, monkeypatch, tmp_path) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", *words]) == 2
    assert said in capsys.readouterr().err


def test_a_table_that_the_detail_reads_is_not_written_over(tmp_path, capsys) -> None:
    for name in ("tollhouse_joist.toml", "tollhouse_climate.csv"):
        shutil.copy(DETAILS / name, tmp_path / name)
    climate = tmp_path / "tollhouse_climate.csv"
    before = climate.read_bytes()
    call = ["sweep", str(tmp_path / "tollhouse_joist.toml"), "--vary", "insulation_thickness=60,80", "-o", str(climate)]
    assert main(call) == 2
    assert "would overwrite a file that is read" in capsys.readouterr().err
    assert climate.read_bytes() == before
    assert len(list(tmp_path.iterdir())) == 2


def test_nothing_varied_is_told(corner: Path, capsys, tmp_path) -> None:
    assert main(["sweep", str(corner), "-o", str(tmp_path / "t.csv")]) == 2
    assert "nothing is varied" in capsys.readouterr().err


# -- chart and error of interpolation ----------------------------------------------------------------------------------


@pytest.mark.parametrize("ending", ["pdf", "svg", "png"])
def test_a_chart_is_the_same_every_time(corner: Path, tmp_path: Path, ending: str) -> None:
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", "--vary", "masonry_thickness=250,350,450"]
    for name in ("a", "b"):
        words = ["-o", str(tmp_path / f"{name}.csv"), "--chart", str(tmp_path / f"{name}.{ending}"), "--jobs", "1"]
        assert main([*call, *words, "--of", "f_rsi"]) == 0
    assert (tmp_path / f"a.{ending}").read_bytes() == (tmp_path / f"b.{ending}").read_bytes()


def test_a_chart_over_one_parameter_shows_the_limit(corner: Path, tmp_path: Path, capsys) -> None:
    call = [
        "sweep",
        str(corner),
        "--vary",
        "insulation_thickness=40:80:3",
        "-o",
        str(tmp_path / "t.csv"),
        "--jobs",
        "1",
    ]
    assert main([*call, "--chart", str(tmp_path / "t.pdf"), "--of", "f_rsi"]) == 0

    assert "limit 0.75" in pypdf.PdfReader(tmp_path / "t.pdf").pages[0].extract_text()
    assert main([*call, "--chart", str(tmp_path / "t.pdf"), "--of", "colour"]) == 2
    assert "there is no number 'colour'" in capsys.readouterr().err


def test_a_chart_leaves_out_ends_that_were_refused_and_says_where_a_limit_lies(corner: Path, tmp_path: Path) -> None:
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40,60,90000", "--vary", "masonry_thickness=250,350"]
    words = ["-o", str(tmp_path / "t.csv"), "--chart", str(tmp_path / "t.pdf"), "--jobs", "1", "--limit", "0.5"]
    assert main([*call, *words]) == 0
    said = pypdf.PdfReader(tmp_path / "t.pdf").pages[0].extract_text()
    assert "the limit 0.5 lies above all values" in said
    assert "80000" not in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--vary", "insulation_thickness=40,60", "--hypercube", "2"], "a hypercube has no chart"),
        (["--vary", "insulation_thickness=40,60", "--of", "colour"], "there is no number 'colour'"),
        (["--vary", "masonry_material=granite,softwood"], "one or two parameters that are numbers"),
        (
            [f"--vary={name}_thickness=10,20" for name in ("insulation", "board", "parge")],
            "one or two parameters that are numbers",
        ),
    ],
)
def test_what_has_no_chart_is_told_before_it_is_computed(
    corner: Path, tmp_path: Path, words: list[str], said: str, capsys
) -> None:
    call = ["sweep", str(corner), *words, "-o", str(tmp_path / "t.csv"), "--chart", str(tmp_path / "t.pdf")]
    assert main([*call, "--jobs", "1"]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "t.csv").exists()


def test_a_chart_of_nothing_is_told_and_the_table_of_reasons_is_written(corner: Path, tmp_path: Path, capsys) -> None:
    call = ["sweep", str(corner), "--vary", "insulation_thickness=-1,-2", "-o", str(tmp_path / "t.csv"), "--jobs", "1"]
    assert main([*call, "--chart", str(tmp_path / "t.pdf")]) == 2
    assert "no variant has a number" in capsys.readouterr().err
    assert len(cells(tmp_path / "t.csv")) == 2


def test_labels_of_contours_stand_well_within_the_chart() -> None:
    figure = Figure(figsize=SIZE)
    FigureCanvasAgg(figure)
    plot = figure.add_subplot()
    x, y = np.linspace(40.0, 160.0, 4), np.linspace(200.0, 500.0, 4)
    lines = plot.contour(x, y, np.add.outer(y / 100.0, x / 40.0), levels=12)
    labelled = label_inside(plot, lines, fontsize=7.0, fmt="%g")
    figure.canvas.draw()
    box = plot.get_window_extent()
    assert len(lines.labelTexts) == labelled >= 6
    for text in lines.labelTexts:
        around = text.get_window_extent()
        assert box.x0 < around.x0 < around.x1 < box.x1
        assert box.y0 < around.y0 < around.y1 < box.y1


def test_a_chart_without_a_limit_and_one_of_a_number_that_stays(corner: Path) -> None:
    axes = [axis("insulation_thickness=40:80:3", load(corner)), axis("masonry_thickness=250,350,450", load(corner))]

    def words(found: Gridded, drawn: list, limit: float | None) -> str:
        return pypdf.PdfReader(BytesIO(chart_bytes(found, drawn, limit, ".pdf"))).pages[0].extract_text()

    values = np.array([0.1, 0.2, 0.4])
    line = Gridded("psi_external", values, values, values, 0.0, None)
    assert "limit" not in words(line, axes[:1], None)
    assert "limit 0.3" in words(line, axes[:1], 0.3)
    rising = np.add.outer(values, values)
    assert "limit 0.3" in words(Gridded("psi_external", rising, rising, rising, 0.0, None), axes, 0.3)
    assert "the limit 0.9 lies above" in words(Gridded("psi_external", rising, rising, rising, 0.0, None), axes, 0.9)
    same = np.full((3, 3), 0.25)
    text = words(Gridded("psi_external", same, same, same, 0.0, None), axes, 0.25)
    assert "Ψ external" in text
    assert "limit" not in text


# -- a cluster ---------------------------------------------------------------------------------------------------------


def test_a_cluster_loses_nothing_when_a_worker_is_killed(corner: Path, tmp_path: Path, monkeypatch) -> None:
    distributed, dask = pytest.importorskip("distributed"), pytest.importorskip("dask")
    workers = {"n_workers": 2, "threads_per_worker": 1, "processes": True, "host": "tcp://127.0.0.1"}
    monkeypatch.setitem(dask.config.config["distributed"]["scheduler"], "allowed-failures", 0)  # gives nothing again
    with distributed.LocalCluster(**workers, dashboard_address="127.0.0.1:0", silence_logs=50) as cluster:
        plan = Plan(Base.of(load(corner)), (axis("insulation_thickness=40:80:48", load(corner)),), 1e-3, between=0)
        journal = Journal(tmp_path / "t.part", plan)
        victims = [worker.pid for worker in cluster.workers.values()]
        killed = []

        def kill(done: int, _count: int, _what: str) -> None:
            if done and not killed:
                os.kill(victims[0], signal.SIGKILL)
                killed.append(done)

        found = swept(plan, journal, 1, cluster.scheduler_address, kill).rows
        journal.close(done=True)
    assert killed
    assert len(found) == 48
    alone = row(plan.base, found[-1][0])
    assert found[-1][1] == alone


def test_a_cluster_that_is_not_there_is_told(corner: Path, tmp_path: Path, capsys, monkeypatch) -> None:
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", "-o", str(tmp_path / "t.csv")]
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert main([*call, "--scheduler", "tcp://127.0.0.1:1"]) == 2
    assert "pip install 'bridge2d[cluster]'" in capsys.readouterr().err


@pytest.mark.parametrize(
    "address", ["nonsense", "tcp://127.0.0.1:port", "http://127.0.0.1:8786", "tcp://127.0.0.1:99999"]
)
def test_an_address_that_is_none_is_told_at_once(corner: Path, tmp_path: Path, capsys, address: str) -> None:
    pytest.importorskip("distributed")
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", "-o", str(tmp_path / "t.csv")]
    begun = time.monotonic()
    assert main([*call, "--scheduler", address]) == 2
    gc.collect()  # what was begun and left would be waited for here
    assert time.monotonic() - begun < 5
    err = capsys.readouterr().err
    assert "is no address" in err
    assert err.count("\n") == 1
    assert not list(tmp_path.glob("t.csv*"))


def test_where_nobody_listens_is_told(corner: Path, tmp_path: Path, capsys) -> None:
    pytest.importorskip("distributed")
    call = ["sweep", str(corner), "--vary", "insulation_thickness=40:80:3", "-o", str(tmp_path / "t.csv")]
    assert main([*call, "--scheduler", "tcp://127.0.0.1:1"]) == 2
    assert "the scheduler cannot be reached (tcp://127.0.0.1:1: " in capsys.readouterr().err


@pytest.mark.parametrize("gone", ["worker", "scheduler", "replaced"])
def test_a_cluster_that_goes_is_told_and_a_worker_that_comes_gets_the_work(
    corner: Path, tmp_path: Path, monkeypatch, gone: str
) -> None:
    distributed = pytest.importorskip("distributed")
    monkeypatch.setattr("bridge2d.variants.cluster.PATIENCE", 0.5 if gone == "worker" else 30.0)
    monkeypatch.setattr("bridge2d.variants.cluster.LOOK", 0.1)
    plan = Plan(Base.of(load(corner)), (axis("insulation_thickness=40:80:48", load(corner)),), 0.1, between=0)
    journal = Journal(tmp_path / "t.part", plan)
    workers = {"n_workers": 1, "threads_per_worker": 1, "processes": False, "protocol": "tcp", "host": "127.0.0.1"}
    made = distributed.LocalCluster(**workers, dashboard_address="127.0.0.1:0", silence_logs=50)
    with closing(journal), made as cluster:
        address = cluster.scheduler_address

        def end(done: int, _count: int, _what: str) -> None:
            if done == 8:
                cluster.close() if gone == "scheduler" else cluster.scale(0)
            if done == 8 and gone == "replaced":
                cluster.scale(1)

        if gone == "replaced":
            assert len(swept(plan, journal, 1, address, end).rows) == 48
        else:
            said = "no worker for" if gone == "worker" else "the scheduler"
            with pytest.raises(InputError, match=rf"{said}.*\d+ of 48 variants are kept here; the same call goes on"):
                swept(plan, journal, 1, address, end)
            assert 8 <= len(journal.rows) < 48
