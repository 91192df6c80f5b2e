"""The schedule of a building: command, cache, wrong files, CSV and XLSX."""

import csv
import io
import json
import re
import shutil
import sys
from pathlib import Path

import openpyxl
import pypdf
import pytest

from bridge2d.building.reading import load
from bridge2d.building.variants import in_building, loaded_variant
from bridge2d.cli import main
from bridge2d.errors import InputError
from bridge2d.schedule import cache, computing
from bridge2d.schedule.computing import progress_line
from bridge2d.schedule.spreadsheets import safe_text
from tests.small_building import building
from tests.small_detail import ONE_FILM

DETAILS = Path(__file__).parents[2] / "details"

WALL = f"# a plane wall\n{ONE_FILM}"
# Exact, a plane wall: R = 0.04 + 0.32/0.8 + 0.16 = 0.6; Ψ_i = (2.0 − 1.9)/0.6; f_Rsi = 1 − 0.16/0.6.
PSI = 0.1 / 0.6
CORNER = """\
junction = "wall_corner"
[parameters]
insulation_thickness = 60
"""
BUILDING = """\
title = "House"
dimensions = "internal"
[[requirement]]
quantity = "f_rsi"
minimum = 0.7
source = "invented"
[[junction]]
ref = "W"
detail = "wall.toml"
group = "north"
length = 12
[[junction]]
ref = "=cmd"
name = "=2+3"
group = "+north"
psi = 0.05
dimensions = "internal"
f_rsi = 0.8
length = "4 m"
source = "@SUM(A1)"
[[junction]]
name = "Iron"
group = "north"
chi = "0.02 W/K"
f_rsi = 0.9
number = 3
source = "a catalogue"
[[element]]
name = "wall"
group = "north"
area = 50
u_value = 0.4
"""
LOSS = 12 * PSI + 4 * 0.05 + 3 * 0.02


@pytest.fixture
def house(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))
    (tmp_path / "wall.toml").write_text(WALL, encoding="utf-8")
    (tmp_path / "corner.toml").write_text(CORNER, encoding="utf-8")
    file = tmp_path / "house.toml"
    file.write_text(BUILDING, encoding="utf-8")
    return file


def run(*words):
    return main(["schedule", *map(str, words), "--jobs", "1"])


def test_json_holds_the_sums(house, capsys):
    assert run(house, "--json") == 0
    out, err = capsys.readouterr()
    assert err == ""
    found = json.loads(out)
    assert found["loss"]["value"] == pytest.approx(LOSS, rel=1e-6)
    assert found["loss"]["lower"] <= found["loss"]["value"] <= found["loss"]["upper"]
    assert found["loss"]["given"] == pytest.approx(0.26)
    assert found["increase"]["value"] == pytest.approx(LOSS / 50, rel=1e-6)
    assert found["total"]["value"] == pytest.approx(LOSS + 20, rel=1e-6)
    wall, slope, iron = found["junctions"]
    assert wall["name"] == "Plane wall"
    assert wall["share"] == pytest.approx(12 * PSI / LOSS, rel=1e-6)
    assert wall["lines"][0]["value"] == pytest.approx(PSI, rel=1e-6)
    assert "lower" not in slope["lines"][0]
    assert (iron["ref"], iron["lines"][0]["number"]) == ("3", 3)
    assert all(r["met"] and r["certain"] for junction in found["junctions"] for r in junction["requirements"])
    assert not house.with_suffix(".pdf").exists()  # numbers on the screen alone


def test_text_and_files(house, capsys):
    assert run(house, "--csv", house.parent / "a.csv", "--xlsx", house.parent / "a.xlsx") == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "ΣΨ·l + Σχ·n" in out
    assert "3 of 3 kept, with the whole bracket or tolerance" in out
    assert house.with_suffix(".pdf").read_bytes().startswith(b"%PDF")
    assert out.count(": written") == 3


