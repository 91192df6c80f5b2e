"""Recheck of a report: an honest one agrees, and every way of altering one is found out or refused."""

from __future__ import annotations

import hashlib
import io
import json
import os
import random
import re
import subprocess
import sys
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pikepdf
import pypdf
import pytest

from bridge2d import materials
from bridge2d import nomenclature as n
from bridge2d.calculate import calculate
from bridge2d.cli import main
from bridge2d.detail_file import load, read
from bridge2d.errors import MissingLibraryError
from bridge2d.gmsh_mesh import load_gmsh
from bridge2d.mesh import OTHER_START, mesh_section
from bridge2d.recheck import again, opened, recheck
from bridge2d.recheck.compared import ROUNDING, Row, compared, identity
from bridge2d.recheck.records import Results
from bridge2d.recheck.stated import Number
from bridge2d.report import report_bytes
from bridge2d.report.enclosures import PAGE_DIGESTS, PAGES, RESULTS
from bridge2d.results import Bounded
from bridge2d.section_results import solve_section
from tests.zeros import zeros

ROOT = Path(__file__).parents[2]
CORNER = """\
junction = "free_section"
title = "Corner of the Tollhouse (invented)"
project = "Tollhouse"
revision = "A"
author = "the designer"
date = "2026-11-25"
[[region]]
name = "brick"
material = "solid brick, old, 1600"
polygon = [[0, 0], [1600, 0], [1600, 330], [330, 330], [330, 1600], [0, 1600]]
[[region]]
name = "foam board"
material = "mineral foam board"
polygon = [[330, 330], [1600, 330], [1600, 410], [410, 410], [410, 1600], [330, 1600]]
[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[0, 1600], [0, 0], [1600, 0]]
[[environment]]
name = "room"
temperature = 20
surface_resistance = 0.13
edge = [[1600, 410], [410, 410], [410, 1600]]
[[flanking]]
name = "wall to the right"
cut = [[1600, 0], [1600, 410]]
lengths = { external = 1600, internal = 1190 }
[[flanking]]
name = "wall upward"
cut = [[0, 1600], [410, 1600]]
lengths = { external = 1600, internal = 1190 }
[[probe]]
name = "inner corner"
point = [410, 410]
[[requirement]]
quantity = "f_rsi"
minimum = 0.7
source = "invented"
"""
OBLIQUE = """\
junction = "free_section"
title = "Oblique strip (invented)"
[[region]]
name = "strip"
conductivity = 0.05
polygon = [[0, 0], [1600, 800], [1520, 980], [-80, 180]]
[[environment]]
name = "outside"
temperature = -5
surface_resistance = 0.04
edge = [[-80, 180], [1520, 980]]
[[environment]]
name = "attic"
temperature = 20
surface_resistance = 0.13
edge = [[0, 0], [1600, 800]]
"""


def gmsh_starts() -> bool:
    try:
        load_gmsh()
    except MissingLibraryError:
        return False
    return True


needs_gmsh = pytest.mark.skipif(not gmsh_starts(), reason="gmsh's system libraries are not installed")


@pytest.fixture(scope="module")
def written(tmp_path_factory) -> bytes:
    """The corner's report, written by the command."""
    folder = tmp_path_factory.mktemp("recheck")
    (folder / "corner.toml").write_text(CORNER, encoding="utf-8")
    assert main(["report", str(folder / "corner.toml")]) == 0
    return (folder / "corner.pdf").read_bytes()


@pytest.fixture
def check(tmp_path, capsys) -> Callable[[bytes], tuple[int, str, str]]:
    """Exit status, output and message of a recheck of some bytes."""

    def checked(data: bytes, *words: str) -> tuple[int, str, str]:
        file = tmp_path / "report.pdf"
        file.write_bytes(data)
        capsys.readouterr()
        status = main(["recheck", str(file), *words])
        out, err = capsys.readouterr()
        assert (status == 2) == (out == "")
        assert err.count("\n") == (1 if status == 2 else 0)
        assert [path.name for path in tmp_path.iterdir()] == ["report.pdf"]
        return status, out, err

    return checked


def unusable(check: Callable[[bytes], tuple[int, str, str]], data: bytes, name: str) -> str:
    """What is said of a report whose enclosed file was changed so that it cannot be used."""
    status, out, _ = check(data)
    assert status == 1
    assert f"the enclosed file {name} is not the one whose SHA-256 stands on the pages: it was changed" in out
    assert out.rstrip().endswith("see above.")
    assert "DISAGREES: nothing was computed again, 2 findings" in out
    assert "AGREES: all" not in out
    assert "same rows today" not in out  # nobody looked
    assert "\x1b" not in out
    (said,) = re.findall(r"DISAGREES: nothing was computed again: (.*)", out)
    assert "report.pdf" in said
    return said


def altered(data: bytes, change: Callable[[pikepdf.Pdf], None], **options) -> bytes:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        change(pdf)
        out = io.BytesIO()
        pdf.save(out, **options)
    return out.getvalue()


def enclose(pdf: pikepdf.Pdf, name: str, data: bytes) -> None:
    if name in pdf.attachments:
        del pdf.attachments[name]
    pdf.attachments[name] = pikepdf.AttachedFileSpec(pdf, data, filename=name)


def enclosed(pdf: pikepdf.Pdf, name: str) -> bytes:
    return pdf.attachments[name].get_file().read_bytes()


