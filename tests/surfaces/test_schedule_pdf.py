"""The bound PDF of a schedule: pages, contents, bookmarks, links, texts in their boxes."""

import io
import json
import re

import pikepdf
import pymupdf
import pypdf
import pytest

from bridge2d import nomenclature as n
from bridge2d.drawing.scene import all_texts
from bridge2d.report.schedule_chart import ROW, WHOLE, Bar, Bars
from bridge2d.report.volume import STEP, VolumeContents, VolumeEntry
from bridge2d.schedule.cache import Look
from bridge2d.schedule.running import schedule, schedule_pdf
from bridge2d.shown_units import DisplayUnits
from tests.small_building import LONG, building
from tests.surfaces.test_compare import texts_off_their_place


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    given = f'[[junction]]\nname = "{LONG[:200]}"\npsi = -0.2\ndimensions = "internal"\nlength = 2\nsource = "{LONG}"\n'
    found = schedule(building(tmp_path_factory.mktemp("bound"), 3, given=given), jobs=1)
    return found, schedule_pdf(found)


@pytest.fixture(scope="module")
def texts(made):
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made[1])).pages]


def test_one_page_count_runs_through(texts):
    for number, text in enumerate(texts, start=1):
        assert re.findall(r"page (\d+) of (\d+)", text) == [(str(number), str(len(texts)))]


def test_contents_tell_where_each_report_begins(made, texts):
    found, _ = made
    front = len(texts) - sum(detail.pages for detail in found.details)
    first = front
    for k, detail in enumerate(found.details):
        assert f"Wall {k}" in texts[first]
        assert re.search(rf"J{k} +Wall {k}\s+{first + 1}\b", texts[0])
        assert f"p. {first + 1}" in "".join(texts[1:front]).replace("\xa0", " ")
        # the report's own contents tell the volume's pages; they are laid over it, and so come last
        told = [str(first + page + 1) for _title, level, page, _top in detail.marks if level == 1]
        assert "\n".join([*told, f"page {first + 1} of"]) in texts[first]
        first += detail.pages
    assert first == len(texts)


def test_numbers_of_the_schedule_stand_on_its_pages(made, texts):
    result = made[0].result
    front = "\n".join(texts[:6]).replace("\xa0", " ")
    assert n.format_bounded(n.TRANSMISSION, result.loss.lower, result.loss.upper) in front
    for line in result.lines:
        if line.given:
            assert n.format_value(n.PSI, line.value.value) in front
        else:
            assert n.format_bounded(n.PSI, line.value.lower, line.value.upper) in front
    # (2.0 − l_i)/0.6 with l_i 1.99, 1.98, 1.97: below and above 0.1? all below; exact values 0.0167, 0.0333, 0.05
    assert "Met (4)" in front
    assert "internal dimensions" in front


def test_each_limit_has_its_margin(made, texts):
    front = re.sub(r"\s+", " ", "\n".join(texts[:6]).replace("\xa0", " "))
    verdicts = [verdict for entry in made[0].result.entries for verdict in entry.verdicts]
    assert len(verdicts) == 4
    for verdict in verdicts:
        found, limit = round(verdict.value, 4), verdict.requirement.limit
        numbers = f"≤ {limit:.4f} {found:.4f} +{limit - found:.4f}"  # exact: of the numbers as they are printed
        assert numbers.replace("-", n.MINUS) in front
    assert "≤ 0.1000 −0.2000 +0.3000" in front


def test_bookmarks_nest_the_chapters_of_each_report(made):
    found, data = made
    reader = pypdf.PdfReader(io.BytesIO(data))
    top = [item for item in reader.outline if not isinstance(item, list)]
    assert [item.title for item in top][:2] == ["Junctions", "Share of each junction"]
    assert [item.title for item in top][-3:] == [f"J{k}  Wall {k}" for k in range(3)]
    first = len(reader.pages) - sum(detail.pages for detail in found.details)
    assert reader.get_destination_page_number(top[-3]) == first
    inner = reader.outline[reader.outline.index(top[-3]) + 1]
    assert inner[0].title == found.details[0].marks[0][0]


def test_contents_are_linked(made):
    document = pymupdf.open(stream=made[1])
    links = [link for link in document[0].get_links() if link["kind"] == pymupdf.LINK_GOTO]
    assert len(links) == len([item for item in document.get_toc() if item[0] == 1])
    assert [link["page"] for link in links][-1] == len(document) - made[0].details[-1].pages


def test_bytes_are_the_same_and_need_no_repair(made):
    found, data = made
    assert schedule_pdf(found) == data
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert pdf.check_pdf_syntax() == []
    assert b"/CreationDate" not in data


@pytest.mark.parametrize("count", [2, 45])
def test_no_text_leaves_its_page(tmp_path, count):
    """Long titles in many letters; many junctions, whose contents go on over pages."""
    file = building(tmp_path, 2, title=LONG)
    if count > 2:
        more = [
            f'[[junction]]\nname = "{LONG[:180]} {k}"\nref = "reference {k}"\npsi = {k}\ndimensions = "internal"\n'
            f'length = 19999.125\nsource = "{LONG}"\ngroup = "{LONG[:60]}"\n'
            for k in range(count)
        ]
        file.write_text(file.read_text(encoding="utf-8") + "\n".join(more), encoding="utf-8")
    document = pymupdf.open(stream=schedule_pdf(schedule(file, jobs=1)))
    for page in document:
        for x0, y0, x1, y1, *_ in page.get_text("words"):
            assert x0 >= 24 / 25.4 * 72 - 2
            assert x1 <= page.rect.width - 18 / 25.4 * 72 + 2
            assert y0 >= 20
            assert y1 <= page.rect.height - 20