def test_a_limit_that_fails_or_cannot_be_told_gives_status_one(house, capsys):
    house.write_text(BUILDING.replace("minimum = 0.7", "minimum = 0.74"), encoding="utf-8")
    assert run(house) == 1
    assert "NOT MET: W Plane wall" in capsys.readouterr().out  # 1 − 0.16/0.6 = 0.733
    house.write_text(BUILDING.replace("f_rsi = 0.9\n", ""), encoding="utf-8")
    assert run(house) == 1
    assert "CANNOT BE TOLD: 3 Iron" in capsys.readouterr().out


# -- what is kept ------------------------------------------------------------------------------------------------------


@pytest.fixture
def counted(monkeypatch):
    """How many details were computed."""
    calls = []

    def compute(task):
        calls.append(task.path.name)
        return original(task)

    original = computing.compute
    monkeypatch.setattr(computing, "compute", compute)
    return calls


def test_only_what_changed_is_computed_again(house, counted, capsys):
    house.write_text(BUILDING + '[[junction]]\ndetail = "corner.toml"\nlength = 3\n', encoding="utf-8")
    assert run(house) == 0
    first = house.with_suffix(".pdf").read_bytes()
    assert counted == ["wall.toml", "corner.toml"]
    assert run(house) == 0
    assert len(counted) == 2
    assert house.with_suffix(".pdf").read_bytes() == first
    assert run(house, "--tolerance", "0.01") == 0  # another tolerance is another number
    assert len(counted) == 4
    (house.parent / "corner.toml").write_text(CORNER.replace("60", "80"), encoding="utf-8")
    assert run(house) == 0
    assert counted[4:] == ["corner.toml"]
    assert run(house, "--no-cache") == 0
    assert len(counted) == 7
    changed = house.with_suffix(".pdf").read_bytes()
    assert run(house) == 0
    assert house.with_suffix(".pdf").read_bytes() == changed  # from the cache or anew: the same bytes
    capsys.readouterr()


def test_an_interrupted_run_goes_on(house, counted, monkeypatch, capsys):
    house.write_text(BUILDING + '[[junction]]\ndetail = "corner.toml"\nlength = 3\n', encoding="utf-8")
    house.with_suffix(".pdf").write_bytes(b"as it was")
    with monkeypatch.context() as stopped:
        real = computing.compute

        def interrupt(task):
            if task.path.name == "corner.toml":
                raise KeyboardInterrupt
            return real(task)

        stopped.setattr(computing, "compute", interrupt)
        assert run(house) == 130
    assert house.with_suffix(".pdf").read_bytes() == b"as it was"
    assert counted == ["wall.toml"]
    assert run(house) == 0
    assert counted == ["wall.toml", "corner.toml"]
    capsys.readouterr()


@pytest.mark.parametrize("damage", ["cut", "changed", "empty", "foreign", "renamed"])
def test_a_damaged_file_is_computed_again(house, counted, damage, capsys):
    assert run(house) == 0
    whole = house.with_suffix(".pdf").read_bytes()
    kept = list((house.parent / "kept" / "bridge2d").iterdir())
    assert len(kept) == 2  # the detail and the volume
    for file in kept:
        data = file.read_bytes()
        harm = {
            "cut": data[:-100],
            "changed": data[:-50] + bytes([data[-50] ^ 1]) + data[-49:],
            "empty": b"",
            "foreign": b"\x80\x04\x95" + data,
            "renamed": data,
        }
        file.write_bytes(harm[damage])
    if damage == "renamed":  # sound in itself, but of another input
        (house.parent / "wall.toml").write_text(WALL.replace("0.8", "0.9"), encoding="utf-8")
        key = cache.fingerprint(load(house)[0].variants[0], 1e-3)
        next(f for f in kept if f.suffix == ".detail").rename(kept[0].parent / f"{key}.detail")
    assert run(house) == 0
    assert len(counted) == 2
    assert (house.with_suffix(".pdf").read_bytes() == whole) == (damage != "renamed")
    capsys.readouterr()