def with_file(data: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    return altered(data, lambda pdf: enclose(pdf, name, change(enclosed(pdf, name))))


def changed(change: Callable[[dict], None]) -> Callable[[bytes], bytes]:
    """A change of a JSON file."""

    def of_bytes(data: bytes) -> bytes:
        document = json.loads(data)
        change(document)
        return json.dumps(document).encode()

    return of_bytes


def with_results(data: bytes, change: Callable[[dict], None]) -> bytes:
    return with_file(data, RESULTS, changed(change))


def with_page(data: bytes, old: bytes, new: bytes) -> bytes:
    """The report with some drawing instructions of its pages replaced."""
    seen = []

    def change(pdf: pikepdf.Pdf) -> None:
        for page in pdf.pages:
            drawn = page.Contents.read_bytes()
            seen.append(drawn.count(old))
            page.Contents.write(drawn.replace(old, new))

    made = altered(data, change)
    assert sum(seen)
    return made


# -- an honest report --------------------------------------------------------------------------------------------------


def test_an_honest_report_agrees(check, written):
    status, out, _ = check(written)
    assert status == 0
    assert "AGREES" in out
    assert "DISAGREES" not in out
    assert "the catalogue has the same rows today" in out
    assert "both brackets overlap" in out


def test_json_has_every_number_old_and_new(check, written):
    status, out, _ = check(written, "--json")
    found = json.loads(out)
    assert status == 0
    assert found["agrees"] is True
    assert found["findings"] == []
    names = {row["name"] for row in found["numbers"]}
    assert {"Ψ, external", "Ψ, internal"} <= names
    assert any(name.startswith("L2D") for name in names)
    assert any(name.startswith("fRsi of room") for name in names)
    assert any(name.startswith("θ at inner corner") for name in names)
    for row in found["numbers"]:
        assert row["difference"] == pytest.approx(row["new"]["value"] - row["old"]["value"], abs=1e-15)
        assert row["inside"]
    assert {file["name"] for file in found["enclosed"]} == {"corner.toml", "materials.csv", RESULTS, PAGES}


@needs_gmsh
def test_the_other_mesher_computes_it(written, tmp_path):
    (tmp_path / "r.pdf").write_bytes(written)
    (mesh,) = recheck(tmp_path / "r.pdf").meshes
    assert (mesh.then, mesh.now, mesh.why) == ("grid", "gmsh", "")


def test_without_gmsh_the_same_mesher_begins_otherwise(check, written, monkeypatch):
    def missing() -> None:
        raise MissingLibraryError("gmsh cannot start here")

    monkeypatch.setattr("bridge2d.gmsh_mesh.load_gmsh", missing)
    status, out, _ = check(written)
    assert status == 0
    assert "grid from another first mesh now, because gmsh cannot start here" in out


@needs_gmsh
def test_what_the_grid_cannot_mesh_gmsh_begins_otherwise(tmp_path, capsys):
    (tmp_path / "strip.toml").write_text(OBLIQUE, encoding="utf-8")
    assert main(["report", str(tmp_path / "strip.toml")]) == 0
    assert main(["recheck", str(tmp_path / "strip.pdf")]) == 0
    assert "gmsh from another first mesh now, because the grid cannot mesh it" in capsys.readouterr().out


@needs_gmsh
def test_a_report_from_gmsh_is_checked_by_the_grid(tmp_path):
    (tmp_path / "corner.toml").write_text(CORNER, encoding="utf-8")
    assert main(["report", str(tmp_path / "corner.toml"), "--mesher", "gmsh"]) == 0
    done = recheck(tmp_path / "corner.pdf")
    assert done.agrees
    assert [(mesh.then, mesh.now) for mesh in done.meshes] == [("gmsh", "grid")]


FILED = sorted((ROOT / "reports").glob("*.pdf"))
ONCE = ("tollhouse_hatches", "tollhouse_joist")
"""A comparison, and effects beside a value; SEARCH=1 and .ci/reports recheck all, and small volumes and validations are
rechecked in tests of their own."""
CHECKED = FILED if os.environ.get("SEARCH") else [one for one in FILED if one.stem in ONCE]


@pytest.mark.parametrize("file", CHECKED, ids=lambda file: file.stem)
def test_the_filed_reports_agree(file, capsys, monkeypatch):
    monkeypatch.setattr(pypdf.PageObject, "extract_text", pypdf.PageObject.extract_text.__wrapped__)
    monkeypatch.setattr(again, "_solved", again._solved.__wrapped__)  # nothing that other tests have read or solved
    assert main(["recheck", str(file)]) == 0, capsys.readouterr().out


@pytest.mark.parametrize("name", ["iso_10077_2_d4", "iso_10077_2_d7"])
def test_a_drawn_section_with_computed_cavities_is_reported(name, tmp_path, capsys):
    """Its materials are those that were solved, with the cavities' frozen conductivities."""
    report = tmp_path / "frame.pdf"
    assert main(["report", str(ROOT / "details" / "validation" / f"{name}.toml"), "-o", str(report)]) == 0
    assert main(["recheck", str(report)]) == 0, capsys.readouterr().out
    assert "ventilated cavity" in "".join(page.extract_text() for page in pypdf.PdfReader(report).pages)


def test_signs_that_no_font_has_do_no_harm(tmp_path, capsys):
    title = "Ecke \N{CJK UNIFIED IDEOGRAPH-4E2D} λ \N{ROCKET} (\\\\) Żółć"
    (tmp_path / "corner.toml").write_text(CORNER.replace("Corner of the Tollhouse", title), encoding="utf-8")
    assert main(["report", str(tmp_path / "corner.toml")]) == 0
    assert main(["recheck", str(tmp_path / "corner.pdf")]) == 0, capsys.readouterr().out


def test_a_drawing_travels_along(tmp_path, capsys):
    import ezdxf

    document = ezdxf.new("R2010")
    document.units = 4
    document.modelspace().add_lwpolyline(
        [(0, 0), (1000, 0), (1000, 300), (0, 300)], close=True, dxfattribs={"layer": "B"}
    )
    (tmp_path / "plans").mkdir()
    document.saveas(tmp_path / "plans" / "nib.dxf")
    head = 'junction = "free_section"\ntitle = "Drawn"\n[drawing]\nfile = "plans/nib.dxf"\n[drawing.layers]\nB = 0.8\n'
    surfaces = "".join(
        f'[[environment]]\nname = "{name}"\ntemperature = {t}\nsurface_resistance = 0.1\n'
        f"edge = [[0, {y}], [1000, {y}]]\n"
        for name, t, y in (("outside", -5, 0), ("room", 20, 300))
    )
    (tmp_path / "drawn.toml").write_text(head + surfaces, encoding="utf-8")
    assert main(["report", str(tmp_path / "drawn.toml")]) == 0
    (tmp_path / "plans" / "nib.dxf").unlink()
    (tmp_path / "drawn.toml").unlink()
    assert main(["recheck", str(tmp_path / "drawn.pdf")]) == 0
    assert "nib.dxf" in capsys.readouterr().out


MONTHLY = "month,outside_temperature,outside_humidity\n" + "".join(
    f"{k},{t},0.8\n" for k, t in enumerate((-1, 0, 4, 8, 13, 16, 18, 17, 14, 9, 4, 0), start=1)
)
OURS = """\
[house]
title = "Our limits (invented)"
source = "brief, invented"
[[house.requirement]]
quantity = "f_rsi"
minimum = 0.65
name = "ours"
"""


@pytest.fixture(scope="module")
def with_files(tmp_path_factory) -> bytes:
    """The corner with a climate and own limits, whose files have names that the PDF has already; then all are gone."""
    folder = tmp_path_factory.mktemp("beside")
    (folder / "limits").mkdir()
    (folder / "materials.csv").write_text(MONTHLY, encoding="utf-8")
    (folder / "limits" / "corner.toml").write_text(OURS, encoding="utf-8")
    chosen = 'requirement_sets = "limits/corner.toml"\nrequirements = ["house"]\n'
    climate = '[climate]\nname = "Lock"\nsource = "invented"\nfile = "materials.csv"\nhumidity_class = 3\n'
    climate += "coldest_day = -10\n"
    text = CORNER.replace("[[region]]", chosen + "[[region]]", 1) + climate
    (folder / "corner.toml").write_text(text, encoding="utf-8")
    assert main(["report", str(folder / "corner.toml"), "--tolerance", "0.01"]) in (0, 1)
    return (folder / "corner.pdf").read_bytes()


def test_files_beside_the_detail_travel_along(check, with_files):
    status, out, _ = check(with_files, "--json")
    found = json.loads(out)
    assert status == 0, found["findings"]
    names = {file["name"] for file in found["enclosed"]}
    assert names == {
        "corner.toml",
        "climate materials.csv",
        "requirement_sets corner.toml",
        "materials.csv",
        RESULTS,
        PAGES,
    }
    numbers = {row["name"] for row in found["numbers"]}
    assert {"θe, January", "fRsi,min for mould, January", "fRsi,min of glazing and frames, coldest day"} <= numbers
    assert any(name.startswith("margin for mould") for name in numbers)


def described(pdf: pikepdf.Pdf, name: str, data: bytes) -> None:
    """An enclosed file with other bytes and its own description."""
    what = pdf.attachments[name].description
    del pdf.attachments[name]
    pdf.attachments[name] = pikepdf.AttachedFileSpec(pdf, data, description=what, filename=name)


def test_an_altered_climate_is_found(check, with_files):
    def change(pdf: pikepdf.Pdf) -> None:
        name = "climate materials.csv"
        described(pdf, name, enclosed(pdf, name).replace(b"1,-1,", b"1,-2,"))

    status, out, _ = check(altered(with_files, change))
    assert status == 1
    assert "climate materials.csv is not the one whose SHA-256 stands on the pages" in out
    assert "is not the input of the enclosed results" in out
    assert re.search(r"fRsi,min for mould, January .*NOT INSIDE", out)


def test_an_altered_verdict_on_a_month_s_margin_is_found(check, with_files):
    def change(found: dict) -> None:
        margin = next(one for one in found["climate"]["margins"] if one["certain"])
        margin["met"] = not margin["met"]

    status, out, _ = check(with_results(with_files, change))
    assert status == 1
    assert re.search(r"the margin of .* is (kept|not kept) in the report and (kept|not kept) when computed again", out)


def test_altered_limits_are_found(check, with_files):
    def change(pdf: pikepdf.Pdf) -> None:
        name = "requirement_sets corner.toml"
        described(pdf, name, enclosed(pdf, name).replace(b"0.65", b"0.60"))

    status, out, _ = check(altered(with_files, change))
    assert status == 1
    assert "the limits of the enclosed results are not those of the detail file" in out


def test_a_missing_or_doubled_file_beside_is_refused(check, with_files):
    def missing(pdf: pikepdf.Pdf) -> None:
        del pdf.attachments["climate materials.csv"]

    def doubled(pdf: pikepdf.Pdf) -> None:
        what = pdf.attachments["climate materials.csv"].description
        pdf.attachments["b.csv"] = pikepdf.AttachedFileSpec(pdf, b"x", description=what, filename="b.csv")

    assert "'materials.csv' is not at hand" in check(altered(with_files, missing))[2]
    assert "two files that are the table of its climate" in check(altered(with_files, doubled))[2]


def test_a_report_in_inch_pound_units_on_letter_agrees(check, tmp_path):
    (tmp_path / "corner.toml").write_text(CORNER, encoding="utf-8")
    call = ["report", str(tmp_path / "corner.toml"), "--units", "inch-pound", "--paper", "Letter"]
    assert main([*call, "--tolerance", "0.01"]) == 0
    data = (tmp_path / "corner.pdf").read_bytes()
    for name in ("corner.toml", "corner.pdf"):
        (tmp_path / name).unlink()
    status, out, _ = check(data)
    assert status == 0, out
    assert "Btu/(h·ft·°F)" in out
    assert "W/(m·K)" not in out
    status, out, _ = check(data, "--json")
    assert {row["unit"] for row in json.loads(out)["numbers"]} >= {"W/(m·K)", "°C"}  # JSON is SI
    status, out, _ = check(with_results(data, lambda found: found.update(shown_units="SI")))
    assert status == 1
    assert "no page says" in out
    assert "results.json is malformed" in unusable(
        check, with_results(data, lambda found: found.update(shown_units="cgs")), RESULTS
    )


@pytest.mark.parametrize(
    ("name", "new"),
    [
        ("window", ["Ψ of installation, jamb", "L2D of the window alone, sill", "U of the window alone"]),
        ("hatch_a", ["U·A of lid", "U of the lid", "loss of the whole hatch", "fRsi on reveal"]),
        ("fixing", ["χ of one piece", "ΔU of all pieces", "L3D, axis"]),
        ("joist", ["θ of joist's end face, January", "φ of outside air at joist's end face, July"]),
    ],
)
def test_numbers_of_hatches_round_pieces_and_months_are_computed_again(check, name, new):
    path = ROOT / "details" / f"tollhouse_{name}.toml"
    loaded = load(path, shown="inch-pound")
    result = calculate(loaded.detail, 0.05, input_hash=loaded.input_hash)
    data = report_bytes(result, loaded, loaded.units)
    status, out, _ = check(data)
    assert status == 0, out
    for words in new:
        assert re.search(rf"^  {re.escape(words)} .* inside$", out, re.MULTILINE), words
    # what differs is found without computing once more
    with pikepdf.open(io.BytesIO(data)) as pdf:
        document = json.loads(enclosed(pdf, RESULTS))
    old = Results.model_validate(document)
    for change in FORGED[name]:
        forged = json.loads(json.dumps(document))
        change(forged)
        wrong = compared(Results.model_validate(forged), old)
        assert [row.name for row in wrong if not row.inside] or list(identity(Results.model_validate(forged), old))


def shifted(bracket: dict, shift: float) -> None:
    for key in ("value", "lower", "upper"):
        bracket[key] += shift


FORGED = {
    "window": [
        lambda found: shifted(found["installations"][0]["reference_l2d"], 0.05),
        lambda found: found["window"].update(u_value=0.7),
    ],
    "hatch_a": [
        lambda found: found["hatch"]["parts"][0].update(u_value=0.5),
        lambda found: found["hatch"].update(u_lid=found["hatch"]["u_lid"] - 0.001),
        lambda found: shifted(found["hatch"]["loss"], -0.5),
        lambda found: found["hatch"]["f_rsi"][0].update(value=0.9),
    ],
    "fixing": [
        lambda found: shifted(found["chi"], -0.01),
        lambda found: shifted(found["chi"]["added_transmittance"], -0.01),
        lambda found: shifted(found["sections"][0]["coupling"][0], -0.5),
    ],
    "joist": [
        lambda found: found["climate"]["months"][0].update(f_rsi_mould=0.5),
        lambda found: found["climate"]["months"][0].update(outside_temperature=3.0),
        lambda found: found["climate"]["critical_month"].update(mould=5),
        lambda found: found["climate"]["margins"][0].update(met=False),
        lambda found: found["climate"]["margins"][0].update(margin=0.3),
        lambda found: found["climate"]["timber"][0]["months"][0].update(temperature=9.0),
        lambda found: found["climate"]["timber"][0]["months"][3].update(saturation_pressure=2000.0),
        lambda found: found["climate"]["timber"][0]["months"][6].update(humidity_room_air=0.5),
    ],
}


def test_reports_of_before_have_no_units_and_no_months(written):
    with pikepdf.open(io.BytesIO(written)) as pdf:
        document = json.loads(enclosed(pdf, RESULTS))
    for key in ("shown_units", "hatch", "climate"):
        del document[key]
    for section in document["sections"]:
        del section["revolution"], section["l3d"]
    found = Results.model_validate(document)
    assert found.shown.is_si
    assert all(row.inside for row in compared(found, found))


def test_it_opens_no_other_file(written, tmp_path):
    file = tmp_path / "report.pdf"
    file.write_bytes(written)
    code = (
        "import sys\n"
        "seen = []\n"
        "def note(event, words):\n"
        "    if event in ('open', 'os.system', 'subprocess.Popen', 'os.exec', 'os.posix_spawn'):\n"
        "        seen.append(str(words[0]) if event == 'open' else event)\n"
        "sys.addaudithook(note)\n"
        "from bridge2d.cli import main\n"
        f"status = main(['recheck', {str(file)!r}])\n"
        "print(*seen, sep='\\n', file=sys.stderr)\n"
        "sys.exit(status)\n"
    )
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, encoding="utf-8", check=False)
    assert run.returncode == 0
    ours = (
        str(ROOT / "bridge2d"),
        sys.prefix,
        sys.base_prefix,
        str(Path(os.__file__).parent),
        "/proc/",
        "/sys/",
        "/etc/",
    )
    noted = run.stderr.splitlines()
    assert {path for path in noted if path.startswith("/") and not path.startswith(ours)} == {str(file)}
    assert {event for event in noted if event.startswith(("os.", "subprocess."))} == set()