def test_files_of_the_building_and_of_its_reports_travel_along(made):
    found, data = made
    with pikepdf.open(io.BytesIO(data)) as pdf:
        files = {name: one.get_file().read_bytes() for name, one in pdf.attachments.items()}
        associated = {str(one.UF) for one in pdf.Root.AF}
    assert associated == set(files)
    own = {"0 house.toml", "0 results.json", "0 pages.json"}
    assert set(files) == own | {
        f"{k + 1} {name}" for k in range(3) for name in (f"wall{k}.toml", "materials.csv", "results.json")
    }
    assert files["0 house.toml"].decode() == found.result.building.text
    assert json.loads(files["0 results.json"])["loss"]["value"] == found.result.loss.value
    pages = json.loads(files["0 pages.json"])
    assert pages["parts"][1:] == [detail.pages for detail in found.details]
    for page, record in zip(pypdf.PdfReader(io.BytesIO(data)).pages, pages["pages"], strict=True):
        assert "".join(page.extract_text().split()) == "".join(record["words"].split())


@pytest.mark.parametrize("system", ["SI", "inch-pound"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_units_and_paper_are_those_of_the_whole_volume(tmp_path, system, paper):
    given = (
        '[[junction]]\nname = "Iron"\nchi = 0.02\nnumber = 3\nsource = "invented"\n'
        f'[[element]]\nname = "{LONG[:200]}"\ngroup = "{LONG[:60]}"\narea = 1234.5\nu_value = 0.31\n'
        f'source = "{LONG}"\n'
    )
    file = building(tmp_path, 2, title=LONG, given=given)
    found = schedule(file, jobs=1, look=Look(system, paper))
    document = pymupdf.open(stream=schedule_pdf(found))
    width, height = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}[paper]
    for page in document:
        assert (page.rect.width, page.rect.height) == pytest.approx((width / 25.4 * 72, height / 25.4 * 72), abs=0.01)
        side = 24 / 25.4 * 72 + 0.5 * (page.rect.width - 210 / 25.4 * 72)
        for x0, y0, x1, y1, *_ in page.get_text("words"):
            assert x0 >= side - 2
            assert x1 <= page.rect.width - side + 6 / 25.4 * 72 + 2
            assert y0 >= 20
            assert y1 <= page.rect.height - 20
    count = len(document) - sum(one.pages for one in found.details)
    assert texts_off_their_place(document.tobytes(), pages=count) == []
    front = "".join(document[k].get_text() for k in range(count))
    text = front.replace("\xa0", " ").replace("\n", " ")
    units = {"SI": ("W/K", "W/(m·K)", "m²"), "inch-pound": ("Btu/(h·°F)", "Btu/(h·ft·°F)", "ft²")}
    for unit in units[system]:
        assert unit in text
    for unit in units["inch-pound" if system == "SI" else "SI"]:
        assert not re.search(rf"\d {re.escape(unit)}(?![\w·²])", text)
    loss = found.result.loss
    assert DisplayUnits(system).bounded(n.TRANSMISSION, loss.lower, loss.upper) in text


def test_long_lists_go_on_over_pages_and_short_ones_stay_together():
    """Rooms of so many lines: at least two lines stay on either side of a page's end."""
    many = VolumeContents(tuple(VolumeEntry(str(k), f"Wall {k}", k) for k in range(10)))
    assert many.split(1.5 * STEP) is None
    first, rest = many.split(4.2 * STEP)
    assert [len(first.entries), len(rest.entries)] == [4, 6]
    first, rest = many.split(100 * STEP)
    assert [len(first.entries), len(rest.entries)] == [8, 2]
    bars = Bars(tuple(Bar(f"Wall {k}", 0.0, 1.0 + k, "1 W/K", "9 %", False) for k in range(60)), 0.0, 61.0)
    assert bars.height > WHOLE
    assert bars.split(1.5 * ROW) is None
    first, rest = bars.split(20.2 * ROW)
    assert [bar.name for bar in (*first.bars, *rest.bars)] == [bar.name for bar in bars.bars]
    assert (len(first.bars), len(rest.bars)) == (20, 40)
    assert bars._replace(bars=bars.bars[:3]).split(100.0) is None
    exact = Bars((Bar("Wall", 1.0, 1.0, "1 W/K", "9 %", True),), 0.0, 1.0)
    wide = exact._replace(bars=(Bar("Wall", 0.5, 1.0, "0.75 W/K", "9 %", False),))
    assert len(wide.items(0.0, 100.0)) == len(exact.items(0.0, 100.0)) + 3  # the bracket and its two ends


def test_a_long_name_beside_its_bar_is_whole_in_two_lines_or_told_to_be_cut():
    def words(name):
        bars = Bars((Bar(name, 1.0, 1.0, "1 W/K", "100 %", given=False),), 0.0, 1.0)
        return ["".join(run.text for run in text.runs) for text in all_texts(bars.items(0.0, 0.0))][:-2]

    assert words("J1  Wall") == ["J1  Wall"]
    long = "J5  Parapet above the lock wall, 60 mm of foam and more"
    assert " ".join(words(long)).split() == long.split()
    assert len(words(long)) <= 2
    assert words(LONG)[-1].endswith("…")