def test_a_cache_that_cannot_be_made_is_told_and_done_without(house, monkeypatch, capsys):
    monkeypatch.setenv("XDG_CACHE_HOME", str(house))  # a file where a folder belongs
    assert run(house, "--json") == 0
    assert "nothing is kept" in capsys.readouterr().err


def test_processes_side_by_side_give_the_same(house, capsys):
    house.write_text(BUILDING + '[[junction]]\ndetail = "corner.toml"\nlength = 3\n', encoding="utf-8")
    assert run(house, "--no-cache") == 0
    alone = house.with_suffix(".pdf").read_bytes()
    assert main(["schedule", str(house), "--jobs", "2", "--no-cache"]) == 0
    assert house.with_suffix(".pdf").read_bytes() == alone
    assert capsys.readouterr().err == ""  # no terminal, no progress


def test_the_cache_keeps_the_files_used_last(tmp_path, monkeypatch):
    monkeypatch.setattr(cache, "MOST_FILES", 2)
    for name in ("0a", "0b", "0c"):
        (tmp_path / f"{name}.detail").write_bytes(b"")
        import os

        os.utime(tmp_path / f"{name}.detail", (1e9 + ord(name[1]), 1e9 + ord(name[1])))
    cache.tidied(tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["0b.detail", "0c.detail"]


@pytest.mark.parametrize(("platform", "ending"), [("linux", ".cache/bridge2d"), ("darwin", "Library/Caches/bridge2d")])
def test_the_folder_is_the_platform_s(monkeypatch, platform, ending):
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setattr(sys, "platform", platform)
    assert cache.cache_folder() == Path.home() / ending


def test_on_a_terminal_every_detail_is_told(house, capsys, monkeypatch):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    assert run(house) == 0
    told = [one.strip() for one in capsys.readouterr().err.split("\r") if one.strip()]
    assert [one.partition("] ")[2] for one in told] == ["0 of 1 details", "1 of 1 details wall.toml"]
    assert run(house) == 0
    assert capsys.readouterr().err == ""  # all of it is kept


def test_what_a_building_gives_a_detail_stands_in_the_json(house, capsys):
    given = '{ insulation_material = { conductivity = 0.04, basis = "declared" }, joist_width = "8 cm", '
    given += 'joist_material = { conductivity = [0.3, 0.13], basis = "declared" } }'
    (house.parent / "joist.toml").write_text('junction = "joist_pocket"\n', encoding="utf-8")
    text = f'[[junction]]\nname = "Joists"\ndetail = "joist.toml"\nlength = 3\nparameters = {given}\n'
    house.write_text(BUILDING + text, encoding="utf-8")
    run(house, "--json", "--tolerance", "0.05")
    found = json.loads(capsys.readouterr().out)
    assert found["details"][1]["parameters"] == {
        "insulation_material": {"conductivity": 0.04, "basis": "declared"},
        "joist_width": "8 cm",
        "joist_material": {"conductivity": [0.3, 0.13], "basis": "declared"},
    }


def test_progress_is_one_line_that_ends_empty(capsys):
    progress_line(1, 2, "wall.toml")
    progress_line(2, 2, "corner.toml")
    out, err = capsys.readouterr()
    assert out == ""
    assert "1 of 2 details wall.toml" in err
    assert "\n" not in err
    assert err.endswith(" \r")


# -- a detail as the building uses it ----------------------------------------------------------------------------------


def test_a_variant_stays_a_detail_file_with_its_comments(house):
    corner = '[[junction]]\nname = "Thick"\ndetail = "corner.toml"\nlength = 3\nparameters = { board_thickness = 25 }\n'
    house.write_text(BUILDING + corner, encoding="utf-8")
    building, source = load(house)
    wall, thick = (loaded_variant(variant, source) for variant in building.variants)
    assert wall.text.startswith("# a plane wall")
    assert [r.limit for r in wall.detail.requirements] == [0.7]
    assert thick.detail.title == "Thick"
    assert "board_thickness = 25" in thick.text
    assert "insulation_thickness = 60" in thick.text
    assert [r.limit for r in thick.detail.requirements] == [0.7]


def test_entries_that_use_one_detail_share_its_report(house):
    house.write_text(BUILDING + '[[junction]]\ndetail = "wall.toml"\nlength = 3\n', encoding="utf-8")
    building, _ = load(house)
    assert len(building.variants) == 1
    assert building.variants[0].users == (0, 3)


# -- wrong files -------------------------------------------------------------------------------------------------------

EDGE = '[[junction]]\nname = "a"\npsi = 0.1\ndimensions = "internal"\nsource = "s"\nlength = 1\n'
TOP = 'dimensions = "internal"\n'


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        (EDGE, None, "the key dimensions is missing"),
        (TOP, None, "no junctions"),
        (TOP + "dimension = 3\n" + EDGE, 2, "unknown key 'dimension'; did you mean 'dimensions'"),
        ('dimensions = "outer"\n' + EDGE, 1, "'outer' is not known"),
        (TOP + EDGE.replace('"internal"', '"external"'), 5, "the Ψ is for external dimensions"),
        (TOP + EDGE.replace('dimensions = "internal"\n', ""), 2, "the key dimensions is missing"),
        (TOP + EDGE.replace('source = "s"\n', ""), 2, "the key source is missing"),
        (TOP + EDGE.replace("length = 1", "length = 0"), 7, "beyond what is allowed"),
        (TOP + EDGE.replace("length = 1", 'length = "1 kg"'), 7, "the unit 'kg'"),
        (TOP + EDGE.replace("length = 1", "length = 42600"), 7, "42600 m is beyond"),
        (TOP + EDGE.replace("length = 1", "number = 1"), 7, "a Ψ counts by length"),
        (TOP + EDGE.replace("length = 1", "lenght = 1"), 7, "did you mean 'length'"),
        (TOP + EDGE.replace("psi = 0.1", "psi = 0.1\nchi = 1"), 5, "psi and chi where exactly one"),
        (TOP + EDGE.replace("psi = 0.1", "psi = nan"), 4, "not finite"),
        (TOP + EDGE.replace("psi = 0.1", "psi = -200"), 4, "-200 W/(m·K) is beyond what is allowed; give −100 to 100"),
        (TOP + EDGE.replace("psi = 0.1", "psi = 0.1\nf_rsi = 1.5"), 5, "1.5 is no temperature factor"),
        (TOP + EDGE.replace("length = 1", "number = 0"), 7, "0 pieces are beyond what is allowed"),
        (TOP + '[[junction]]\ndetail = "no.toml"\nlength = 1\n', 3, "no such file"),
        (TOP + '[[junction]]\ndetail = "wall.toml"\n', 2, "the amount is missing"),
        (TOP + '[[junction]]\ndetail = "wall.toml"\nnumber = 3\n', 4, "neither a χ nor sides"),
        (TOP + '[[junction]]\ndetail = "wall.toml"\nlengths = { jamb = 3 }\n', 4, "no side 'jamb'"),
        (
            TOP + '[[junction]]\ndetail = "wall.toml"\nlength = 3\nlengths = { jamb = 3 }\n',
            2,
            "lengths of the sides leave no other amount",
        ),
        (TOP + '[[junction]]\ndetail = "window.toml"\nlength = 3\nnumber = 2\n', 4, "windows are counted in two ways"),
        (TOP + '[[junction]]\ndetail = "bare.toml"\nlength = 3\n', 3, "for internal dimensions (no Ψ at all)"),
        (TOP + EDGE * 2001, 12002, "there are 2001 junctions; a building may have 2000; divide it"),
        (TOP + '[[junction]]\ndetail = "wall.toml"\nlength = 3\nsource = "s"\n', 5, "leave it out"),
        ('dimensions = "overall_internal"\n[[junction]]\ndetail = "wall.toml"\nlength = 3\n', 3, "only for external"),
        (TOP + '[[junction]]\ndetail = "wall.toml"\nlength = 3\nparameters = { depth = 3 }\n', 5, "[parameters]"),
        (
            TOP + '[[junction]]\ndetail = "corner.toml"\nlength = 3\nparameters = { bord_thickness = 3 }\n',
            5,
            "did you mean 'board_thickness'",
        ),
        (
            TOP
            + '[[junction]]\ndetail = "corner.toml"\nlength = 3\n[junction.parameters]\nboard_thickness = "thick"\n',
            6,
            "parameters.board_thickness",
        ),
        (TOP + '[[junction]]\ndetail = "wrong.toml"\nlength = 3\n', 2, "wrong.toml, line 2, parameters.bord_thickness"),
        (TOP + EDGE.replace("name", 'ref = "1"\nname') + EDGE.replace("name", 'ref = "1"\nname'), 10, "given twice"),
        (TOP + EDGE + 'group = "N"\n' + EDGE + 'group = "n"\n', 15, "capitals alone"),
        (TOP + EDGE + '[[element]]\nname = "w"\narea = -3\nu_value = 1\n', 10, "-3 m² is beyond"),
        (TOP + EDGE + '[[element]]\nname = "w"\narea = 3\nu_value = 0\n', 11, "0 W/(m²·K) is beyond what is allowed"),
        (TOP + EDGE + '[[element]]\nname = "w"\narea = "much"\nu_value = 1\n', 10, "'much' is no area"),
        (TOP + EDGE + '[[element]]\nname = "w"\narea = "3 kg"\nu_value = 1\n', 10, "is no area"),
        (
            TOP + EDGE + '[[element]]\nname = "w"\narea = 3\nu_value = 1\ndimensions = "external"\n',
            12,
            "the area is for",
        ),
        (
            TOP + '[[requirement]]\nquantity = "psi"\ndimensions = "external"\nmaximum = 1\nsource = "s"\n' + EDGE,
            4,
            "the limit is for external",
        ),
        (TOP + 'requirements = "no such set"\n' + EDGE, 2, "no requirement set"),
        (TOP + 'junction = "joist_pocket"\n', 2, "a detail file, not a building"),
        (TOP + "junction = 3\n", 2, "[[junction]]"),
        (TOP + "[[junction]\n", 2, "not TOML"),
    ],
)
def test_a_wrong_building_is_told_in_one_message(house, capsys, text, line, says):
    (house.parent / "wrong.toml").write_text(
        'junction = "wall_corner"\nparameters = { bord_thickness = 3 }\n', encoding="utf-8"
    )
    (house.parent / "window.toml").write_text('junction = "window_box"\n', encoding="utf-8")
    (house.parent / "bare.toml").write_text(WALL.partition("[[flanking]]")[0], encoding="utf-8")
    house.write_text(text, encoding="utf-8")
    assert run(house) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert says in err
    if line is not None:
        assert re.search(rf"\.toml, line {line}[,:]", err)
    assert not house.with_suffix(".pdf").exists()