def test_notes_of_others_do_no_harm(check, written):
    def change(pdf: pikepdf.Pdf) -> None:
        note = pikepdf.Dictionary(
            Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Text, Rect=[0, 0, 20, 20], Contents="seen"
        )
        pdf.pages[0].Annots = pikepdf.Array([pdf.make_indirect(note)])
        enclose(pdf, "letter.docx", b"dear")

    status, out, _ = check(altered(written, change, object_stream_mode=pikepdf.ObjectStreamMode.generate))
    assert status == 0
    assert "a note or mark lies over page 1 (" in out
    assert out.rstrip().endswith("BUT marks of others lie over page 1: look what they hide.")
    assert "letter.docx: not of the report, left alone" in out


def note(pdf: pikepdf.Pdf, **keys: object) -> None:
    """Lay a note over the second page."""
    made = pikepdf.Dictionary(Type=pikepdf.Name.Annot, **{"Rect": [0, 0, 20, 20], **keys})
    page = pdf.pages[1].obj
    page.Annots = pikepdf.Array([*page.get("/Annots", []), pdf.make_indirect(made)])


def signed(pdf: pikepdf.Pdf, rectangle: list[int]) -> None:
    note(pdf, Subtype=pikepdf.Name.Widget, FT=pikepdf.Name.Sig, T="signature", Rect=rectangle, F=132)
    pdf.Root.AcroForm = pikepdf.Dictionary(Fields=[pdf.pages[1].obj.Annots[0]], SigFlags=3)


