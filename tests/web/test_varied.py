"""How closely a detail is computed, the value that meets the limits, and many variants: on the page as by command."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from starlette.testclient import TestClient

from bridge2d.cli import main
from bridge2d.web.app import page
from bridge2d.web.gathering import gather
from bridge2d.web.inlined import inlined
from bridge2d.web.working import BusyError, WorkError, Workshop
from tests.web.conftest import FREE_SECTION, HOME, PORT, TOKEN

CORNER = """\
junction = "wall_corner"
title = "Corner, invented for the tests"
[parameters]
masonry_thickness = 300
insulation_thickness = 60
[[requirement]]
quantity = "f_rsi"
minimum = 0.75
name = "mould"
source = "invented"
"""
PAGE = "/detail/corner.toml"
FIND = "v1=insulation_thickness&v1.first=10&v1.last=110&step=1"
GRID = "v1=insulation_thickness&v1.first=40&v1.last=80&v1.count=3&v2=masonry_thickness&v2.list=250,350,9000"
VARY = ["--vary", "insulation_thickness=40:80:3", "--vary", "masonry_thickness=250,350,9000"]
ALL = "&all=yes"
HTMX = {"hx-request": "true"}


@pytest.fixture(scope="module")
def own_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("served")
    (made / "corner.toml").write_text(CORNER, encoding="utf-8")
    (made / "two_layers.toml").write_text(FREE_SECTION, encoding="utf-8")
    return made


def entered(folder: Path, workshop: Any) -> TestClient:
    made = TestClient(page(folder, TOKEN, PORT, workshop), base_url=HOME)
    assert made.get(f"/?token={TOKEN}").status_code == 200
    return made


@pytest.fixture(scope="module")
def client(own_folder: Path, workshop: Workshop) -> Iterator[TestClient]:
    return entered(own_folder, workshop)


def messages(text: str) -> dict[str, str]:
    """What is told at which field."""
    return {key: unescape(words) for key, words in re.findall(r'id="m-([\w-]+)">([^<]+)<', text)}


def solved(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main(["solve", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


# -- how it is computed ------------------------------------------------------------------------------------------------


def test_tolerance_and_mesher_are_those_of_the_call(
    client: TestClient, own_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    of_page = client.get(f"{PAGE}/section.json?tolerance=0.05&mesher=gmsh").json()
    of_call = solved(capsys, str(own_folder / "corner.toml"), "--tolerance", "0.05", "--mesher", "gmsh")
    usual = client.get(f"{PAGE}/section.json").json()
    for one in (of_page, of_call):
        del one["seconds"]
    assert of_page == of_call
    assert [one["sections"][0]["mesher"] for one in (of_page, usual)] == ["gmsh", "grid"]
    assert of_page["psi"] != usual["psi"]


def test_a_state_carries_them_into_all_that_is_made_of_it(client: TestClient) -> None:
    text = unescape(client.get(f"{PAGE}?tolerance=0.02&mesher=gmsh").text)
    for part in ("report.pdf", "section.json", "section.dxf", "section.vtu", "detail.toml", "what-if", "find", "sweep"):
        links = re.findall(rf'href="{PAGE}/{part}([^"]*)"', text)
        assert links
        assert all({"tolerance", "mesher"} <= parse_qs(urlsplit(one).query).keys() for one in links)
    assert "<option selected>gmsh</option>" in text
    assert 'name="tolerance" value="0.02"' in text


def test_fields_beside_a_text_keep_what_was_typed_before(client: TestClient) -> None:
    text = client.get(f"{PAGE}?p.insulation_thickness=70&tolerance=0.02&as=text").text
    form = re.search(r'<form id="inputs".*?</form>', text, re.DOTALL)
    assert form
    assert '<input type="hidden" name="p.insulation_thickness" value="70">' in form[0]
    assert re.search(r'name="tolerance" value="0.02" form="inputs"', text)


def test_what_is_as_usual_stands_in_no_address(client: TestClient) -> None:
    answer = client.get(f"{PAGE}?tolerance=0.001&mesher=auto")
    assert answer.url.query == b""


def test_a_first_look_stays_coarse(client: TestClient) -> None:
    first = client.get(f"{PAGE}?tolerance=0.0001", headers=HTMX)
    assert "First look" in first.text
    assert first.headers["hx-push-url"] == f"{PAGE}?tolerance=0.0001"


@pytest.mark.parametrize(
    ("query", "field", "words"),
    [
        ("tolerance=0.000001", "tolerance", "write a number from 0.00001 to 1"),
        ("tolerance=2", "tolerance", "write a number from 0.00001 to 1"),
        ("tolerance=narrow", "tolerance", "not a number"),
        ("tolerance=nan", "tolerance", "no tolerance"),
        ("mesher=knife", "mesher", "choose auto, grid or gmsh"),
    ],
)
def test_how_it_cannot_be_computed_is_told_at_the_field(client: TestClient, query: str, field: str, words: str) -> None:
    answer = client.get(f"{PAGE}?{query}")
    assert answer.status_code == 422
    assert words in messages(answer.text)[field]
    assert "Last good picture" in answer.text
    assert client.get(f"{PAGE}/report.pdf?{query}").status_code == 400
    assert words in messages(client.get(f"/detail/two_layers.toml?{query}").text)[field]


# -- find --------------------------------------------------------------------------------------------------------------


def test_the_page_finds_what_the_command_finds(
    client: TestClient, own_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["find", str(own_folder / "corner.toml"), "--vary", "insulation_thickness=10:110", "--step", "1"]
    assert main(call) == 0
    said = [line for line in capsys.readouterr().out.splitlines() if line.startswith("insulation_thickness")]
    text = unescape(client.get(f"{PAGE}/find?{FIND}{ALL}").text)
    assert said
    assert all(line in text for line in said)
    assert "mould: fRsi ≥ 0.75" in text
    assert main([*call, "--json"]) == 0
    answer = client.get(f"{PAGE}/find.json?{FIND}")
    assert answer.headers["content-disposition"].endswith("corner_find.json")
    assert answer.text == capsys.readouterr().out


def test_the_link_opens_the_detail_with_that_value(client: TestClient) -> None:
    text = unescape(client.get(f"{PAGE}/find?{FIND}{ALL}").text)
    value = re.search(r"insulation_thickness = (\d+) mm: all limits met", text)
    link = re.search(rf'href="({PAGE}\?p\.insulation_thickness=(\d+)(&tolerance=0\.0+1)?)"', text)
    assert value
    assert link
    assert link[2] == value[1]
    assert 'class="verdict kept"' in client.get(link[1]).text


def test_two_limits_and_a_second_parameter(client: TestClient) -> None:
    query = f"{FIND}0&psi_max=-0.05&f_rsi_min=0.7&v2=masonry_thickness&v2.first=250&v2.last=350&v2.count=2"
    text = unescape(client.get(f"{PAGE}/find?{query}{ALL}").text)
    assert "Ψ external ≤ -0.05 W/(m·K); fRsi ≥ 0.70" in text
    assert text.count("Every value that was tried, with masonry_thickness = ") == 2
    for link in re.findall(rf'href="{PAGE}\?([^"]*p\.insulation_thickness[^"]*)"', text):
        assert parse_qs(link)["p.masonry_thickness"] in (["250"], ["350"])


def test_a_limit_has_the_units_that_are_shown(client: TestClient) -> None:
    query = "units=inch-pound&v1=insulation_thickness&v1.first=1&v1.last=4&step=0.5&psi_max=0.1&dimensions=internal"
    text = unescape(client.get(f"{PAGE}/find?{query}{ALL}").text)
    assert "Ψ internal ≤ 0.1 Btu/(h·ft·°F)" in text
    assert "inside insulation [in]" in text
    assert " mm" not in text
    assert "W/" not in text


def test_no_value_does_it(client: TestClient) -> None:
    text = client.get(f"{PAGE}/find?v1=insulation_thickness&v1.first=20&v1.last=40&step=10&f_rsi_min=0.99{ALL}").text
    assert "the limits are met at none of 3 values" in text
    assert 'class="verdict missed"' in text
    assert "Open the detail like this" not in text


def test_numbers_may_have_a_decimal_comma_and_a_unit(client: TestClient) -> None:
    found = []
    for words in (
        "v1.first=40.5&v1.last=60.5&step=10.5&psi_max=-0.4&v2=board_thickness&v2.list=12.5;15",
        "v1.first=40,5&v1.last=60,5&step=10,5&psi_max=−0,4+W/(m·K)&v2=board_thickness&v2.list=12,5;+15",
    ):
        answer = client.get(f"{PAGE}/find?v1=insulation_thickness&{words}{ALL}")
        assert answer.status_code == 200
        found.append(re.findall(r"insulation_thickness = [^<]+", unescape(answer.text)))
    assert found[0] == found[1]
    assert "at 51 mm: not met" in found[0][0]
    refused = client.get(f"{PAGE}/sweep?v1=insulation_thickness&v1.list=0,05").text
    assert "write semicolons between values with decimal commas" in messages(refused)["v1-list"]


def test_a_second_parameter_needs_no_count_and_each_step_may_be_asked_for(client: TestClient) -> None:
    query = "v1=insulation_thickness&v1.first=40&v1.last=60&step=10&psi_max=-0.2&every=yes"
    query += "&v2=masonry_thickness&v2.first=250&v2.last=350"
    text = unescape(client.get(f"{PAGE}/find?{query}").text)
    assert "0 of 5 searches are computed" in text
    assert 'name="every" value="yes" checked' in text
    refused = client.get(f"{PAGE}/find?v1=insulation_thickness&v1.first=40&v1.last=60&step=0.01&every=yes&psi_max=0")
    assert "at most 200 on the page" in messages(refused.text)["step"]


def test_a_search_is_asked_for_and_then_there(client: TestClient) -> None:
    address = f"{PAGE}/find?v1=insulation_thickness&v1.first=20&v1.last=50&step=10"
    before = client.get(address).text
    assert "0 of 1 searches are computed" in before
    assert "values computed" not in before
    assert 'hx-trigger="load"' in before
    assert "values computed" in client.get(address, headers=HTMX).text
    assert 'hx-trigger="load"' not in client.get(address).text


def test_empty_fields_stand_in_no_address(client: TestClient) -> None:
    sent = {"v1": "insulation_thickness", "v1.first": "20", "v1.last": "40", "step": "10", "psi_max": "", "v2": ""}
    answer = client.get(f"{PAGE}/find", params=sent)
    assert answer.url.query == b"v1=insulation_thickness&v1.first=20&v1.last=40&step=10"


@pytest.mark.parametrize(
    ("query", "field", "words"),
    [
        ("v1=insulation_thickness&v1.last=80", "v1-first", "write a number"),
        ("v1=insulation_thickness&v1.first=thin&v1.last=80", "v1-first", "thin"),
        ("v1=insulation_thickness&v1.first=90&v1.last=80", "v1-last", "the least first"),
        ("v1=insulation_thickness&v1.first=0&v1.last=1e300", "v1-last", "beyond all bounds"),
        ("v1=masonry_material&v1.first=0&v1.last=1", "v1", "choose a measure"),
        ("v1=<script>&v1.first=0&v1.last=1", "v1", "has no parameter '<script>'"),
        (f"{FIND}&step=-1", "step", "no step"),
        (f"{FIND}&step=900", "step", "does not fit the range"),
        (f"{FIND}&psi_max=little", "psi_max", "no limit"),
        (f"{FIND}&chi_max=1", "chi_max", "has no chi"),
        (f"{FIND}&psi_max=1&dimensions=odd", "dimensions", "choose external"),
        (f"{FIND}&v2=insulation_thickness&v2.list=1", "v2", "varied twice"),
        (f"{FIND}&v2=masonry_thickness&v2.first=200&v2.last=400&v2.count=40", "v2", "`bridge2d find`"),
    ],
)
def test_what_cannot_be_found_is_told_at_its_field(client: TestClient, query: str, field: str, words: str) -> None:
    answer = client.get(f"{PAGE}/find?{query}")
    assert answer.status_code == 422
    assert words in messages(answer.text)[field]
    assert "<script>&" not in answer.text


def test_a_free_section_has_nothing_to_vary(client: TestClient) -> None:
    for part in ("find", "sweep"):
        answer = client.get(f"/detail/two_layers.toml/{part}")
        assert answer.status_code == 400
        assert "no parameters that could be varied" in answer.text


# -- sweep -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["csv", "about.csv", "parquet", "chart.pdf", "chart.svg"])
def test_files_of_a_sweep_are_those_of_the_command(
    client: TestClient, own_folder: Path, tmp_path: Path, kind: str
) -> None:
    if kind == "parquet":
        pytest.importorskip("pyarrow")
    table = tmp_path / ("t.parquet" if kind == "parquet" else "t.csv")
    chart = tmp_path / f"t{Path(kind).suffix}"
    call = ["sweep", str(own_folder / "corner.toml"), *VARY, "-o", str(table), "--jobs", "1", "--of", "f_rsi"]
    assert main([*call, "--chart", str(chart)] if kind.startswith("chart") else call) == 0
    answer = client.get(f"{PAGE}/sweep.{kind}?{GRID}&of=f_rsi")
    made = {"about.csv": tmp_path / "t_about.csv", "chart.pdf": chart, "chart.svg": chart}.get(kind, table)
    assert answer.content == made.read_bytes()


def test_a_sweep_shows_table_chart_and_error_of_interpolation(
    client: TestClient, own_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["sweep", str(own_folder / "corner.toml"), *VARY, "-o", str(tmp_path / "t.csv"), "--jobs", "1"]
    assert main(call) == 0
    told = [line.strip() for line in capsys.readouterr().out.splitlines() if "linear interpolation" in line]
    text = unescape(client.get(f"{PAGE}/sweep?{GRID}&of=f_rsi{ALL}").text)
    assert told
    assert all(line in text for line in told)
    assert "9 variants, 3 of them refused" in text
    assert text.count("masonry_thickness: 9000 mm is outside the limits") == 3
    assert "<title>Chart of fRsi over inside insulation and masonry</title>" in text
    assert "style=" not in text
    assert text.count("<tr>") == 10


def test_a_sweep_fills_piece_by_piece(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bridge2d.web.gathering.AT_ONCE", 1e-9)  # one piece at a time
    address = f"{PAGE}/sweep?v1=insulation_thickness&v1.list=41,43"
    assert "0 of 2 variants are computed" in client.get(address).text
    first = client.get(address, headers=HTMX)
    assert "1 of 2 variants are computed" in first.text
    assert "1 variant so far" in first.text
    assert "<svg" not in first.text
    between = client.get(address, headers=HTMX)
    assert "2 variants</caption>" in between.text
    assert "3 of 5 variants, with values between them, are computed" in between.text
    between = client.get(address, headers=HTMX)
    assert "4 of 5 variants" in between.text
    assert "<svg" not in between.text
    last = client.get(address, headers=HTMX)
    assert "<svg" in last.text
    assert 'hx-trigger="load"' not in last.text


@pytest.mark.parametrize(
    ("query", "field", "words"),
    [
        (
            "v1=insulation_thickness&v1.first=1&v1.last=90&v1.count=301",
            "v1",
            "at most 300 on the page; `bridge2d sweep`",
        ),
        ("v1=insulation_thickness&v1.first=1&v1.last=90", "v1-count", "number of values"),
        ("v1=insulation_thickness&v1.list=1,thick", "v1-list", "thick"),
        ("v1=masonry_material", "v1-list", "list them"),
        ("v1=insulation_thickness&v1.list=1,2&points=301", "points", "at most 300"),
        ("v1=insulation_thickness&v1.list=1,2&points=9&seed=x", "seed", "no seed"),
        ("v1=insulation_thickness&v1.list=1,2&limit=x", "limit", "no limit"),
        ("points=3", "v1", "no parameter is chosen"),
    ],
)
def test_what_cannot_be_swept_is_told_at_its_field(client: TestClient, query: str, field: str, words: str) -> None:
    answer = client.get(f"{PAGE}/sweep?{query}")
    assert answer.status_code == 422
    assert words in messages(answer.text)[field]


def test_a_wild_sweep_is_a_table_of_reasons(client: TestClient) -> None:
    query = "v1=insulation_thickness&v1.list=-5,90000&v2=masonry_material&v2.list={};granite&of=<i>"
    text = client.get(f"{PAGE}/sweep?{query.format('<b>gold')}{ALL}").text
    assert "has no value" in text
    assert "<b>gold" not in text
    text = client.get(f"{PAGE}/sweep?{query.format('sand-lime brick 1800')}{ALL}").text
    assert "4 variants, 4 of them refused" in text
    assert "No chart: no variant has a number" in text
    assert "<i>" not in text


def test_words_and_hypercubes_have_a_table_and_no_chart(client: TestClient) -> None:
    words = client.get(f"{PAGE}/sweep?v1=masonry_material&v1.list=granite;solid+brick,+old,+1600{ALL}").text
    assert "2 variants</caption>" in words
    assert "No chart: 1 parameter has more than one value, not all of them numbers" in words
    ends = "v1=insulation_thickness&v1.first=40&v1.last=90"
    points = client.get(f"{PAGE}/sweep?{ends}&points=3&seed=7{ALL}").text
    assert "3 variants</caption>" in points
    assert "No chart: a hypercube has no chart" in points
    assert client.get(f"{PAGE}/sweep.exe?{GRID}").status_code == 400


class Ending:
    """Processes of which the one with a certain variant is ended."""

    def __init__(self, workshop: Workshop, error: type[WorkError]) -> None:
        self.workshop, self.error = workshop, error

    def do(self, task: str, *arguments: Any, **more: Any) -> Any:
        if task == "sweep_row" and arguments[-1] == {"insulation_thickness": 55.0}:
            raise self.error("the computation took more than 30 s and was stopped")
        return self.workshop.do(task, *arguments, **more)


def test_a_variant_that_is_ended_has_its_row_and_the_others_go_on(own_folder: Path, workshop: Workshop) -> None:
    address = f"{PAGE}/sweep?v1=insulation_thickness&v1.list=45,55,65{ALL}"
    ended = entered(own_folder, Ending(workshop, WorkError)).get(address).text
    assert "3 variants, 1 of them refused" in ended
    assert "was stopped" in ended
    busy = entered(own_folder, Ending(workshop, BusyError)).get(address)
    assert busy.status_code == 422
    assert 'role="alert"' in busy.text


# -- pieces ------------------------------------------------------------------------------------------------------------


def test_pieces_are_gathered_as_long_as_there_is_time() -> None:
    known = {1: "known"}
    gather(known, 3, 0.0, str)
    assert known == {1: "known"}
    gather(known, 3, 60.0, str)
    assert known == {0: "0", 1: "known", 2: "2"}


def test_an_inlined_picture_has_attributes_for_styles() -> None:
    svg = (
        b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="4pt" height="3pt" '
        b'viewBox="0 0 4 3"><metadata>x</metadata><defs><style type="text/css">*{fill: red}</style></defs>'
        b'<g style="fill: #fff; stroke-width: 2"><use xlink:href="#a"/></g></svg>'
    )
    made = inlined(svg, "<b> & more")
    assert made.startswith("<svg viewBox=")
    assert '<g fill="#fff" stroke-width="2"><use href="#a" /></g>' in made
    assert "<title>&lt;b&gt; &amp; more</title>" in made
    assert "metadata" not in made
    assert "style" not in made