def test_what_the_building_makes_of_a_sound_detail_is_told_at_its_entry(house):
    building, source = load(house)
    error = InputError("its cavities do not settle", right="write their conductivity")
    told = str(in_building(error, building.variants[0], source))
    assert "house.toml, line 9, [[junction]] 1, detail: " in told
    assert told.endswith("the detail cannot be used: its cavities do not settle; write their conductivity")


def test_a_limit_on_chi_asks_nothing_of_a_detail_without_chi(house, capsys):
    limit = '[[requirement]]\nquantity = "chi"\nmaximum = 0.03\nsource = "invented"\n'
    house.write_text(BUILDING.replace("[[junction]]", limit + "[[junction]]", 1), encoding="utf-8")
    assert run(house, "--json") == 0
    found = json.loads(capsys.readouterr().out)["junctions"]
    asked = [[one["quantity"] for one in junction["requirements"]] for junction in found]
    assert asked == [["f_rsi"], ["f_rsi"], ["f_rsi", "chi"]]


def test_an_area_may_have_its_unit(house, capsys):
    house.write_text(BUILDING.replace("area = 50", 'area = "538,2 ft²"'), encoding="utf-8")
    assert run(house, "--json") == 0
    area = 538.2 * 0.3048**2  # a foot has 0.3048 m exactly
    assert json.loads(capsys.readouterr().out)["increase"]["value"] == pytest.approx(LOSS / area, rel=1e-6)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["-o", "a.csv"], "ends in .pdf"),
        (["--csv", "a.xlsx"], "ends in .csv"),
        (["--xlsx", "no folder/a.xlsx"], "folder"),
        (["--jobs", "0"], "--jobs"),
        (["--jobs", "two"], "--jobs"),
        (["--tolerance", "0"], "--tolerance"),
        (["missing.toml"], "missing.toml: there is no such file"),
    ],
)
def test_a_wrong_call(house, monkeypatch, capsys, words, says):
    monkeypatch.chdir(house.parent)
    assert main(["schedule", *([] if words[0].endswith("toml") else [str(house)]), *words]) == 2
    assert says in capsys.readouterr().err