N = pikepdf.Name


@pytest.mark.parametrize(
    ("change", "kinds"),
    [
        (lambda pdf: note(pdf, Subtype=N.Stamp), ["Stamp"]),
        (lambda pdf: [note(pdf, Subtype=N.FreeText, Contents="0.2"), note(pdf, Subtype=N.Text)], ["text", "note"]),
        (lambda pdf: note(pdf, Subtype=N.Link), ["Link"]),  # a border of 1 is drawn unless it says otherwise
        (lambda pdf: note(pdf, Subtype=N.Link, Border=[0, 0, 300]), ["Link"]),
        (lambda pdf: note(pdf, Subtype=N.Link, Border=[0, 0, 0], BS=pikepdf.Dictionary(W=300)), ["Link"]),
        (lambda pdf: note(pdf, Subtype=N.Link, Border=[0, 0, 0]), []),
        (lambda pdf: signed(pdf, [100, 100, 300, 200]), ["signature"]),
        (lambda pdf: signed(pdf, [0, 0, 0, 0]), []),
    ],
)
def test_marks_are_told_with_page_and_kind(check, written, change, kinds):
    data = altered(written, change)
    status, out, _ = check(data)
    assert status == 0
    assert ("over page 2 (" + ", ".join(kinds) + ")" in out) is bool(kinds)
    assert out.rstrip().endswith("BUT marks of others lie over page 2: look what they hide.") is bool(kinds)
    assert json.loads(check(data, "--json")[1])["marks"] == ([{"page": 2, "kinds": kinds}] if kinds else [])


