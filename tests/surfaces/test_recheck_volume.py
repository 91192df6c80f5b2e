"""Recheck of a bound volume: an honest one agrees, and every way of altering one is found out or refused."""

from __future__ import annotations

import io
import json
import os
import re
from collections.abc import Callable

import pikepdf
import pytest

from bridge2d.cli import main
from bridge2d.recheck import opened, recheck
from bridge2d.report.enclosures import BESIDE, LIMITS
from tests.small_detail import PLANE_WALL
from tests.surfaces.test_recheck import altered, enclose, enclosed, packed, raw, redraw, with_file

CORNER = """\
junction = "wall_corner"
title = "Corner"
[parameters]
masonry_thickness = 300
insulation_thickness = 60   # changed by the building
"""
HOUSE = """\
title = "House (invented)"
project = "Row"
revision = "B"
dimensions = "internal"
requirements = "ours"
requirement_sets = "limits.toml"
[[junction]]
ref = "C"
name = "Corner, 80 mm"
detail = "corner.toml"
group = "north"
parameters = { insulation_thickness = 80 }
length = 5.4
[[junction]]
ref = "W"
detail = "wall.toml"
group = "south"
length = 12
[[junction]]
ref = "S"
name = "Sill"
psi = 0.05
dimensions = "internal"
f_rsi = 0.8
length = 4.25
source = "a catalogue (invented)"
[[element]]
name = "wall"
group = "north"
area = 50
u_value = 0.4
"""
SETS = """\
[ours]
title = "our limits (invented)"
source = "brief, invented"
[[ours.requirement]]
quantity = "f_rsi"
minimum = 0.5
name = "ours"
"""
LOOKS = {"SI": (), "inch-pound": ("--units", "inch-pound", "--paper", "Letter")}
in_either = pytest.mark.parametrize("volume", list(LOOKS), indirect=True)
"""What depends on the words of the pages; all else is tried in both looks with SEARCH=1."""


@pytest.fixture(scope="module", params=list(LOOKS) if os.environ.get("SEARCH") else ["SI"])
def volume(request, tmp_path_factory) -> bytes:
    """A volume of two reports, written by the command; the files it was made from are gone."""
    folder = tmp_path_factory.mktemp("volume")
    for name, text in {"corner": CORNER, "wall": PLANE_WALL, "house": HOUSE, "limits": SETS}.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    words = [*LOOKS[request.param], "--jobs", "1", "--no-cache"]
    assert main(["schedule", str(folder / "house.toml"), "-o", str(folder / "v.pdf"), *words]) == 0
    data = (folder / "v.pdf").read_bytes()
    for file in folder.iterdir():
        file.unlink()
    return data


def outside(found: dict) -> list[str]:
    return [row["name"] for row in found["numbers"] if not row["inside"]]


def unusable(check, data: bytes, name: str) -> str:
    """What is said of a volume of which a file of the building was changed so that it cannot be used."""
    status, found, _ = check(data)
    assert status == 1
    changed, said = found["findings"]
    assert changed == f"the enclosed file {name} is not the one whose SHA-256 stands on the pages: it was changed"
    assert said.startswith("nothing was computed again: ")
    assert "checked.pdf" in said
    assert found["numbers"] == []
    return said


@in_either
def test_an_honest_volume_agrees(check, volume):
    status, found, _ = check(volume)
    assert status == 0, (found["findings"], outside(found))
    names = {row["name"] for row in found["numbers"]}
    sums = {"ΣΨ·l + Σχ·n", "ΔU of thermal bridges", "ΣU·A", "elements and thermal bridges", "part of it that is given"}
    junctions = {"loss of C", "share of C", "Ψ of C", "product of W", "ΣΨ·l + Σχ·n of group north", "Ψ of S"}
    assert sums | junctions | {"1: Ψ, internal", "2: Ψ, internal"} <= names
    assert found["reports"] == ["Corner, 80 mm", "Plane wall"]
    assert [mesh["section"][:2] for mesh in found["meshes"]] == ["1:", "2:"]
    assert {"0 house.toml", "0 limits.toml", "0 results.json", "1 corner.toml"} <= {
        f["name"] for f in found["enclosed"]
    }


@in_either
def test_the_screen_tells_the_same(volume, tmp_path, capsys):
    (tmp_path / "v.pdf").write_bytes(volume)
    assert main(["recheck", str(tmp_path / "v.pdf")]) == 0
    out = capsys.readouterr().out
    assert "AGREES" in out
    assert "  2: Plane wall" in out
    assert "others have put" not in out  # the links of its contents show nothing