# -- spreadsheets ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@A1", "\t=1", " =1", "＝1"])
def test_no_text_begins_a_formula(text):
    assert safe_text(text) == f"'{text}"
    assert safe_text(f"a{text}") == f"a{text}"


def test_csv_has_units_in_its_headings_and_no_formula(house, capsys):
    target = house.parent / "a.csv"
    assert run(house, "--json", "--csv", target) == 0
    raw = target.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"))))
    assert len(rows) == 4
    assert rows[0]["H [W/K]"] == repr(json.loads(capsys.readouterr().out)["junctions"][0]["loss"]["value"])
    assert float(rows[0]["length [m]"]) * float(rows[0]["Ψ [W/(m·K)]"]) == pytest.approx(float(rows[0]["H [W/K]"]))
    assert rows[1]["no."] == "'=cmd"
    assert rows[1]["junction or element"] == "'=2+3"
    assert rows[1]["source"] == "'@SUM(A1)"
    assert rows[1]["lower bound"] == ""
    assert float(rows[3]["area [m²]"]) * float(rows[3]["U [W/(m²·K)]"]) == float(rows[3]["H [W/K]"])
    assert sum(float(row["H [W/K]"]) for row in rows) == pytest.approx(LOSS + 20, rel=1e-6)


def test_workbook_has_formulas_with_their_values_and_no_other(house, capsys):
    target, again = house.parent / "a.xlsx", house.parent / "b.xlsx"
    assert run(house, "--json", "--xlsx", target) == 0
    assert run(house, "--json", "--xlsx", again, "--no-cache") == 0
    capsys.readouterr()
    assert target.read_bytes() == again.read_bytes()
    formulas = openpyxl.load_workbook(target)
    values = openpyxl.load_workbook(target, data_only=True)
    assert formulas.sheetnames == ["Junctions", "Elements", "Groups", "Limits", "About"]
    junctions = formulas["Junctions"]
    assert (junctions["A3"].value, junctions["A3"].data_type) == ("=cmd", "s")
    assert (junctions["B3"].value, junctions["B3"].data_type) == ("=2+3", "s")
    assert junctions["B3"].quotePrefix
    found = 0
    for sheet in formulas:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    found += 1
                    value = values[sheet.title][cell.coordinate].value
                    assert value == pytest.approx(
                        evaluated(cell.value, values[sheet.title], values), rel=1e-12, abs=1e-15
                    )
    assert found >= 14
    assert values["Junctions"]["L5"].value == pytest.approx(LOSS, rel=1e-6)
    assert values["Groups"]["F4"].value == pytest.approx(LOSS + 20, rel=1e-6)