@pytest.mark.parametrize(
    ("keys", "acts"),
    [
        ({"A": pikepdf.Dictionary(S=N.JavaScript, JS="1")}, True),
        ({"A": pikepdf.Dictionary(S=N.Launch, F="x")}, True),
        ({"AA": pikepdf.Dictionary(PO=pikepdf.Dictionary(S=N.JavaScript, JS="1"))}, True),
        ({"A": pikepdf.Dictionary(S=N.URI, URI="https://example.org")}, False),
    ],
)
def test_marks_that_would_have_a_viewer_do_something(check, written, keys, acts):
    status, out, _ = check(altered(written, lambda pdf: note(pdf, Subtype=N.Link, Border=[0, 0, 0], **keys)))
    assert (status == 1) is acts
    assert ("page 2 would have a viewer do something" in out) is acts


def test_a_form_that_draws_itself(check, written):
    def change(pdf: pikepdf.Pdf) -> None:
        pdf.Root.AcroForm = pikepdf.Dictionary(Fields=[], XFA=pdf.make_stream(b"<x/>"))

    status, out, _ = check(altered(written, change))
    assert status == 1
    assert "(/XFA)" in out


# -- what counts is what was enclosed ----------------------------------------------------------------------------------


def test_a_later_catalogue_changes_no_number_and_is_told(check, written, monkeypatch):
    later = dict(materials.catalogue())
    later["mineral foam board"] = replace(later["mineral foam board"], conductivity=0.06)
    del later["solid brick, old, 1600"]
    monkeypatch.setattr(materials, "_catalogue", lambda: later)
    status, out, _ = check(written)
    assert status == 0
    assert "is 0.06 today" in out
    assert "'solid brick, old, 1600' is no longer in the catalogue" in out


def test_another_version_is_told(check, written, monkeypatch):
    monkeypatch.setattr("bridge2d.__version__", "99.0")
    status, out, _ = check(written)
    assert status == 0
    assert "another version" in out


def test_rows_of_the_catalogue_travel_without_loss():
    rows = tuple(materials.catalogue().values())
    assert materials.read_rows(materials.rows_text(rows)) == rows


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("name,", "nam,"),
        ("0.68", "nan"),
        ("0.68", "-1"),
        ("0.68", "zero"),
        ("masonry", "no such kind"),
        ("brick,", "\x1b[31m,"),
        ("\n", ",\n"),
    ],
)
def test_rows_that_are_no_materials_are_refused(check, written, old, new):
    rows = with_file(written, "materials.csv", lambda data: data.replace(old.encode(), new.encode()))
    assert "materials.csv is malformed" in unusable(check, rows, "materials.csv")


# -- altered reports are found out -------------------------------------------------------------------------------------


def test_an_altered_number_of_the_enclosed_detail(check, written):
    status, out, _ = check(with_file(written, "corner.toml", lambda data: data.replace(b"410", b"400")))
    assert status == 1
    assert "is not the input of the enclosed results" in out
    assert "corner.toml is not the one whose SHA-256 stands on the pages" in out
    assert "NOT INSIDE" in out


def test_an_altered_comment_of_the_enclosed_detail(check, written):
    status, out, _ = check(with_file(written, "corner.toml", lambda data: data + b"# agreed on the phone\n"))
    assert status == 1
    assert "corner.toml is not the one whose SHA-256 stands on the pages" in out
    assert "NOT INSIDE" not in out


def test_an_altered_number_of_the_enclosed_results(check, written):
    def change(found: dict) -> None:
        for key in ("value", "lower", "upper"):
            found["sections"][0]["coupling"][0][key] -= 0.01

    status, out, _ = check(with_results(written, change))
    assert status == 1
    assert "NOT INSIDE" in out
    assert "no page says L2D" in out
    assert "results.json is not the one whose SHA-256" in out


def test_a_number_that_only_one_side_has(check, written):
    status, out, _ = check(with_results(written, lambda found: found["sections"][0]["probes"][0].update(name="outer")))
    assert status == 1
    assert re.search(r"θ at outer, section +≈ [\d.]+ °C \(tolerance [\d.]+ K\) +– +– +– +NOT INSIDE", out)
    assert re.search(r"θ at inner corner, section +– +≈ [\d.]+ °C \(tolerance [\d.]+ K\) +– +– +NOT INSIDE", out)


def test_an_altered_conductivity_of_the_enclosed_materials(check, written):
    status, out, _ = check(with_file(written, "materials.csv", lambda data: data.replace(b",0.68,", b",0.58,")))
    assert status == 1
    assert "NOT INSIDE" in out
    assert "materials.csv is not the one whose SHA-256" in out


def test_one_altered_digit_of_a_page(check, written, tmp_path):
    (tmp_path / "report.pdf").write_bytes(written)
    psi = next(row.old for row in recheck(tmp_path / "report.pdf").rows if row.name == "Ψ, external")
    number = psi.printed().split()[0].lstrip("−")
    digit = str((int(number[-1]) + 1) % 10)
    status, out, _ = check(with_page(written, number.encode(), (number[:-1] + digit).encode()))
    assert status == 1
    assert "NOT INSIDE" not in out
    assert "page 1 reads" in out
    assert "no page says Ψ, external" in out


def test_altered_words_of_a_page(check, written):
    status, out, _ = check(with_page(written, b"Tollhouse", b"Tollhause"))
    assert status == 1
    assert "page 1 reads “Tollhause" in out