def replaced(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    def change(data: bytes) -> bytes:
        assert data.count(old) == 1
        return data.replace(old, new)

    return change


def test_an_altered_length_of_the_building_file(check, volume):
    status, found, _ = check(with_file(volume, "0 house.toml", replaced(b"length = 5.4", b"length = 5.5")))
    assert status == 1
    assert any("house.toml is not the one whose SHA-256" in words for words in found["findings"])
    assert {"ΣΨ·l + Σχ·n", "loss of C"} <= set(outside(found))
    assert not [name for name in outside(found) if name[0] in "12"]


def test_an_altered_parameter_of_the_building_file(check, volume):
    change = replaced(b"insulation_thickness = 80", b"insulation_thickness = 81")
    status, found, _ = check(with_file(volume, "0 house.toml", change))
    assert status == 1
    assert "report 1 does not have the insulation_thickness that the building file gives" in found["findings"]


def test_an_altered_number_of_an_enclosed_detail(check, volume):
    status, found, _ = check(with_file(volume, "2 wall.toml", replaced(b"conductivity = 0.8", b"conductivity = 0.9")))
    assert status == 1
    assert any(words.startswith("report 2: the enclosed file wall.toml is not") for words in found["findings"])
    assert "2: Ψ, internal" in outside(found)
    assert "ΣΨ·l + Σχ·n" in outside(found)
    assert "1: Ψ, internal" not in outside(found)


def test_a_limit_of_the_building_that_a_detail_lacks(check, volume):
    def change(data: bytes) -> bytes:
        return data[: data.index(b"[[requirement]]")]

    status, found, _ = check(with_file(volume, "2 wall.toml", change))
    assert status == 1
    assert "report 2 lacks the building's limit 'ours'" in found["findings"]


def test_an_altered_file_of_own_limits(check, volume):
    def change(pdf: pikepdf.Pdf) -> None:
        data = enclosed(pdf, "0 limits.toml").replace(b"minimum = 0.5", b"minimum = 0.6")
        del pdf.attachments["0 limits.toml"]
        pdf.attachments["0 limits.toml"] = pikepdf.AttachedFileSpec(
            pdf, data, filename="0 limits.toml", description=LIMITS
        )

    assert LIMITS in BESIDE
    status, found, _ = check(altered(volume, change))
    assert status == 1
    assert any("limits.toml is not the one whose SHA-256" in words for words in found["findings"])
    assert any("limits of the enclosed sums" in words for words in found["findings"])


def test_an_altered_title_of_the_building_file(check, volume):
    status, found, _ = check(with_file(volume, "0 house.toml", replaced(b"House (invented)", b"Hovel (invented)")))
    assert status == 1
    said = "the title of the enclosed sums is 'House (invented)', that of the building file 'Hovel (invented)'"
    assert said in found["findings"]


def test_a_junction_that_the_building_file_lacks(check, volume):
    def change(data: bytes) -> bytes:
        text = data.decode()
        start = text.index('[[junction]]\nref = "W"')
        return (text[:start] + text[text.index('[[junction]]\nref = "S"') :]).encode()

    said = unusable(check, with_file(volume, "0 house.toml", change), "house.toml")
    assert "the building file uses 1 details, and 2 are bound; ask for the file as it was written" in said


@in_either
@pytest.mark.parametrize("key", ["loss", "increase", "total"])
def test_an_altered_number_of_the_sums(check, volume, key):
    def change(data: bytes) -> bytes:
        document = json.loads(data)
        for end in ("value", "lower", "upper"):
            document[key][end] += 0.02
        return json.dumps(document).encode()

    status, found, _ = check(with_file(volume, "0 results.json", change))
    assert status == 1
    assert any("results.json is not the one whose SHA-256" in words for words in found["findings"])
    assert any(words.startswith("no page says") for words in found["findings"])
    assert len(outside(found)) == 1


def test_an_altered_share_and_product(check, volume):
    def change(data: bytes) -> bytes:
        document = json.loads(data)
        document["junctions"][1]["share"] += 0.01
        document["junctions"][2]["lines"][0]["loss"]["value"] += 0.001
        return json.dumps(document).encode()

    status, found, _ = check(with_file(volume, "0 results.json", change))
    assert status == 1
    assert {"share of W", "product of S"} <= set(outside(found))


@in_either
def test_an_altered_number_of_a_reports_results(check, volume):
    def change(data: bytes) -> bytes:
        document = json.loads(data)
        document["psi"][0]["value"] += 0.01
        return json.dumps(document).encode()

    status, found, _ = check(with_file(volume, "1 results.json", change))
    assert status == 1
    assert any(words.startswith("report 1: ") for words in found["findings"])
    assert [name[:5] for name in outside(found)] == ["1: Ψ,"]


@in_either
def test_one_altered_digit_of_a_page(check, volume):
    """The page number that is laid over a report's page, and a word of the schedule's own pages."""
    with pikepdf.open(io.BytesIO(volume)) as pdf:
        last = len(pdf.pages)

    def change(pdf: pikepdf.Pdf) -> None:
        one, other = pdf.pages[-1], pdf.pages[-2]
        one.resources.XObject.PageNumber, other.resources.XObject.PageNumber = (
            other.resources.XObject.PageNumber,
            one.resources.XObject.PageNumber,
        )

    status, found, _ = check(altered(volume, change))
    assert status == 1
    assert any(words.startswith(f"page {last} reads") for words in found["findings"])
    assert outside(found) == []


def test_a_drawing_that_is_placed_on_a_page_and_changed(check, volume):
    """Words stay, but a white box covers what is below it."""

    def change(pdf: pikepdf.Pdf) -> None:
        form = pdf.pages[-1].resources.XObject.PageNumber
        form.write(b"1 1 1 rg 0 100 600 600 re f\n" + form.read_bytes())

    status, found, _ = check(altered(volume, change))
    assert status == 1
    assert any("what is drawn on it, its fonts or its size were changed" in words for words in found["findings"])


def test_an_altered_drawing_of_a_page(check, volume):
    def change(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[1]
        page.Contents.write(page.Contents.read_bytes() + b"\n1 1 1 rg 100 300 300 300 re f")

    status, found, _ = check(altered(volume, change))
    assert status == 1
    assert any("page 2 has the words that were written, but" in words for words in found["findings"])


@in_either
def test_one_altered_digit_of_the_schedule(check, volume):
    """The text of a page says another loss than the enclosed sums."""
    with pikepdf.open(io.BytesIO(volume)) as pdf:
        drawn = pdf.pages[1].Contents.read_bytes()
    digit = re.search(rb"\((\d)\) Tj", drawn) or re.search(rb"\(([^()\\]{3,})\) Tj", drawn)
    assert digit is not None

    def change(pdf: pikepdf.Pdf) -> None:
        old = digit[1]
        pdf.pages[1].Contents.write(drawn.replace(b"(" + old + b") Tj", b"(" + old[::-1] + old[:1] + b") Tj", 1))

    status, found, _ = check(altered(volume, change))
    assert status == 1
    assert any(words.startswith("page 2 reads") for words in found["findings"])


def test_a_page_that_was_taken_out(check, volume):
    status, found, _ = check(altered(volume, lambda pdf: pdf.pages.__delitem__(4)))
    assert status == 1
    assert any("pages; it was written with" in words for words in found["findings"])


def test_reports_that_change_places(check, volume):
    def change(pdf: pikepdf.Pdf) -> None:
        for name in ("materials.csv", "results.json"):
            one, two = enclosed(pdf, f"1 {name}"), enclosed(pdf, f"2 {name}")
            enclose(pdf, f"1 {name}", two)
            enclose(pdf, f"2 {name}", one)
        one, two = enclosed(pdf, "1 corner.toml"), enclosed(pdf, "2 wall.toml")
        del pdf.attachments["1 corner.toml"], pdf.attachments["2 wall.toml"]
        enclose(pdf, "1 wall.toml", two)
        enclose(pdf, "2 corner.toml", one)

    status, found, err = check(altered(volume, change))
    assert status in (1, 2), err
    if status == 1:
        assert any("is of wall.toml, and the building file names corner.toml" in words for words in found["findings"])


@pytest.mark.parametrize(
    "name", ["0 house.toml", "0 limits.toml", "0 pages.json", "1 corner.toml", "2 results.json", "2 materials.csv"]
)
def test_a_missing_file_is_refused(check, volume, name):
    status, _, err = check(altered(volume, lambda pdf: pdf.attachments.__delitem__(name)))
    assert status == 2
    assert "checked.pdf" in err


def test_a_missing_part_is_refused(check, volume):
    def change(pdf: pikepdf.Pdf) -> None:
        for name in [name for name in pdf.attachments if name.startswith("1 ")]:
            del pdf.attachments[name]

    status, _, err = check(altered(volume, change))
    assert status == 2
    assert "not numbered through" in err


def test_a_part_too_much_is_refused(check, volume):
    def change(pdf: pikepdf.Pdf) -> None:
        for name in ("wall.toml", "results.json", "materials.csv"):
            enclose(pdf, f"3 {name}", enclosed(pdf, f"2 {name}"))

    status, _, err = check(altered(volume, change))
    assert status == 2
    assert "malformed" in err or "3 are bound" in err


def test_files_of_others_are_left_alone(check, volume):
    status, found, _ = check(altered(volume, lambda pdf: enclose(pdf, "letter.txt", b"Dear certifier")))
    assert status == 0, found.get("findings")
    assert found["other_files"] == ["letter.txt"]


@pytest.mark.parametrize("text", [b"\xff", b"[]", b'{"loss": 1}', b"{" * 50_000])
def test_sums_that_are_none_disagree(check, volume, text):
    said = unusable(check, with_file(volume, "0 results.json", lambda _: text), "results.json")
    assert "malformed" in said


@pytest.mark.parametrize("text", [b"\xff", b"title = 1", b"x", b'dimensions = "internal"'])
def test_a_building_file_that_is_none_disagrees(check, volume, text):
    said = unusable(check, with_file(volume, "0 house.toml", lambda _: text), "house.toml")
    assert "checked.pdf/house.toml" in said


def test_a_detail_file_that_is_none_disagrees(check, volume):
    status, found, _ = check(with_file(volume, "2 wall.toml", lambda _: b"["))
    assert status == 1
    listed, said = found["findings"]
    assert listed.startswith("report 2: the enclosed file wall.toml is not the one whose SHA-256")
    assert "checked.pdf/2/wall.toml: the enclosed detail file is no TOML" in said


def test_a_page_of_a_report_whose_font_was_changed(check, volume):
    def change(pdf: pikepdf.Pdf) -> None:
        redraw(pdf.pages[-1].obj.Resources.XObject.PageNumber.Resources.Font)

    status, found, _ = check(altered(volume, change))
    assert status == 1
    assert any("has the words that were written, but what is drawn" in words for words in found["findings"])


def test_a_bomb_never_inflates(check, volume):
    def change(pdf: pikepdf.Pdf) -> None:
        pdf.attachments["1 corner.toml"].obj.EF.F = packed(pdf, Type=pikepdf.Name.EmbeddedFile)

    status, _, err = check(raw(volume, change))
    assert status == 2
    assert "larger than 25 MB" in err


def test_sizes_are_bounded_as_for_a_report(tmp_path, volume, monkeypatch, capsys):
    (tmp_path / "v.pdf").write_bytes(volume)
    with pikepdf.open(io.BytesIO(volume)) as pdf:
        fewer = len(pdf.pages) - 1
    for name, most, said in (
        ("LARGEST_PDF", 1000, "a report may have"),
        ("LARGEST_FILE", 100, "larger than"),
        ("LARGEST_SUM", 20_000, "larger than"),
        ("MOST_VOLUME_FILES", 5, "more than"),
        ("MOST_VOLUME_PAGES", fewer, f"more than {fewer} pages"),
    ):
        with monkeypatch.context() as patched:
            patched.setattr(opened, name, most)
            assert main(["recheck", str(tmp_path / "v.pdf")]) == 2
            assert said in capsys.readouterr().err


def test_a_building_file_that_is_too_large_is_refused(check, volume, monkeypatch):
    monkeypatch.setattr("bridge2d.recheck.volume.LARGEST_FILE", 100)
    status, _, err = check(volume)
    assert status == 2
    assert "house.toml: the building file has 0.0 MB" in err


def test_a_building_without_losses_above_zero_and_without_areas(check, tmp_path):
    """No junction then has a share, and no group a loss of elements."""
    (tmp_path / "wall.toml").write_text(PLANE_WALL.replace("internal = 1900", "internal = 2100"), encoding="utf-8")
    house = 'title = "Fins"\ndimensions = "internal"\n[[junction]]\ndetail = "wall.toml"\ngroup = "a"\nlength = 12\n'
    (tmp_path / "house.toml").write_text(house, encoding="utf-8")
    assert main(["schedule", str(tmp_path / "house.toml"), "--jobs", "1", "--no-cache"]) == 0
    data = (tmp_path / "house.pdf").read_bytes()
    for file in tmp_path.iterdir():
        file.unlink()
    status, found, _ = check(data)
    assert status == 0, (found["findings"], outside(found))
    loss = next(row for row in found["numbers"] if row["name"] == "ΣΨ·l + Σχ·n")
    assert loss["old"]["value"] == pytest.approx(12 * (2.0 - 2.1) / 0.6, rel=1e-3)  # exact, R = 0.04 + 0.4 + 0.16
    assert not any(row["name"].startswith(("share", "ΣU·A")) for row in found["numbers"])


def test_it_opens_no_other_file(volume, tmp_path):
    """The folder of the volume has files of the same names with other contents."""
    (tmp_path / "v.pdf").write_bytes(volume)
    for name in ("corner.toml", "wall.toml", "house.toml", "limits.toml"):
        (tmp_path / name).write_text("nonsense = [", encoding="utf-8")
    assert recheck(tmp_path / "v.pdf").agrees