def evaluated(formula, sheet, book):
    """The value of the few kinds of formula that the workbook has, worked out here from the cells."""

    def cells(name, column, first, last):
        source = book[name] if name else sheet
        return [source[f"{column}{k}"].value for k in range(int(first), int(last) + 1)]

    given = re.fullmatch(r"=SUM\((\w)(\d+):\w(\d+)\)\+SUMIF\(E\d+:E\d+,\"given\",L\d+:L\d+\)", formula)
    if given:
        kinds, losses = cells("", "E", given[2], given[3]), cells("", "L", given[2], given[3])
        bounds = cells("", given[1], given[2], given[3])
        return sum(b or 0 for b in bounds) + sum(x for k, x in zip(kinds, losses, strict=True) if k == "given")
    group = re.fullmatch(r'=SUMPRODUCT\(EXACT\((\w+)!(\w)(\d+):\w(\d+)&"",A(\d+)&""\)\*(\w+)!(\w)\d+:\w\d+\)', formula)
    if group:
        names, numbers = cells(group[1], *group.group(2, 3, 4)), cells(group[6], *group.group(7, 3, 4))
        wanted = sheet[f"A{group[5]}"].value or ""
        return sum(x for name, x in zip(names, numbers, strict=True) if (name or "") == wanted)
    total = re.fullmatch(r"=SUM\((\w)(\d+):\w(\d+)\)", formula)
    if total:
        return sum(x or 0 for x in cells("", *total.groups()))
    first, sign, second = re.fullmatch(r"=(\w\d+)([*/+])(\w\d+)", formula).groups()
    a, b = sheet[first].value, sheet[second].value
    return {"*": a * b, "/": a / b if b else 0, "+": a + b}[sign]