def test_an_altered_drawing(check, written):
    def change(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[1]
        page.Contents.write(page.Contents.read_bytes() + b"\n1 1 1 rg 100 300 300 300 re f")

    status, out, _ = check(altered(written, change))
    assert status == 1
    assert "page 2 has the words that were written, but what is drawn on it, its fonts or its size were" in out


def test_a_page_that_was_taken_out(check, written):
    def change(pdf: pikepdf.Pdf) -> None:
        del pdf.pages[-1]

    status, out, _ = check(altered(written, change))
    assert status == 1
    assert "pages; it was written with" in out


def test_an_altered_record_of_the_pages_with_altered_pages(check, written):
    """Both agree with each other, and neither with the enclosed results."""
    with pikepdf.open(io.BytesIO(written)) as pdf:
        psi = json.loads(enclosed(pdf, RESULTS))["input_hash"].encode()
    forged = with_page(written, psi[:20], b"0" * 20)

    def change(pdf: pikepdf.Pdf) -> None:
        document = json.loads(enclosed(pdf, PAGES))
        for page, record in zip(pdf.pages, document["pages"], strict=True):
            record["words"] = record["words"].replace(psi.decode()[:20], "0" * 20)
            record["sha256"] = hashlib.sha256(page.Contents.read_bytes()).hexdigest()
        enclose(pdf, PAGES, json.dumps(document).encode())

    status, out, _ = check(altered(forged, change))
    assert status == 1
    assert "no page has the fingerprint of the input" in out


@pytest.mark.parametrize("shift", [0.00011, -0.00011, 0.02])
def test_a_forged_report_that_agrees_with_itself(check, tmp_path, shift):
    """L2D is moved by more than the ± that is printed, everywhere alike; only the computation can tell."""
    (tmp_path / "corner.toml").write_text(CORNER, encoding="utf-8")
    loaded = load(tmp_path / "corner.toml")
    (tmp_path / "corner.toml").unlink()
    result = calculate(loaded.detail, tolerance=1e-4, input_hash=loaded.input_hash)
    (section,) = result.sections
    (coupling,) = section.coupling
    honest = coupling.coefficient
    assert n.format_bounded(n.L2D, honest.lower, honest.upper).endswith("± 0.0001 W/(m·K)")
    moved = honest.plus(shift)
    forged = replace(section, l2d=moved, coupling=(replace(coupling, coefficient=moved),))
    data = report_bytes(replace(result, sections=(forged,)), loaded)
    status, out, _ = check(data)
    assert status == 1
    assert "DISAGREES: 1 of" in out
    assert out.count("NOT INSIDE") == 1


def test_a_verdict_that_is_forged(check, tmp_path):
    (tmp_path / "corner.toml").write_text(CORNER.replace("minimum = 0.7", "minimum = 0.95"), encoding="utf-8")
    loaded = load(tmp_path / "corner.toml")
    (tmp_path / "corner.toml").unlink()
    result = calculate(loaded.detail, input_hash=loaded.input_hash)
    met = tuple(replace(one, met=True) for one in result.requirements)
    status, out, _ = check(report_bytes(replace(result, requirements=met), loaded))
    assert status == 1
    assert "is met in the report and not met when computed again" in out


@pytest.mark.parametrize("key", ["title", "project", "revision"])
def test_altered_names(check, written, key):
    status, out, _ = check(with_results(written, lambda found: found.update({key: "something else"})))
    assert status == 1
    assert f"the {key} of the enclosed results is 'something else'" in out


# -- what is refused ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["corner.toml", "materials.csv", RESULTS, PAGES])
def test_a_missing_file(check, written, name):
    status, _, err = check(altered(written, lambda pdf: pdf.attachments.__delitem__(name)))
    assert status == 2
    assert "is missing" in err
    assert (name if name != "corner.toml" else "detail file") in err


def no_files(pdf: pikepdf.Pdf) -> None:
    for name in list(pdf.attachments):
        del pdf.attachments[name]


def test_no_file_at_all(check, written):
    status, _, err = check(altered(written, no_files))
    assert status == 2
    assert "encloses no detail file" in err


def test_pdfs_that_are_no_reports(check):
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        out = io.BytesIO()
        pdf.save(out)
    assert "encloses no detail file" in check(out.getvalue())[2]
    for data in (
        b"",
        b"junction = 1",
        b"%PDF-",
        b"%PDF-1.7\n" + b"\0" * 5000,
        b"%PDF-1.7\ntrailer<</Root 1 0 R>>\n%%EOF",
    ):
        assert check(data)[0] == 2


def test_what_cannot_be_read(tmp_path, capsys):
    for name, says in (("none.pdf", "no such file"), ("", "ordinary file"), ("a\0b", "none that a file can have")):
        assert main(["recheck", str(tmp_path / name) if name else str(tmp_path)]) == 2
        assert says in capsys.readouterr().err


def test_a_huge_file_is_not_read(tmp_path, capsys):
    file = tmp_path / "huge.pdf"
    with file.open("wb") as out:
        out.write(b"%PDF-1.7\n")
        out.truncate(opened.LARGEST_PDF + 1)
    assert main(["recheck", str(file)]) == 2
    assert "a report may have 60 MB" in capsys.readouterr().err


@pytest.mark.parametrize("share", [0.02, 0.6, 0.99, 0.9999])
def test_a_cut_off_file(check, written, share):
    status, _, err = check(written[: int(share * len(written))])
    assert status == 2
    assert "damaged or cut off" in err


def redraw(fonts: pikepdf.Object) -> None:
    """Change the outlines of the first font: what is written as 5 may be seen as 6 then."""
    program = fonts[min(fonts.keys())].FontDescriptor.FontFile2
    data = bytearray(program.read_bytes())
    data[len(data) // 2] ^= 1
    program.write(bytes(data))


def other_font(pdf: pikepdf.Pdf) -> None:
    redraw(pdf.pages[0].obj.Resources.Font)


def other_width(pdf: pikepdf.Pdf) -> None:
    fonts = pdf.pages[0].obj.Resources.Font
    fonts[min(fonts.keys())].Widths[5] = 1234


def cropped(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.CropBox = pikepdf.Array([0, 0, 300, 400])


def cropped_from_above(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Pages.CropBox = pikepdf.Array([0, 0, 300, 400])


def turned(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Rotate = 180


def larger(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.UserUnit = 2


@pytest.mark.parametrize("change", [other_font, other_width, cropped, cropped_from_above, turned, larger])
def test_what_makes_a_page_look_otherwise_is_found(check, written, change):
    status, out, _ = check(altered(written, change))
    assert status == 1
    assert "page 1 has the words that were written, but what is drawn on it, its fonts or its size were" in out


def opening(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=pikepdf.String("app.alert(1)"))


def by_name(pdf: pikepdf.Pdf) -> None:
    act = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=pikepdf.String("app.alert(1)"))
    pdf.Root.Names.JavaScript = pikepdf.Dictionary(Names=pikepdf.Array([pikepdf.String("a"), act]))


def of_page(pdf: pikepdf.Pdf) -> None:
    act = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=pikepdf.String("app.alert(1)"))
    pdf.pages[0].obj.AA = pikepdf.Dictionary(O=act)


@pytest.mark.parametrize(
    ("change", "said"),
    [(opening, "(/OpenAction)"), (by_name, "(/JavaScript)"), (of_page, "page 1 would have a viewer")],
)
def test_what_a_viewer_would_do_is_told_and_not_done(check, written, change, said):
    status, out, _ = check(altered(written, change))
    assert status == 1
    assert said in out


@pytest.mark.parametrize(
    "options",
    [
        {"linearize": True},
        {"object_stream_mode": pikepdf.ObjectStreamMode.generate, "recompress_flate": True},
        {"stream_decode_level": pikepdf.StreamDecodeLevel.generalized, "compress_streams": False},
    ],
)
def test_a_file_that_was_stored_anew_agrees(check, written, options):
    status, out, _ = check(altered(written, repr, **options))
    assert status == 0, out


def test_an_encrypted_file(check, written):
    weak = pikepdf.Encryption(owner="owner", user="", R=3, aes=False, metadata=False)  # which pypdf could read
    for encryption in (weak, *(pikepdf.Encryption(owner="owner", user=user) for user in ("", "secret"))):
        data = altered(written, repr, encryption=encryption)
        status, _, err = check(data)
        assert status == 2
        assert "encrypted" in err


@pytest.mark.parametrize(
    "name",
    ["../../corner.toml", "/etc/corner.toml", "..\\corner.toml", "C:corner.toml", ".toml", "a\x1b[0m.toml", "x" * 300],
)
def test_a_name_that_leads_elsewhere(check, written, name):
    def change(pdf: pikepdf.Pdf) -> None:
        data = enclosed(pdf, "corner.toml")
        del pdf.attachments["corner.toml"]
        pdf.attachments[name] = pikepdf.AttachedFileSpec(pdf, data, filename=name)

    status, _, err = check(altered(written, change))
    assert status == 2
    assert "an enclosed file has the name" in err
    assert "\x1b" not in err


def test_two_files_of_one_name(check, written):
    def change(pdf: pikepdf.Pdf) -> None:
        again = pikepdf.AttachedFileSpec(pdf, enclosed(pdf, RESULTS), filename=RESULTS)
        pdf.attachments["zzz"] = again

    assert "two files of the name" in check(altered(written, change))[2]


def test_two_details(check, written):
    assert "two detail files" in check(altered(written, lambda pdf: enclose(pdf, "b.toml", b"")))[2]


def test_very_many_files(check, written):
    def change(pdf: pikepdf.Pdf) -> None:
        for number in range(opened.MOST_FILES):
            enclose(pdf, f"{number}.txt", b"x")

    assert "more than 20 files" in check(altered(written, change))[2]


def test_names_that_nest_too_deeply_are_not_followed(check, written):
    def change(pdf: pikepdf.Pdf) -> None:
        names = pdf.Root.Names.EmbeddedFiles
        for _ in range(opened.DEEPEST + 1):
            names = pdf.make_indirect(pikepdf.Dictionary(Kids=pikepdf.Array([names])))
        pdf.Root.Names.EmbeddedFiles = names

    status, _, err = check(altered(written, change))
    assert status == 2
    assert "encloses no detail file" in err


@pytest.mark.parametrize(
    ("limit", "said"),
    [
        ("bridge2d.recheck.opened.LARGEST_FILE", "the enclosed file 'corner.toml' has 0.0 MB"),
        ("bridge2d.recheck.again.LARGEST_FILE", "corner.toml: the detail file has 0.0 MB"),
    ],
)
def test_a_file_that_is_too_large_as_it_lies_is_refused(check, written, monkeypatch, limit, said):
    def change(pdf: pikepdf.Pdf) -> None:
        data = enclosed(pdf, "corner.toml")
        pdf.attachments["corner.toml"].obj.EF.F = pdf.make_stream(data, Type=pikepdf.Name.EmbeddedFile)

    data = altered(written, change, compress_streams=False)
    monkeypatch.setattr(limit, 100)
    status, _, err = check(data)
    assert status == 2
    assert said in err


BOMB = zeros(400_000_000)


def packed(pdf: pikepdf.Pdf, **keys: object) -> pikepdf.Object:
    stream = pdf.make_stream(b"", **keys)
    stream.write(BOMB, filter=pikepdf.Name.FlateDecode)
    return stream


def raw(data: bytes, change: Callable[[pikepdf.Pdf], None]) -> bytes:
    return altered(data, change, stream_decode_level=pikepdf.StreamDecodeLevel.none, recompress_flate=False)


def bomb_file(pdf: pikepdf.Pdf) -> None:
    pdf.attachments["corner.toml"].obj.EF.F = packed(pdf, Type=pikepdf.Name.EmbeddedFile)


def bomb_page(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Contents = packed(pdf)


def bomb_in_parts(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Contents = pikepdf.Array([packed(pdf)] * 30)


def bomb_font(pdf: pikepdf.Pdf) -> None:
    fonts = pdf.pages[0].obj.Resources.Font
    fonts[min(fonts.keys())].FontDescriptor.FontFile2 = packed(pdf)


def bomb_setting(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Resources.ExtGState = pikepdf.Dictionary(G=packed(pdf))


@pytest.mark.parametrize("change", [bomb_file, bomb_page, bomb_in_parts, bomb_font, bomb_setting])
def test_a_bomb_never_inflates(check, written, change):
    data = raw(written, change)
    assert len(data) < 1_000_000 < 400 * len(data)
    tracemalloc.start()
    try:
        status, _, err = check(data)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert status == 2
    assert "larger than 25 MB when unpacked" in err
    assert peak < 4 * opened.LARGEST_FILE


def test_a_bomb_among_the_objects_never_inflates(check):
    """The catalogue itself lies in an object stream (ISO 32000-1, 7.5.7) that would unpack to 400 MB."""
    head = b"%PDF-1.7\n"
    keys = b"/Type /ObjStm /N 1 /First 10 /Filter /FlateDecode"
    objects = b"1 0 obj\n<< %b /Length %d >>\nstream\n%b\nendstream\nendobj\n" % (keys, len(BOMB), BOMB)
    entries = ((0, 0, 0, 0, 255), (1, 0, 0, len(head), 0), (1, 0, 0, 0, 0), (2, 0, 0, 1, 0))
    places = b"".join(map(bytes, entries))
    table = b"/Type /XRef /Size 4 /W [1 3 1] /Root 3 0 R"
    xref = b"2 0 obj\n<< %b /Length %d >>\nstream\n%b\nendstream\nendobj\n" % (table, len(places), places)
    data = head + objects + xref + b"startxref\n%d\n%%%%EOF\n" % (len(head) + len(objects))
    tracemalloc.start()
    try:
        status, _, err = check(data)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert status == 2
    assert "larger than 25 MB when unpacked" in err
    assert peak < 4 * opened.LARGEST_FILE


def test_all_that_is_unpacked_for_a_fingerprint_counts(check, written, monkeypatch):
    """Fonts that are each within the bound of a part, and together are beyond that of the whole."""
    assert check(written)[0] == 0
    with pikepdf.open(io.BytesIO(written)) as pdf:
        programs = {font.FontDescriptor.FontFile2.objgen: font.FontDescriptor.FontFile2 for font in fonts_of(pdf)}
        fonts = sum(len(one.read_bytes()) for one in programs.values())
        files = sum(len(enclosed(pdf, name)) for name in pdf.attachments)
        drawn = sum(len(page.Contents.read_bytes()) for page in pdf.pages)
    monkeypatch.setattr(opened, "LARGEST_SUM", files + drawn + fonts - 1)
    assert "when unpacked" in check(written)[2]


def fonts_of(pdf: pikepdf.Pdf) -> list[pikepdf.Object]:
    return [font for _, font in pdf.pages[0].obj.Resources.Font.items() if "/FontDescriptor" in font]


def test_resources_within_themselves_are_refused(check, written):
    def change(pdf: pikepdf.Pdf) -> None:
        own = [pdf.make_indirect(pikepdf.Dictionary()) for _ in range(3)]
        for one in own:
            for number, other in enumerate(own):
                one[f"/P{number}"] = other
        pdf.pages[0].obj.Resources.Properties = own[0]

    assert "without end" in check(altered(written, change))[2]


def test_spoiled_objects_are_no_report(check, written):
    """An object stream (ISO 32000-1, 7.5.7) of deflated zeros in place of the objects."""
    with pikepdf.open(io.BytesIO(written)) as pdf:
        out = io.BytesIO()
        pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    data = out.getvalue()
    start = data.index(b"/ObjStm")
    begin = data.index(b"stream\n", start) + 7
    end = data.index(b"endstream", begin)
    bomb = BOMB[: end - begin].ljust(end - begin, b"\0")
    status, _, err = check(data[:begin] + bomb + data[end:])
    assert status == 2
    assert "PDF" in err


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "null",
        "{",
        '{"title": NaN}',
        "[" * 100_000,
        '{"title": "x"}',
        '"' + "x" * 1000 + '"',
        "1" * 5000,
        "\x1b[31m",
    ],
)
def test_results_that_are_none(check, written, text):
    said = unusable(check, with_file(written, RESULTS, lambda _: text.encode()), RESULTS)
    assert "results.json is malformed" in said


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("psi", [{}]),
        ("psi", None),
        ("sections", []),
        ("chi", 1.0),
        ("psi", [{"dimensions": "external", "value": "0.1"}]),
    ],
)
def test_results_of_another_shape(check, written, key, value):
    said = unusable(check, with_results(written, lambda found: found.update({key: value})), RESULTS)
    assert f"malformed: {key}" in said


def test_a_bracket_upside_down_is_found(check, written):
    def change(found: dict) -> None:
        psi = found["psi"][0]
        psi["lower"], psi["upper"] = psi["upper"], psi["lower"]

    assert check(with_results(written, change))[0] == 1


def test_a_table_of_the_climate_that_is_none(check, with_files):
    name = "climate materials.csv"
    data = altered(with_files, lambda pdf: described(pdf, name, b"rubbish"))
    assert "materials.csv, line 1: unknown column 'rubbish'" in unusable(check, data, name)


def test_fingerprints_of_another_kind_are_told_and_not_compared(check, written):
    for change in (lambda d: d.pop("digests"), lambda d: d.update(digests=PAGE_DIGESTS + 1)):
        status, _, err = check(with_file(written, PAGES, changed(change)))
        assert status == 2
        assert "report.pdf: its pages have fingerprints of another kind" in err
        assert "recheck it with the version that wrote it" in err


def test_pages_that_are_none(check, written):
    assert "pages.json is malformed" in check(with_file(written, PAGES, lambda _: b'{"pages": [1]}'))[2]


@pytest.mark.parametrize("text", ["\xff", "junction = 1", "x", 'junction = "free_section"'])
def test_an_enclosed_detail_that_is_none(check, written, text):
    said = unusable(check, with_file(written, "corner.toml", lambda _: text.encode("latin-1")), "corner.toml")
    assert "report.pdf/corner.toml" in said


def test_a_detail_that_names_a_file_of_this_machine(check, written):
    drawn = b'[drawing]\nfile = "/etc/passwd"\n[drawing.layers]\nB = 0.8\n'
    said = unusable(check, with_file(written, "corner.toml", lambda data: data + drawn), "corner.toml")
    assert "is not at hand" in said


@pytest.mark.parametrize("seed", range(12))
def test_spoiled_bytes_never_end_in_a_traceback(check, written, seed):
    chance = random.Random(seed)
    data = bytearray(written)
    for _ in range(chance.choice((1, 5, 40))):
        place = chance.randrange(len(data))
        if chance.random() < 0.7:
            data[place] = chance.randrange(256)
        else:
            del data[place : place + chance.randrange(200)]
    assert check(bytes(data))[0] in (0, 1, 2)


# -- other meshes ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("mesher", ["grid", pytest.param("gmsh", marks=needs_gmsh)])
def test_another_first_mesh_is_another_mesh(mesher):
    (section,) = read(CORNER, Path("corner.toml")).detail.sections
    one, other = (mesh_section(section, name).mesh.p for name in (mesher, mesher + OTHER_START))
    inner = {tuple(point) for point in one.T.round(6)} & {tuple(point) for point in other.T.round(6)}
    assert len(inner) < 0.8 * min(one.shape[1], other.shape[1])
    brackets = [solve_section(section, 1e-3, name).l2d for name in (mesher, mesher + OTHER_START)]
    assert max(one.lower for one in brackets) <= min(one.upper for one in brackets)


# -- the rule ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "inside"),
    [
        (Bounded(1.0, 1.2), Bounded(1.1, 1.15), True),
        (Bounded(1.0, 1.2), Bounded(1.2, 1.3), True),
        (Bounded(1.0, 1.2), Bounded(1.2001, 1.3), False),
        (Bounded(1.0, 1.2), Bounded(0.8, 0.9999), False),
        (Bounded(1.0, 1.0), Bounded(1.0 + ROUNDING / 2, 1.0 + ROUNDING / 2), True),
    ],
)
def test_brackets_that_overlap_are_inside(old, new, inside):
    made = [Number("x", "bracket", n.PSI, one.value, one.lower, one.upper) for one in (old, new)]
    assert Row("x", *made).inside is inside
    assert not Row("x", made[0], None).inside
    assert not Row("x", None, made[1]).inside
