"""The command line: what it prints, what it writes, and its exit status."""

import io
import json
import math
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from bridge2d import __version__
from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.detail import Requirement
from bridge2d.detail_file import load
from bridge2d.requirements import assess, judge
from bridge2d.results import Bounded, Psi, TemperatureFactor
from bridge2d.tables import as_json, as_text
from tests.small_detail import ONE_FILM

ROOT = Path(__file__).parents[2]
WALL = f"""\
{ONE_FILM}[[probe]]
name = "A"
point = [1000, 320]
[[requirement]]
quantity = "f_rsi"
minimum = 0.7
source = "invented"
"""
# Exact, a plane wall: R = 0.04 + 0.32/0.8 + 0.16 = 0.6, L2D = 2/0.6, θsi = 20 − 25·0.16/0.6.
L2D = 2 / 0.6
SURFACE = 20 - 25 * 0.16 / 0.6
FACTOR = (SURFACE + 5) / 25


@pytest.fixture
def wall(tmp_path):
    file = tmp_path / "wall.toml"
    file.write_text(WALL, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    file = tmp_path_factory.mktemp("cli") / "wall.toml"
    file.write_text(WALL, encoding="utf-8")
    loaded = load(file)
    return calculate(loaded.detail, input_hash=loaded.input_hash)


def process(*words):
    return subprocess.run(
        [sys.executable, "-m", "bridge2d", *words], cwd=ROOT, capture_output=True, encoding="utf-8", check=False
    )


def test_json_holds_what_the_contract_names(wall, capsys):
    assert main(["solve", str(wall), "--json"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out)
    assert set(found) >= {
        "title", "junction", "version", "l2d", "coupling", "heat_flows", "psi", "chi", "flanking", "f_rsi", "probes",
        "mesh", "passes", "sections", "balance", "seconds", "requirements",
    }  # fmt: skip
    assert set(found["sections"][0]) >= {
        "name", "l2d", "coupling", "heat_flows", "f_rsi", "probes", "mesh", "passes", "balance",
    }  # fmt: skip
    assert (found["title"], found["junction"], found["version"]) == ("Plane wall", "free_section", __version__)
    assert found["l2d"]["value"] == pytest.approx(L2D, rel=1e-9)
    assert found["l2d"]["lower"] <= found["l2d"]["value"] <= found["l2d"]["upper"]
    assert {h["environment"]: round(h["flow"], 6) for h in found["heat_flows"]} == {
        "outside": round(-25 * L2D, 6),
        "room": round(25 * L2D, 6),
    }
    assert [p["dimensions"] for p in found["psi"]] == ["external", "internal"]
    assert found["psi"][0]["value"] == pytest.approx(0, abs=1e-9)
    assert found["psi"][1]["value"] == pytest.approx(0.1 / 0.6, rel=1e-6)
    assert found["chi"] is None
    assert found["flanking"][0]["u_value"] == pytest.approx(1 / 0.6)
    assert found["flanking"][0]["lengths"] == {"external": 2000, "internal": 1900}
    room = next(f for f in found["f_rsi"] if f["environment"] == "room")
    assert room["value"] == pytest.approx(FACTOR, abs=room["tolerance"] + 1e-9)
    assert room["temperature"] == pytest.approx(SURFACE, abs=0.01)
    assert found["probes"][0]["temperature"] == pytest.approx(SURFACE, abs=1e-6)
    assert found["requirements"][0]["met"] is True
    assert found["passes"][-1]["triangles"] == found["mesh"]["triangles"]
    assert found["input_hash"] == load(wall).input_hash


def test_json_of_several_sections_has_null_at_the_top(result):
    several = as_json(replace(result, sections=(*result.sections, *result.sections)))
    for key in ("l2d", "coupling", "heat_flows", "flanking", "probes", "mesh", "passes", "balance"):
        assert several[key] is None
        assert several["sections"][1][key] is not None
    assert several["psi"]


def test_json_has_no_nan(result):
    broken = as_json(replace(result, seconds=math.nan, sections=(replace(result.sections[0], balance=math.inf),)))
    assert broken["seconds"] is None
    assert broken["balance"] is None
    json.dumps(broken, allow_nan=False)


def test_text_has_units_and_says_what_is_bounded(result):
    text = as_text(result)
    assert "L2D" in text
    for line in text.splitlines():
        if line.endswith("bounded"):
            assert " ± " in line
            assert " W/" in line
        if "≈" in line:
            assert "estimated" in line
    assert "met: minimum f_Rsi: minimum 0.700, found 0.733 (invented)" in text


def test_a_requirement_that_fails_gives_status_one(wall, capsys):
    wall.write_text(WALL.replace("minimum = 0.7", "minimum = 0.8"), encoding="utf-8")
    assert main(["solve", str(wall)]) == 1
    assert "NOT MET" in capsys.readouterr().out
    assert main(["report", str(wall)]) == 1
    written, told = capsys.readouterr().out.splitlines()
    assert written == f"{wall.with_suffix('.pdf')}: written"
    assert told.strip() == "NOT MET: minimum f_Rsi: minimum 0.800, found 0.733 (invented)"


@pytest.mark.parametrize(
    ("sense", "limit", "met", "certain"),
    [
        ("maximum", 0.3, True, True),
        ("maximum", 0.2, True, True),
        ("maximum", 0.15, False, False),
        ("maximum", 0.05, False, True),
        ("minimum", 0.1, True, True),
        ("minimum", 0.15, False, False),
        ("minimum", 0.25, False, True),
    ],
)
def test_a_limit_is_kept_only_for_certain(sense, limit, met, certain):
    # bracket 0.1 to 0.2, and an estimate 0.15 ± 0.05: exact comparisons
    requirement = Requirement("psi", limit, sense, "limit", "invented", "external")
    found = judge(requirement, Bounded(0.1, 0.2))
    assert (found.met, found.certain, found.value) == (met, certain, pytest.approx(0.15))
    estimate = TemperatureFactor("room", 0.15, 10.0, (0.0, 0.0), 0.25, 0.05 * (1 - 1e-12))
    assert (judge(requirement, estimate).met, judge(requirement, estimate).certain) == (met, certain)


def test_each_limit_finds_its_number():
    psi = tuple(Psi(d, Bounded(v, v), Bounded(1, 1), ()) for d, v in (("external", 0.1), ("internal", 0.2)))
    asked = Requirement("psi", 0.15, "maximum", "limit", "invented", "internal")
    assert assess(asked, psi, None, ()).value == 0.2
    factors = tuple(TemperatureFactor(e, v, 10.0, (0.0, 0.0), 0.25, 0.001) for e, v in (("a", 0.8), ("b", 0.6)))
    assert assess(Requirement("f_rsi", 0.7, "minimum", "limit", "invented"), (), None, factors).value == 0.6


def test_check_computes_nothing_and_prints_one_line(wall, capsys):
    assert main(["check", str(wall)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.count("\n") == 1
    assert "1 region, 2 environments" in out


def test_new_writes_a_file_that_solves_and_refuses_to_overwrite(tmp_path, capsys):
    file = tmp_path / "new.toml"
    assert main(["new", "free_section", str(file)]) == 0
    before = file.read_bytes()
    assert main(["new", "free_section", str(file)]) == 2
    assert "exists already" in capsys.readouterr().err
    assert file.read_bytes() == before
    assert main(["solve", str(file), "--tolerance", "0.01"]) == 0
    assert "Ψ, external" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "COMMAND"),
        (["slove", "x.toml"], "did you mean 'solve'"),
        (["solve"], "DETAIL"),
        (["solve", "a.toml", "b.toml"], "nothing is known of 'b.toml'"),
        (["solve", "a.toml", "--toler", "0.1"], "nothing is known of '--toler"),
        (["solve", "a.toml", "--tolerance", "0"], "--tolerance"),
        (["solve", "a.toml", "--tolerance", "nan"], "--tolerance"),
        (["solve", "a.toml", "--tolerance", "-1"], "--tolerance"),
        (["solve", "a.toml", "--tolerance", "abc"], "--tolerance"),
        (["solve", "a.toml", "--mesher", "other"], "known are auto, grid, gmsh"),
        (["solve", "no such file.toml"], "no such file"),
        (["report", "a.toml", "-o", "b.toml"], "ends in .pdf"),
        (["report", "a.toml", "-o", "a.toml"], "overwrite the detail file"),
        (["report", "a.pdf"], "overwrite the detail file"),
        (["report", "a.toml", "-o", "no such folder/a.pdf"], "folder"),
        (["new", "free_sektion", "x.toml"], "did you mean 'free_section'"),
        (["new", "free_section", "no such folder/x.toml"], "cannot be written"),
        (["junctions", "free"], "there is no junction"),
        (["junctions", "--schema"], "needs the name"),
        (["materials", "no such material"], "no material matches"),
    ],
)
def test_a_wrong_call_is_told_in_one_message(tmp_path, monkeypatch, capsys, words, says):
    monkeypatch.chdir(tmp_path)
    assert main(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert err.startswith("bridge2d: ")
    assert says in err
    assert list(tmp_path.iterdir()) == []


def test_lists(capsys):
    assert main(["junctions"]) == 0
    assert "free_section" in capsys.readouterr().out
    assert main(["junctions", "joist_pocket"]) == 0
    out = capsys.readouterr().out
    assert "bearing_length" in out
    assert "mm" in out
    assert main(["junctions", "free_section", "--schema"]) == 0
    assert json.loads(capsys.readouterr().out)["type"] == "object"
    assert main(["materials", "softwood"]) == 0
    assert "softwood" in capsys.readouterr().out


def test_a_section_is_drawn_by_its_name(wall, capsys):
    name = load(wall).detail.sections[0].name
    target = wall.with_name("a.svg")
    assert main(["draw", str(wall), "-o", str(target), "--section", name]) == 0
    assert target.read_text(encoding="utf-8").startswith("<")
    assert main(["draw", str(wall), "-o", str(target), "--section", "attic"]) == 2
    assert f"the detail has no section 'attic'; name one of '{name}'" in capsys.readouterr().err


def test_a_screen_that_is_no_file_is_written_to_all_the_same(monkeypatch):
    screen = io.StringIO()  # which has no letters that it lacks
    monkeypatch.setattr(sys, "stdout", screen)
    assert main(["materials", "softwood"]) == 0
    assert "softwood" in screen.getvalue()


def test_report_is_written_whole_or_not_at_all(wall, monkeypatch, capsys):
    def fails(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as full:
        full.setattr(Path, "replace", fails)
        assert main(["report", str(wall)]) == 2
    assert "No space left" in capsys.readouterr().err
    assert list(wall.parent.iterdir()) == [wall]

    assert main(["report", str(wall)]) == 0
    written = wall.with_suffix(".pdf").read_bytes()
    assert written.startswith(b"%PDF")
    assert written.rstrip().endswith(b"%%EOF")
    other = wall.parent / "other.pdf"
    assert main(["report", str(wall), "-o", str(other)]) == 0
    assert other.read_bytes() == written


def test_an_interrupt_is_quiet(wall, monkeypatch, capsys):
    def interrupt(*_words, **_options):
        raise KeyboardInterrupt

    monkeypatch.setattr("bridge2d.calculate.calculate", interrupt)
    assert main(["solve", str(wall)]) == 130
    assert capsys.readouterr() == ("", "")


def test_processes_of_their_own(wall):
    version = process("--version")
    assert (version.returncode, version.stdout) == (0, f"bridge2d {__version__}\n")
    solved = process("solve", str(wall), "--json")
    assert solved.returncode == 0
    assert solved.stderr == ""
    assert json.loads(solved.stdout)["title"] == "Plane wall"
    helped = process("--help")
    assert helped.returncode == 0
    assert "solve" in helped.stdout


@pytest.mark.skipif(os.name != "posix", reason="pipes of another kind")
def test_a_reader_that_leaves_is_no_fault(wall):
    words = f"{sys.executable} -m bridge2d solve {wall} --json | head -c 1"
    run = subprocess.run(words, shell=True, cwd=ROOT, capture_output=True, encoding="utf-8", check=False)
    assert run.stderr == ""
    assert run.stdout == "{"


def test_a_cold_check_imports_no_heavy_module():
    code = "import sys, bridge2d.cli, bridge2d.detail_file; print(*sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, encoding="utf-8", check=True)
    loaded = set(run.stdout.split())
    assert "pydantic" in loaded
    assert loaded & {"scipy", "skfem", "gmsh", "shapely", "matplotlib", "reportlab", "rich"} == set()
    code = "import sys, bridge2d.cli; print(*sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, encoding="utf-8", check=True)
    assert set(run.stdout.split()) & {"pydantic", "numpy"} == set()


def test_a_junction_without_an_airtight_layer_is_told(tmp_path, capsys):
    file = tmp_path / "corner.toml"
    file.write_text('junction = "wall_corner"\n[parameters]\nairtight_layer = "none"\n', encoding="utf-8")
    assert main(["solve", str(file)]) == 0
    assert "no airtight layer: none was chosen" in " ".join(capsys.readouterr().out.split())
    assert main(["report", str(file)]) == 0
    text = "".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "corner.pdf").pages)
    assert "No airtight layer: none was chosen" in " ".join(text.split())


@pytest.mark.parametrize(("told", "threads"), [("", "1"), ("3", "3")])
def test_a_command_computes_with_one_thread_unless_told_otherwise(told: str, threads: str, monkeypatch) -> None:
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    if told:
        monkeypatch.setenv("OPENBLAS_NUM_THREADS", told)
    assert main(["junctions"]) == 0
    assert os.environ["OPENBLAS_NUM_THREADS"] == threads