OWN = """\
[brief]
title = "our brief (invented)"
source = "brief, invented"
[[brief.requirement]]
quantity = "f_rsi"
minimum = 0.74
name = "brief"
"""


def test_a_building_chooses_a_set_of_its_own_file(house, capsys):
    text = BUILDING.replace('dimensions = "internal"\n', 'dimensions = "internal"\nrequirements = "brief"\n', 1)
    house.write_text(text, encoding="utf-8")
    assert run(house, "--json") == 2
    assert "there is no requirement set 'brief'" in capsys.readouterr().err
    house.write_text('requirement_sets = "own.toml"\n' + text, encoding="utf-8")
    assert run(house, "--json") == 2
    assert "own.toml" in capsys.readouterr().err
    (house.parent / "own.toml").write_text(OWN, encoding="utf-8")
    assert run(house, "--json") == 1  # exact: 1 - 0.16/0.6 = 0.733 misses it
    found = json.loads(capsys.readouterr().out)
    limits = {one["name"]: one["met"] for one in found["junctions"][0]["requirements"]}
    assert limits["brief"] is False
    (house.parent / "own.toml").write_text(OWN.replace("0.74", "0.71"), encoding="utf-8")
    assert run(house, "--json") == 0  # the file of sets counts among the input


def test_a_changed_climate_table_is_computed_again(house):
    table = "month,outside_temperature,outside_humidity\n" + "".join(f"{k},{{}},0.8\n" for k in range(1, 13))
    climate = '[climate]\nname = "Lock"\nsource = "invented"\nfile = "air.csv"\nhumidity_class = 3\n'
    (house.parent / "wall.toml").write_text(WALL + climate, encoding="utf-8")
    kept = house.parent / "kept" / "bridge2d"
    counts = []
    for temperature in (2, 2, 4):
        (house.parent / "air.csv").write_text(table.format(*[temperature] * 12), encoding="utf-8")
        run(house, "--json")
        counts.append(len(list(kept.glob("*.detail"))))
    assert counts == [1, 1, 2]


def test_each_look_is_kept_by_itself(house, capsys):
    written = {}
    for words in ([], ["--units", "inch-pound"], ["--paper", "Letter"], []):
        target = house.parent / "out.pdf"
        run(house, "-o", target, *words)
        assert written.setdefault(tuple(words), target.read_bytes()) == target.read_bytes()
        assert ("Btu/(h·°F)" in capsys.readouterr().out) == ("inch-pound" in words)
    assert len(set(written.values())) == 3


def test_the_table_of_a_climate_is_not_written_over(tmp_path, capsys):
    for name in ("tollhouse_joist.toml", "tollhouse_climate.csv"):
        shutil.copy(DETAILS / name, tmp_path / name)
    building = tmp_path / "building.toml"
    junction = '[[junction]]\nref = "J"\ndetail = "tollhouse_joist.toml"\nlength = 4\n'
    text = f'title = "House (invented)"\ndimensions = "internal"\n{junction}'
    building.write_text(text, encoding="utf-8")
    climate = tmp_path / "tollhouse_climate.csv"
    before = climate.read_bytes()
    assert main(["schedule", str(building), "--csv", str(climate), "--jobs", "1", "--no-cache"]) == 2
    assert "would overwrite a file that is read" in capsys.readouterr().err
    assert climate.read_bytes() == before
    assert len(list(tmp_path.iterdir())) == 3


# -- the climate of a detail -------------------------------------------------------------------------------------------


@pytest.fixture
def damp(tmp_path):
    """Two walls, of which one has a climate that asks for more at its surface than it has."""
    house = building(tmp_path, 2)
    table = (DETAILS / "tollhouse_climate.csv").read_bytes()
    (tmp_path / "air.csv").write_bytes(table)
    climate = '[climate]\nname = "Lock"\nsource = "invented"\nfile = "air.csv"\nhumidity_class = 3\nheated_below = 15\n'
    wall = tmp_path / "wall1.toml"
    wall.write_text(wall.read_text(encoding="utf-8") + climate, encoding="utf-8")
    return house


def test_what_a_climate_asks_of_a_detail_is_told_of_the_building(damp, capsys):
    report, book = damp.with_suffix(".pdf"), damp.with_suffix(".xlsx")
    call = ["schedule", str(damp), "--jobs", "1", "--no-cache", "-o", str(report), "--xlsx", str(book)]
    assert main(call) == 0  # it is no limit
    said = capsys.readouterr().out
    # exact: f_Rsi = 1 − 0.25/(0.04 + 0.32/0.8 + 0.25) = 0.6377; what is asked stands in the wall's own report
    assert "NOT MET: J1 Wall 1: mould, 80 % at the surface, December: minimum 0.782, found 0.638" in said
    assert "J0 Wall 0: mould" not in said
    pages = [page.extract_text() for page in pypdf.PdfReader(report).pages]
    first = re.sub(r"\s+", " ", pages[0])
    assert "✓ met 2 limits" in first
    assert "✗ not met mould, 80 % at the surface, of J1" in first
    assert "0.782 0.638 −0.144" in re.sub(r"\s+", " ", " ".join(pages[1:5]))
    rows = list(openpyxl.load_workbook(book)["Limits"].iter_rows(values_only=True))
    (row,) = [row for row in rows if row[3] == "mould, 80 % at the surface, December"]
    assert row[2] == "not met"
    assert row[7] == pytest.approx(1 - 0.25 / 0.69, abs=1e-6)  # exact
    assert row[8] == pytest.approx(row[7] - row[6])
    assert main(["schedule", str(damp), "--jobs", "1", "--json", "--no-cache"]) == 0
    entries = json.loads(capsys.readouterr().out)["junctions"]
    assert [[one["name"] for one in entry["climate"]] for entry in entries] == [
        [],
        ["mould, 80 % at the surface, December", "condensation, 100 % at the surface, December"],
    ]
    assert main(["recheck", str(report)]) == 0


def test_the_coldest_day_of_a_detail_is_told_of_the_building(damp, capsys):
    wall = damp.parent / "wall1.toml"
    surface = "surface_resistance_f_rsi = 0.13\nedge = [[2000, 320], [0, 320]]"
    text = wall.read_text(encoding="utf-8").replace("edge = [[2000, 320], [0, 320]]", surface)
    wall.write_text(f"{text}coldest_day = -10\n", encoding="utf-8")
    assert main(["schedule", str(damp), "--jobs", "1", "--no-cache", "--json"]) == 0
    asked = [one["name"] for one in json.loads(capsys.readouterr().out)["junctions"][1]["climate"]]
    assert asked == [
        "mould, 80 % at the surface, December",
        "condensation, 100 % at the surface, December",
        "condensation on glazing and frames, coldest day",
    ]
