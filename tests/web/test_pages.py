"""The pages without a script: forms that are sent, addresses that mean a state, files that are saved."""

from __future__ import annotations

import io
import re
import threading
from collections.abc import Callable
from html import unescape
from pathlib import Path
from urllib.parse import parse_qsl, urlencode

import pikepdf
import pymupdf
import pytest
from starlette.testclient import TestClient

from bridge2d.calculate import calculate
from bridge2d.detail_file import load
from bridge2d.tables import detail_rows
from bridge2d.web import folder as folder_module
from bridge2d.web.folder import Folder, fingerprint
from bridge2d.web.working import WorkError, Workshop
from tests.web.conftest import FREE_SECTION, form_token

JOIST = "/detail/tollhouse_joist.toml"


def hidden(page: str, name: str) -> str:
    """A hidden field of the form that the page is computed and saved by."""
    found = re.search(rf'<form id="(?:text|inputs)".*?name="{name}" value="([^"]*)"', page, re.DOTALL)
    assert found
    return unescape(found[1])


def at(visitor: TestClient, address: str, page: str = "") -> str:
    """The page of an address; in the tab that shows another page where one is given."""
    if page:
        address += ("&" if "?" in address else "?") + f"tab={hidden(page, 'tab')}"
    return visitor.get(address).text


def save(visitor: TestClient, address: str, page: str = "", **more: str) -> tuple[int, str]:
    """Send off what stands in the form of an address's page, as the button Save does."""
    page = at(visitor, address, page)
    answer = visitor.post(f"{address.partition('?')[0]}/save", data=to_save(visitor, page, **more))
    return answer.status_code, answer.text


def to_save(visitor: TestClient, page: str, **more: str) -> dict[str, object]:
    """What the button Save sends of a page."""
    return {**_fields(page), "token": form_token(visitor), **more}


# -- start -------------------------------------------------------------------------------------------------------------


def test_the_list_has_every_detail(visitor: TestClient) -> None:
    page = visitor.get("/").text
    for title in ("Joist end in the street wall, insulated inside", "Two layers"):
        assert title in page
    assert "/detail/tollhouse_climate.csv" not in page
    assert 'href="/file/tollhouse_climate.csv"' in page


def test_a_card_has_drawing_and_verdicts(visitor: TestClient, folder: Path) -> None:
    page = visitor.get("/card/tollhouse_joist.toml").text
    assert "<svg" in page
    result = calculate(load(folder / "tollhouse_joist.toml").detail)
    assert detail_rows(result)[0][1] in page
    assert page.count('class="verdict kept"') == 3  # two limits, and the climate's
    assert "climate: mould, 80 % at the surface, December" in page


def test_what_cannot_be_read_is_told_in_the_list(visitor: TestClient, folder: Path) -> None:
    (folder / "broken.toml").write_text("junction = ", encoding="utf-8")
    (folder / "wrong.toml").write_text(
        'junction = "wall_corner"\n[parameters]\nmasonry_thickness = -1\n', encoding="utf-8"
    )
    page = visitor.get("/?all=yes")
    assert page.status_code == 200
    assert "this is not TOML" in page.text
    assert "outside the limits" in page.text


def test_a_new_detail_of_every_junction_computes(visitor: TestClient, folder: Path) -> None:
    data = {"token": form_token(visitor), "junction": "partition_end", "name": "new one", "units": "inch-pound"}
    answer = visitor.post("/new", data=data)
    assert answer.status_code == 200
    assert str(answer.url).endswith("/detail/new%20one.toml")
    assert 'units = "inch-pound"' in (folder / "new one.toml").read_text(encoding="utf-8")
    again = visitor.post("/new", data=data)
    assert again.status_code == 422
    assert "exists already" in again.text


def test_upload_and_download(visitor: TestClient, folder: Path) -> None:
    files = {"file": ("mine.toml", FREE_SECTION.encode(), "text/plain")}
    answer = visitor.post("/upload", data={"token": form_token(visitor)}, files=files)
    assert answer.status_code == 200
    assert (folder / "mine.toml").read_text(encoding="utf-8") == FREE_SECTION
    assert visitor.get("/file/mine.toml").text == FREE_SECTION
    assert visitor.get("/detail/mine.toml/detail.toml").text == FREE_SECTION


def test_a_building_that_is_brought_stands_in_the_list(visitor: TestClient, folder: Path) -> None:
    text = 'title = "Lock house"\ndimensions = "external"\n[[junction]]\ndetail = "two_layers.toml"\nlength = 3\n'
    files = {"file": ("lock.toml", text.encode(), "text/plain")}
    answer = visitor.post("/upload", data={"token": form_token(visitor)}, files=files)
    assert answer.url.path == "/"
    assert '<a href="/building/lock.toml">Lock house</a>' in answer.text
    assert (folder / "lock.toml").read_text(encoding="utf-8") == text


@pytest.mark.parametrize("name", ["../secret.toml", "/etc/secret.toml", "sub/secret.toml"])
def test_a_building_that_names_a_file_outside_is_not_taken(visitor: TestClient, folder: Path, name: str) -> None:
    text = f'title = "Lock house"\ndimensions = "external"\n[[junction]]\ndetail = "{name}"\nlength = 3\n'
    files = {"file": ("lock.toml", text.encode(), "text/plain")}
    answer = visitor.post("/upload", data={"token": form_token(visitor)}, files=files)
    assert answer.status_code == 422
    assert f"lock.toml, line 4, [[junction]] 1, detail: '{name}' is no file of this folder" in unescape(answer.text)
    assert not (folder / "lock.toml").exists()


def test_what_is_neither_detail_nor_building_is_left_out_of_the_list(visitor: TestClient, folder: Path) -> None:
    (folder / "sets.toml").write_text('[own]\ntitle = "Own limits"\n', encoding="utf-8")
    (folder / ".hidden.toml").write_text(FREE_SECTION.replace("Two layers", "Hidden"), encoding="utf-8")
    page = visitor.get("/").text
    assert "Two layers" in page
    for left_out in ("sets.toml", "Own limits", "Hidden"):
        assert left_out not in page


@pytest.mark.parametrize(
    "address",
    ["/file/{}", "/detail/{}", "/detail/{}/report.pdf", "/building/{}", "/building/{}/rows", "/file/{}/manage"],
)
def test_a_file_that_is_not_there_is_told(visitor: TestClient, address: str) -> None:
    answer = visitor.get(address.format("nothing.toml"))
    assert answer.status_code == 404
    assert "nothing.toml: there is no such file" in answer.text


def test_a_drawing_can_be_brought(visitor: TestClient, folder: Path) -> None:
    data = visitor.get(f"{JOIST}/section.dxf").content
    files = {"file": ("plan.dxf", data, "application/dxf")}
    assert visitor.post("/upload", data={"token": form_token(visitor)}, files=files).status_code == 200
    assert (folder / "plan.dxf").read_bytes() == data


# -- detail ------------------------------------------------------------------------------------------------------------


def test_the_numbers_are_those_of_the_command_line(visitor: TestClient, folder: Path) -> None:
    page = unescape(visitor.get(JOIST).text)
    for name, value, _ in detail_rows(calculate(load(folder / "tollhouse_joist.toml").detail)):
        assert name.strip() in page
        assert value in page


def test_every_parameter_has_a_field_with_its_unit_and_help(visitor: TestClient) -> None:
    from bridge2d.junctions import junctions
    from bridge2d.junctions.declaration import describe

    page = unescape(visitor.get(JOIST).text)
    for info in describe(junctions()["joist_pocket"].parameters):
        assert f'name="p.{info.name}"' in page
        assert info.help in page
        assert not info.limits or info.kind is None or info.limits in page


def test_dimensions_carry_the_name_of_their_parameter(visitor: TestClient) -> None:
    page = visitor.get(JOIST).text
    for name in ("masonry_thickness", "joist_width", "bearing_length"):
        assert re.search(rf'<g class="dimension" data-parameter="{name}">', page)
        assert re.search(rf'<div class="field" data-parameter="{name}">', page)


def test_the_whole_form_sent_off_unchanged_is_the_file_s_own_address(visitor: TestClient) -> None:
    answer = visitor.get(JOIST, params=_fields(visitor.get(JOIST).text), follow_redirects=False)
    assert answer.status_code == 303
    assert answer.headers["location"] == JOIST


def test_a_change_is_an_address_with_nothing_but_the_change(visitor: TestClient) -> None:
    fields = {**_fields(visitor.get(JOIST).text), "p.insulation_thickness": "60"}
    answer = visitor.get(JOIST, params=fields)
    assert answer.status_code == 200
    assert answer.url.query == b"p.insulation_thickness=60"
    assert "(not saved)" in answer.text


def _fields(page: str) -> dict[str, str]:
    """What a browser sends of the form."""
    form = re.search(r'<form id="inputs".*?</form>', page, re.DOTALL)[0]
    found = {}
    for tag in re.findall(r"<input\b[^>]*>", form):
        name, value = (re.search(rf'\b{key}="([^"]*)"', tag) for key in ("name", "value"))
        if name and "form=" not in tag and name[1] != "token" and 'type="checkbox"' not in tag:
            found[name[1]] = unescape(value[1]) if value else ""
    for name, body in re.findall(r'<select\b[^>]*name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        if name.startswith(("p.", "h.", "s.", "r.", "c.", "o.", "l.")):
            found[name] = unescape(re.search(r"<option[^>]* selected>([^<]*)", body)[1])
    layers = re.findall(r'name="layer" value="(\w+)" checked', form)
    return {key: value for key, value in found.items() if key not in ("x", "y", "unit")} | {"layer": layers}


def test_undo_and_redo_are_addresses(visitor: TestClient) -> None:
    page = at(visitor, JOIST)
    page = at(visitor, f"{JOIST}?p.insulation_thickness=60", page)
    page = at(visitor, f"{JOIST}?p.insulation_thickness=80", page)
    assert led(page, "prev").startswith(f"{JOIST}?p.insulation_thickness=60&")
    assert 'rel="next"' not in page
    answer = visitor.get(led(page, "prev"))
    assert str(answer.url).endswith(f"{JOIST}?p.insulation_thickness=60")
    assert led(answer.text, "prev").startswith(f"{JOIST}?tab=")
    assert led(answer.text, "next").startswith(f"{JOIST}?p.insulation_thickness=80&")


def led(page: str, way: str) -> str:
    """The address that undo ("prev") or redo ("next") leads to."""
    found = re.search(rf'href="([^"]*)" rel="{way}"', page)
    assert found, way
    return unescape(found[1])


@pytest.mark.parametrize(("steps", "undone"), [((80, 60, 80), (60, 80, 100)), ((80, 100), (80, 100))])
@pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["no script", "htmx"])
def test_a_change_back_to_what_was_there_is_a_step_of_its_own(
    visitor: TestClient, steps: tuple[int, ...], undone: tuple[int, ...], headers: dict[str, str]
) -> None:
    page = at(visitor, JOIST)
    first = page
    for one in steps:
        fields = {**_fields(first), "p.insulation_thickness": str(one), "tab": hidden(page, "tab")}
        page = visitor.get(JOIST, params=fields, headers=headers).text
    for one in undone:
        page = visitor.get(led(page, "prev")).text
        assert hidden(page, "p.insulation_thickness") == str(one)
    assert 'rel="prev"' not in page
    for one in [*reversed(undone[:-1]), steps[-1]]:
        page = visitor.get(led(page, "next")).text
        assert hidden(page, "p.insulation_thickness") == str(one)
    assert 'rel="next"' not in page


def test_two_tabs_of_a_browser_have_two_histories_and_two_last_pictures(visitor: TestClient) -> None:
    first = at(visitor, f"{JOIST}?p.bay_insulation_thickness=60", at(visitor, JOIST))
    other = at(visitor, JOIST)
    assert 'rel="prev"' not in other
    other = at(visitor, f"{JOIST}?p.bay_insulation_thickness=80", other)
    wrong = at(visitor, f"{JOIST}?p.bay_insulation_thickness=60&p.bearing_length=9000", first)
    assert "Last good picture" in wrong
    assert drawn(wrong) == drawn(first)
    assert drawn(wrong) != drawn(other)
    assert hidden(visitor.get(led(other, "prev")).text, "p.bay_insulation_thickness") == hidden(
        at(visitor, JOIST), "p.bay_insulation_thickness"
    )
    assert hidden(visitor.get(led(wrong, "prev")).text, "p.bay_insulation_thickness") == "60"


def drawn(page: str) -> str:
    return re.search(r'<div class="print" id="drawing">.*?</svg>', page, re.DOTALL)[0]


def test_a_page_that_is_loaded_anew_keeps_its_steps(visitor: TestClient) -> None:
    page = at(visitor, f"{JOIST}?p.insulation_thickness=60", at(visitor, JOIST))
    at(visitor, f"{JOIST}?p.insulation_thickness=80", page)
    again = {"cache-control": "max-age=0"}
    page = visitor.get(f"{JOIST}?p.insulation_thickness=80", headers=again).text
    assert led(page, "prev").startswith(f"{JOIST}?p.insulation_thickness=60&")
    page = visitor.get(f"{JOIST}?p.insulation_thickness=60", headers=again).text  # the browser's own way back
    assert led(page, "next").startswith(f"{JOIST}?p.insulation_thickness=80&")


def test_a_page_beside_the_detail_s_leads_back_into_its_steps(visitor: TestClient) -> None:
    at(visitor, f"{JOIST}?p.insulation_thickness=60", at(visitor, JOIST))
    came = {"referer": f"{visitor.base_url}{JOIST}/what-if?p.insulation_thickness=60"}
    page = visitor.get(f"{JOIST}?p.insulation_thickness=75", headers=came).text
    assert led(page, "prev").startswith(f"{JOIST}?p.insulation_thickness=60&")


def test_a_wrong_value_is_told_at_its_field_and_the_last_picture_stays(visitor: TestClient) -> None:
    tab = hidden(at(visitor, f"{JOIST}?p.insulation_thickness=60"), "tab")
    answer = visitor.get(f"{JOIST}?p.bearing_length=9000&p.insulation_thickness=60&tab={tab}")
    assert answer.status_code == 422
    told = re.search(r'id="m-p-bearing_length">([^<]*)<', answer.text)
    assert "9000 mm is outside the limits; give 20 to 1000 mm" in told[1]
    assert "Last good picture" in answer.text
    assert 'value="9000"' in answer.text
    assert "<svg" in answer.text
    assert 'id="save-it"' not in answer.text
    other = visitor.get(f"{JOIST}?p.bearing_length=abc&section=through+joist").text
    assert "Last good picture" in other
    assert '<option value="through joist" selected>' in other


@pytest.mark.parametrize(
    ("query", "field", "words"),
    [
        ("p.insulation_material=unobtainium", "p-insulation_material", "has no material"),
        ("p.insulation_material.conductivity=0.03", "p-insulation_material", "reason"),
        ("p.insulation_thickness=thick", "p-insulation_thickness", "thick"),
        ("p.joist_width=700", "p-joist_width", ""),
    ],
)
def test_other_wrong_values(visitor: TestClient, query: str, field: str, words: str) -> None:
    answer = visitor.get(f"{JOIST}?{query}")
    assert answer.status_code == 422
    messages = dict(re.findall(r'id="m-([\w-]+)">([^<]+)<', answer.text))
    assert messages
    assert any(words in unescape(text) for text in messages.values())
    if words:
        assert field in messages


def test_all_wrong_values_are_told_at_once(visitor: TestClient) -> None:
    query = "p.bearing_length=9000&p.insulation_thickness=thick&p.insulation_material=unobtainium&p.joist_width=90"
    page = visitor.get(f"{JOIST}?{query}").text
    messages = dict(re.findall(r'id="m-([\w-]+)">([^<]+)<', page))
    assert set(messages) == {"p-bearing_length", "p-insulation_thickness", "p-insulation_material"}
    alert = re.search(r'role="alert">Not computed: see (.*?)</p>', page, re.DOTALL)[1]
    assert alert.count("</a>, <a ") == 2


def test_an_emptied_field_says_what_counts_and_keeps_its_line(visitor: TestClient, folder: Path) -> None:
    path = folder / "tollhouse_joist.toml"
    text = path.read_text(encoding="utf-8")
    text = text.replace("masonry_thickness = 380", "masonry_thickness = 510").replace("foam board", "wool 035")
    path.write_text(text, encoding="utf-8")
    query = "p.masonry_thickness=&p.insulation_material=&p.render_thickness="
    page = unescape(visitor.get(f"{JOIST}?{query}").text)
    assert "Empty: 380 mm counts, the default." in page
    assert "Empty: mineral foam board counts, the default." in page
    assert save(visitor, f"{JOIST}?{query}")[0] == 200
    new = path.read_text(encoding="utf-8")
    assert re.search(r"(?m)^masonry_thickness = 380 +# one and a half bricks$", new)
    assert 'insulation_material = "mineral foam board"' in new
    assert "render_thickness" not in new  # it had no line


def test_what_an_option_is_compared_by_and_tolerances_have_fields(visitor: TestClient, folder: Path) -> None:
    path = folder / "tollhouse_joist.toml"
    page = visitor.get(JOIST).text
    assert 'name="l.length" value="5"' in page
    typed = {
        "o.option": "A",
        "o.length": "12,5",
        "o.cost_per_metre": "64",
        "o.currency": "crowns",
        "o.lifetime": "40",
        "o.heating_degree_hours": "78",
        "l.length": "3",
        "l.parameters": "inside insulation = 2; bay_insulation_thickness = 4",
        "l.materials": "softwood = 0,02",
    }
    assert save(visitor, f"{JOIST}?{urlencode(typed)}")[0] == 200
    detail = load(path)
    assert (detail.comparison.length, detail.comparison.cost_per_metre, detail.comparison.lifetime) == (12.5, 64, 40)
    assert detail.tolerances.length == 0.003
    assert detail.tolerances.parameters == {"insulation_thickness": 0.002, "bay_insulation_thickness": 0.004}
    assert detail.tolerances.materials == {"softwood": 0.02}
    assert re.search(r"(?m)^length = 3 +# measured on the site", path.read_text(encoding="utf-8"))
    page = visitor.get(JOIST).text
    assert 'name="o.length" value="12.5 m"' in page
    assert 'name="o.lifetime" value="40"' in page
    page = visitor.get(f"{JOIST}?o.length=long&l.materials=copper+%3D+1").text
    messages = dict(re.findall(r'id="m-([\w-]+)">([^<]+)<', page))
    assert set(messages) == {"o-length", "l-materials"}


def test_a_larger_drawing_for_small_screens(visitor: TestClient) -> None:
    page = at(visitor, f"{JOIST}?layers=dimensions")
    link = unescape(re.search(r'id="larger" href="([^"]*)"', page)[1])
    large = visitor.get(link).text
    assert "<svg" in large
    assert "Isotherm" not in large
    back = unescape(re.search(r'class="back" href="([^"]*)"', large)[1])
    assert str(visitor.get(back).url).endswith(f"{JOIST}?layers=dimensions")


def test_one_more_limit_without_losing_what_is_typed(visitor: TestClient) -> None:
    page = visitor.get(JOIST).text
    fields = _fields(page)
    free = [key for key in fields if re.fullmatch(r"r\.\d+\.quantity", key)][-1].removesuffix("quantity")
    more = {f"{free}quantity": "χ", f"{free}limit": "0.02", "p.insulation_thickness": "70"}
    assert f'formaction="{JOIST}#more-limits"' in page
    assert more.keys() <= fields.keys()
    page = visitor.get(JOIST, params={**fields, **more}).text
    assert hidden(page, "p.insulation_thickness") == "70"
    assert f'name="{free}limit" value="0.02"' in page
    assert f'name="r.{int(free.split(".")[1]) + 1}.limit" value=""' in page


def test_a_file_that_cannot_be_computed_has_no_last_picture(visitor: TestClient, folder: Path) -> None:
    text = 'junction = "wall_corner"\n[parameters]\nmasonry_thickness = -1\n'
    (folder / "wrong.toml").write_text(text, encoding="utf-8")
    for address in ("/detail/wrong.toml", "/detail/wrong.toml?p.insulation_thickness=60"):
        answer = visitor.get(address)
        assert answer.status_code == 422
        assert "-1 mm is outside the limits" in answer.text
        assert "Last good picture" not in answer.text
        assert "<svg" not in answer.text


def test_a_computation_that_was_stopped_is_told(visitor: TestClient, workshop: Workshop) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise WorkError("the computation took more than 60 s and was stopped")

    with pytest.MonkeyPatch.context() as slow:
        slow.setattr(workshop, "do", stopped)
        answer = visitor.get(f"{JOIST}?p.insulation_thickness=123")
    assert answer.status_code == 422
    assert answer.text.count("the computation took more than 60 s and was stopped") >= 1
    assert "<svg" not in answer.text
    assert 'value="123"' in answer.text


def test_too_much_in_a_field_or_a_text_is_told(visitor: TestClient) -> None:
    answer = visitor.get(JOIST, params={"h.title": "x" * 401})
    assert answer.status_code == 400
    assert "title: what was typed is too long; at most 400 letters" in answer.text
    data = {"token": form_token(visitor), "query": "", "text": "a" * 2_000_001}
    answer = visitor.post(f"{JOIST}/text", data=data)
    assert answer.status_code == 400
    assert "the text is too long; a detail file may have 2 MB" in answer.text


def test_a_field_that_there_is_not(visitor: TestClient) -> None:
    assert visitor.get(f"{JOIST}?p.nothing=1").status_code == 400


def test_layers_and_sections(visitor: TestClient) -> None:
    page = visitor.get(f"{JOIST}?layers=heat").text
    assert 'data-layer="heat"' in page
    assert 'data-layer="isotherms"' not in page
    assert 'class="dimension"' not in page
    other = re.findall(r'<option value="([^"]+)"', re.search(r'name="section">.*?</select>', page, re.DOTALL)[0])[-1]
    page = visitor.get(f"{JOIST}?section={other}").text
    assert f'value="{other}" selected' in page
    assert "There is no section" not in page
    assert "There is no section “attic”" in visitor.get(f"{JOIST}?section=attic").text


def test_inch_pound_and_back(visitor: TestClient) -> None:
    page = visitor.get(f"{JOIST}?units=inch-pound").text
    assert "Btu/(h·ft·°F)" in page
    assert re.search(r'name="p.insulation_thickness" value="3.937"', page)
    assert re.search(r'name="p.inside_temperature" value="68"', page)
    typed = visitor.get(f"{JOIST}?p.insulation_thickness=4&units=inch-pound")
    assert 'href="/detail/tollhouse_joist.toml/detail.toml?p.insulation_thickness=4&amp;units=inch-pound"' in typed.text
    text = visitor.get(f"{JOIST}/detail.toml?p.insulation_thickness=4&units=inch-pound").text
    assert 'insulation_thickness = "4 in"' in text
    back = visitor.get(f"{JOIST}?p.insulation_thickness=4&units=SI&typed_in=inch-pound")
    assert back.status_code == 200
    assert dict(parse_qsl(back.url.query.decode()))["p.insulation_thickness"] in ("4 in", "101.6")


def test_a_place_has_a_temperature_and_a_material(visitor: TestClient) -> None:
    """Two layers between 0 and 20 °C: the temperature of a plane wall is exact."""
    page = visitor.get("/detail/two_layers.toml/point?x=150&y=200&unit=mm").text
    resistance = 0.04 + 0.3 / 0.77 + 0.1 / 0.04 + 0.13
    exact = 20.0 * (0.04 + 0.15 / 0.77) / resistance
    assert f"{exact:.2f} °C" in page
    assert "brick" in page
    answer = visitor.get("/detail/two_layers.toml/point?x=350&y=200", headers={"accept": "application/json"}).json()
    assert answer["material"] == "board"
    assert answer["outside"] is False
    outside = visitor.get("/detail/two_layers.toml/point?x=-5&y=200", headers={"accept": "application/json"}).json()
    assert outside["outside"] is True
    assert visitor.get("/detail/two_layers.toml/point?x=a&y=1").status_code == 400


def test_both_halves_of_a_mirrored_section_answer(visitor: TestClient) -> None:
    there = [
        visitor.get(f"{JOIST}/point?x={x}&y=300", headers={"accept": "application/json"}).json() for x in (-200, 200)
    ]
    assert there[0]["temperature"] == there[1]["temperature"]


def test_htmx_gets_a_first_look_and_then_the_rest(visitor: TestClient) -> None:
    address = f"{JOIST}?p.insulation_thickness=77"
    first = visitor.get(address, headers={"hx-request": "true"})
    assert first.status_code == 200
    assert first.headers["hx-push-url"] == address
    assert "First look" in first.text
    then = visitor.get(address, headers={"hx-request": "true", "x-refine": "yes"})
    assert "First look" not in then.text
    again = visitor.get(address, headers={"hx-request": "true"})
    assert "First look" not in again.text


@pytest.mark.parametrize("typed", ["p.insulation_thickness=77", "p.insulation_thickness=-1&p.insulation_material=oak"])
def test_an_answer_for_the_sheet_holds_all_that_is_put_in_place(visitor: TestClient, typed: str) -> None:
    address = f"{JOIST}?{typed}&tab={hidden(at(visitor, JOIST), 'tab')}"
    whole = visitor.get(address, headers={"hx-request": "true"}).text
    part = visitor.get(address, headers={"hx-request": "true", "hx-target": "sheet"}).text
    put = re.search(r'hx-select-oob="(#title,[^"]*)"', whole)
    assert put
    for name in ["sheet", *(one.removeprefix("#") for one in put[1].split(","))]:
        of_a_text = name in ("typed-so-far", "to-the-form")
        assert whole.count(f'id="{name}"') == part.count(f'id="{name}"') == 1 - of_a_text
    around = re.compile(r'<p[^>]* id="([mds]-[^"]*)">.*?</p>', re.DOTALL)
    brought = re.search(r'<template id="around">(.*?)</template>', part, re.DOTALL)
    assert brought
    assert "<template" not in whole
    stands, comes = ({one[1]: one[0] for one in around.finditer(text)} for text in (whole, brought[1]))
    assert len(comes) > 100
    assert comes == stands
    assert 'id="p-insulation_thickness"' in whole
    assert 'id="p-insulation_thickness"' not in part  # the entries stay as they are


def test_the_first_look_s_brackets_hold(folder: Path) -> None:
    detail = load(folder / "tollhouse_joist.toml").detail
    coarse, full = calculate(detail, most_passes=1), calculate(detail)
    for one, other in zip(coarse.psi, full.psi, strict=True):
        assert one.value.lower <= other.value.upper
        assert other.value.lower <= one.value.upper
        assert one.value.half_width > other.value.half_width


def test_files_are_those_of_the_command_line(visitor: TestClient, folder: Path) -> None:
    from bridge2d.report import report_bytes

    loaded = load(folder / "two_layers.toml")
    made = report_bytes(calculate(loaded.detail, input_hash=loaded.input_hash), loaded)
    answer = visitor.get("/detail/two_layers.toml/report.pdf")
    assert answer.headers["content-disposition"].startswith("attachment")
    assert _without_times(answer.content) == _without_times(made)
    assert visitor.get("/detail/two_layers.toml/section.svg").text.startswith("<svg")
    assert visitor.get("/detail/two_layers.toml/section.exe").status_code == 400


def _without_times(pdf: bytes) -> int:
    """Seconds that the computation took stand in the report; its size hardly depends on them."""
    return len(pdf) // 2000


# -- text --------------------------------------------------------------------------------------------------------------


def test_a_free_section_is_edited_as_text(visitor: TestClient) -> None:
    page = visitor.get("/detail/two_layers.toml").text
    assert "conductivity = 0.77   # old" in page
    data = {"token": form_token(visitor), "query": "", "text": FREE_SECTION.replace("0.77", "1.5")}
    answer = visitor.post("/detail/two_layers.toml/text", data=data)
    assert answer.status_code == 200
    assert "conductivity = 1.5   # old" in answer.text
    assert visitor.get(str(answer.url)).text.count("conductivity = 1.5") == 1
    assert "(not saved)" in answer.text


def test_the_line_at_fault_is_told(visitor: TestClient) -> None:
    wrong = FREE_SECTION.replace("conductivity = 0.04\n", "conductivity = -1\n")
    data = {"token": form_token(visitor), "query": "", "text": wrong}
    answer = visitor.post("/detail/two_layers.toml/text", data=data)
    assert answer.status_code == 422
    line = wrong.splitlines().index("conductivity = -1") + 1
    assert f'data-line="{line}"' in answer.text
    assert f"line {line}" in answer.text
    assert "Last good picture" in answer.text


def test_a_long_text_lives_as_long_as_the_page(visitor: TestClient) -> None:
    import random

    noise = "".join(f"# {random.Random(k).random()}\n" for k in range(2000))
    data = {"token": form_token(visitor), "query": "", "text": FREE_SECTION + noise}
    answer = visitor.post("/detail/two_layers.toml/text", data=data)
    assert answer.status_code == 200
    assert len(answer.url.query) < 200
    assert visitor.get("/detail/two_layers.toml?t=h0123").status_code == 400
    assert visitor.get("/detail/two_layers.toml?t=zAAAA").status_code == 400


# -- saving ------------------------------------------------------------------------------------------------------------


def test_saving_keeps_comments_and_the_version_before(visitor: TestClient, folder: Path) -> None:
    path = folder / "tollhouse_joist.toml"
    old = path.read_text(encoding="utf-8")
    query = "h.revision=B&p.joist_depth=9+in&p.insulation_thickness=120&p.render_thickness=20"
    status, page = save(visitor, f"{JOIST}?{query}")
    assert status == 200
    assert "Saved; the version before it is kept" in page
    new = path.read_text(encoding="utf-8")
    assert (folder / "tollhouse_joist.toml~").read_text(encoding="utf-8") == old
    assert 'revision = "B"' in new
    assert re.search(r'joist_depth = "9 in" +# measured on the site by rule', new)
    assert "insulation_thickness = 120\n" in new
    assert "render_thickness = 20" in new
    for line in old.splitlines():
        if "#" in line:
            assert line.partition("#")[2] in new
    assert load(path).detail.revision == "B"
    assert not list(folder.glob(".*"))


def test_what_is_typed_and_not_computed_is_saved_without_a_script(visitor: TestClient, folder: Path) -> None:
    """The button sends all fields; those that were not touched change no line, layers are no part of the file."""
    path = folder / "tollhouse_joist.toml"
    old = path.read_text(encoding="utf-8")
    page = visitor.get(JOIST).text
    button = re.search(r'<button form="(\w+)" id="save-it" formmethod="post" formaction="([^"]*)" name="token"', page)
    assert button.groups() == ("inputs", f"{JOIST}/save")
    data = {**to_save(visitor, page), "p.insulation_thickness": "72", "layer": ["isotherms"]}
    answer = visitor.post(f"{JOIST}/save", data=data)
    assert "Saved; the version before it is kept" in answer.text
    assert str(answer.url).endswith("?layers=isotherms&saved=yes")
    assert path.read_text(encoding="utf-8") == re.sub(
        "(?m)^insulation_thickness = 100", "insulation_thickness = 72", old
    )
    changed = path.read_text(encoding="utf-8")
    text = changed.replace("insulation_thickness = 72", "insulation_thickness = 73")
    page = visitor.get(f"{JOIST}?as=text").text
    assert '<button form="text" id="save-it"' in page
    answer = visitor.post(f"{JOIST}/save", data={**to_save(visitor, page), "text": text.replace("\n", "\r\n")})
    assert "Saved; the version before it is kept" in answer.text
    assert path.read_text(encoding="utf-8") == text


def test_enter_in_a_field_computes(visitor: TestClient) -> None:
    """The first button of a form is the one that Enter presses."""
    for query in ("", "?p.bearing_length=9000", "?as=text"):
        page = visitor.get(f"{JOIST}{query}").text
        form = "text" if "as=text" in query else "inputs"
        inside = page.index(f'<form id="{form}"')
        buttons = [(one.start(), one[0]) for one in re.finditer(r"<button\b[^>]*>", page)]
        mine = [tag for at, tag in buttons if f'form="{form}"' in tag or ("form=" not in tag and at > inside)]
        assert "formaction" not in mine[0]
        assert any("formaction" in tag for tag in mine)


def test_the_catalogue_is_asked_with_what_stands_in_the_fields(visitor: TestClient) -> None:
    page = visitor.get(JOIST).text
    fields = {**_fields(page), "p.insulation_thickness": "72", "field": "insulation_material"}
    answer = visitor.get(f"{JOIST}/catalogue", params=fields)
    assert answer.url.path == "/materials"
    choice = re.search(r'<a href="([^"]*p\.insulation_material=calcium[^"]*)"', answer.text)
    page = visitor.get(unescape(choice[1])).text
    assert hidden(page, "p.insulation_thickness") == "72"
    assert hidden(page, "p.insulation_material").startswith("calcium")
    assert led(page, "prev").startswith(f"{JOIST}?p.insulation_thickness=72&")


def test_saving_under_another_name(visitor: TestClient, folder: Path) -> None:
    old = (folder / "tollhouse_joist.toml").read_bytes()
    status, page = save(visitor, f"{JOIST}?p.insulation_thickness=60", other="thin")
    assert status == 200
    assert "insulation_thickness = 60" in (folder / "thin.toml").read_text(encoding="utf-8")
    assert (folder / "tollhouse_joist.toml").read_bytes() == old
    status, page = save(visitor, f"{JOIST}?p.insulation_thickness=60", other="tollhouse_party_wall.toml")
    assert status == 422
    assert "exists already" in page


def test_what_is_wrong_is_not_saved(visitor: TestClient, folder: Path) -> None:
    old = (folder / "tollhouse_joist.toml").read_bytes()
    seen = fingerprint(old.decode())
    data = {"token": form_token(visitor), "p.bearing_length": "9000", "seen": seen}
    assert visitor.post(f"{JOIST}/save", data=data).status_code == 422
    assert (folder / "tollhouse_joist.toml").read_bytes() == old


def test_a_file_that_changed_meanwhile_is_not_overwritten(visitor: TestClient, folder: Path) -> None:
    path = folder / "tollhouse_joist.toml"
    page = visitor.get(f"{JOIST}?h.revision=C").text
    path.write_text(path.read_text(encoding="utf-8").replace('revision = "A"', 'revision = "X"'), encoding="utf-8")
    answer = visitor.post(f"{JOIST}/save", data=to_save(visitor, page))
    assert answer.status_code == 422
    assert "changed by somebody else" in answer.text
    assert 'revision = "X"' in path.read_text(encoding="utf-8")


@pytest.mark.parametrize("stop_at", [1, 2])
def test_a_save_that_is_stopped_in_the_middle_loses_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch, stop_at: int
) -> None:
    """The process is gone at any write: file and kept version are whole, and the text before is one of them."""
    path = folder / "two_layers.toml"
    calls = []

    def stopped(data: bytes, to: Path) -> None:
        calls.append(to.name)
        if len(calls) == stop_at:
            to.with_name(f".{to.name}.part").write_bytes(data[: len(data) // 2])  # what is left of it
            raise KeyboardInterrupt
        to.write_bytes(data)

    monkeypatch.setattr(folder_module, "write_whole", stopped)
    with pytest.raises(KeyboardInterrupt):
        Folder(folder).save("two_layers.toml", FREE_SECTION.replace("0.77", "1.5"), fingerprint(FREE_SECTION))
    assert path.read_text(encoding="utf-8") == FREE_SECTION
    kept = folder / "two_layers.toml~"
    assert kept.exists() == (stop_at == 2)
    assert not kept.exists() or kept.read_text(encoding="utf-8") == FREE_SECTION
    assert [one.name for one in Folder(folder).listed()] == sorted(
        ("tollhouse_joist.toml", "tollhouse_party_wall.toml", "two_layers.toml")
    )


def test_two_browsers_have_two_histories(visitor: TestClient) -> None:
    other = TestClient(visitor.app, base_url=str(visitor.base_url))
    other.get("/?token=a-token-for-the-tests")
    other.get("/")
    page = visitor.get(f"{JOIST}?p.insulation_thickness=60").text
    theirs = at(other, JOIST, page)  # a tab's word is of no use to somebody else
    assert hidden(theirs, "tab") != hidden(page, "tab")
    assert 'rel="prev"' not in theirs
    assert 'rel="next"' not in theirs
    assert 'rel="prev"' in page


# -- materials, what if, compare, schedule, recheck --------------------------------------------------------------------


def test_materials_are_found_with_their_source(visitor: TestClient) -> None:
    from bridge2d.materials import find

    page = unescape(visitor.get(f"/materials?word=mineral&field=insulation_material&back={JOIST}").text)
    for one in find("mineral"):
        assert one.name in page
        assert one.source in page
    assert f'href="{JOIST}?p.insulation_material=' in page
    assert 'href="//evil' not in visitor.get("/materials?word=mineral&field=a&back=//evil.example").text


def test_sets_of_limits_are_listed_with_their_sources(visitor: TestClient) -> None:
    from bridge2d.requirement_sets import requirement_sets

    page = unescape(visitor.get("/limits").text)
    for one in requirement_sets().values():
        assert one.name in page
        assert all(limit.source in page for limit in one.requirements)
    found = unescape(visitor.get("/limits?word=din").text)
    assert "din-4108-2" in found
    assert found.count("<h2>") < page.count("<h2>")
    assert "Btu/(h·ft·°F)" in unescape(visitor.get("/limits?units=inch-pound").text)
    assert "no requirement set matches" in unescape(visitor.get("/limits?word=nothing+of+the+kind").text)


def test_the_dimensioned_section_is_a_file_too(visitor: TestClient) -> None:
    both = [visitor.get(f"{JOIST}/section.{ending}") for ending in ("svg", "dimensions.svg")]
    assert [one.headers["content-type"] for one in both] == ["image/svg+xml"] * 2
    assert "Section with dimensions" in both[1].text
    assert both[0].text != both[1].text


def test_the_json_of_the_page_is_that_of_the_command(visitor: TestClient) -> None:
    assert "sensitivities" in visitor.get(f"{JOIST}/section.json").json()  # its file has [tolerances]


def test_sensitivities_are_asked_for_by_a_link(visitor: TestClient, folder: Path) -> None:
    text = (folder / "tollhouse_party_wall.toml").read_text(encoding="utf-8")
    (folder / "plain.toml").write_text(text.partition("[tolerances]")[0], encoding="utf-8")
    wall = "/detail/plain.toml"
    page = unescape(visitor.get(f"{wall}?p.insulation_thickness=60").text)
    links = [one for one in re.findall(r'href="([^"]+)" download', page) if "sensitivities=yes" in one]
    assert [one.partition("?")[0].rpartition("/")[2] for one in links] == ["report.pdf", "section.json"]
    plain = visitor.get(f"{wall}/section.json?p.insulation_thickness=60").json()
    asked = visitor.get(links[1]).json()
    assert "sensitivities" not in plain
    assert asked["sensitivities"]
    assert asked["psi"] == plain["psi"]
    said = []
    for address in (links[0], links[0].replace("sensitivities=yes", "paper=A4")):
        with pymupdf.open(stream=visitor.get(address).content) as pages:
            said.append("depends on" in " ".join("".join(one.get_text() for one in pages).split()))
    assert said == [True, False]


def test_humidity_class_5_gets_the_excess_that_it_asks_for(visitor: TestClient) -> None:
    page = unescape(visitor.get(f"{JOIST}?c.humidity_class=5").text)
    assert "add Vapour pressure excess = 1400" in page
    assert 'name="c.vapour_excess"' in page
    answer = visitor.get(f"{JOIST}?c.humidity_class=5&c.vapour_excess=1400")
    assert answer.status_code == 200
    assert "humidity class 5: 1400 Pa" in unescape(answer.text)


def test_a_recheck_s_numbers_as_json(visitor: TestClient) -> None:
    pdf = visitor.get("/detail/two_layers.toml/report.pdf").content
    files = {"file": ("mine.pdf", pdf, "application/pdf")}
    answer = visitor.post("/recheck", data={"token": form_token(visitor), "as": "json"}, files=files)
    assert "mine.json" in answer.headers["content-disposition"]
    found = answer.json()
    assert found["agrees"] is True
    assert found["file"] == "mine.pdf"
    assert found["numbers"]
    assert "/tmp" not in answer.text


def test_what_if_without_a_script(visitor: TestClient) -> None:
    page = visitor.get("/detail/tollhouse_party_wall.toml/what-if?w=insulation_thickness&all=yes").text
    assert page.count('class="point"') >= 9
    assert 'class="limit"' in page
    assert "points to come" not in page
    assert page.count("<svg") == 2  # Ψ and fRsi; such a wall has neither χ nor U of a module


def test_what_if_tells_why_a_point_is_refused(visitor: TestClient) -> None:
    query = "p.masonry_thickness=200&w=bearing_length&all=yes"  # long ones leave no masonry behind
    page = unescape(visitor.get(f"{JOIST}/what-if?{query}").text)
    told = re.findall(r'<td colspan="3">([^<]*)</td>', page)
    assert told
    assert all("masonry behind it" in one for one in told)
    assert '<th scope="col">χ</th>' in page


def test_what_if_fills_as_it_is_computed(visitor: TestClient) -> None:
    address = "/detail/tollhouse_party_wall.toml/curve?of=masonry_thickness"
    counts = [visitor.get(address).text.count('class="point"') for _ in range(3)]
    assert counts[0] < counts[1] < counts[2]


def test_a_temperature_s_slider_reaches_ten_degrees_to_either_side(visitor: TestClient) -> None:
    page = visitor.get("/detail/tollhouse_party_wall.toml/what-if?w=outside_temperature").text
    slider = re.search(r'name="p.outside_temperature" min="([^"]*)" max="([^"]*)" step="any" value="([^"]*)"', page)
    assert slider
    assert [float(one) for one in slider.groups()] == [-15, 5, -5]


def test_a_free_section_has_nothing_to_slide(visitor: TestClient) -> None:
    page = visitor.get("/detail/two_layers.toml/what-if").text
    assert 'type="range"' not in page
    assert "Numbers here" in page
    answer = visitor.get("/detail/two_layers.toml/curve?of=insulation_thickness")
    assert answer.status_code == 400
    assert "there is no such parameter" in answer.text


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("/compare/comparison.pdf?d=two_layers.toml", "a comparison needs two details or more; choose a second one"),
        ("/building/building.toml/schedule.txt", "there is no such file of a schedule; ask for pdf, csv, xlsx or json"),
        ("/detail/two_layers.toml/section.png", "there is no such file; ask for section.dxf, section.svg"),
    ],
)
def test_a_file_of_another_kind_is_told(visitor: TestClient, address: str, words: str) -> None:
    answer = visitor.get(address)
    assert answer.status_code == 400
    assert words in answer.text


def test_options_side_by_side(visitor: TestClient) -> None:
    address = "/compare?d=tollhouse_joist.toml&d=tollhouse_joist.toml%3Fp.insulation_thickness%3D60"
    page = visitor.get(address).text
    assert page.count("<figure>") == 2
    scales = set(re.findall(r">(\d+ mm)(?: {4}scale [^<]*)?<", page))
    assert scales
    assert "certainly" in page
    assert "100 mm" in page
    assert "60 mm" in page
    pdf = visitor.get(address.replace("/compare", "/compare/comparison.pdf"))
    assert pdf.content.startswith(b"%PDF")


def test_input_without_a_symbol_is_compared_by_its_name(visitor: TestClient) -> None:
    address = "/compare?d=tollhouse_party_wall.toml&d=tollhouse_party_wall.toml%3Fp.insulation_material%3Dhemp+fibre"
    page = visitor.get(address).text
    row = re.search(r'<tr><th scope="row"> ([^<]*)</th><td>([^<]*)</td><td>([^<]*)</td></tr>', page)
    assert row
    assert row[1].startswith("insulation")
    assert "hemp fibre" in row[3]
    assert "hemp fibre" not in row[2]


def test_a_schedule_with_its_files(visitor: TestClient, folder: Path) -> None:
    text = (
        'title = "Invented building"\ndimensions = "external"\n'
        '[[junction]]\nref = "J1"\ndetail = "tollhouse_party_wall.toml"\nlength = 6.2\n'
        '[[junction]]\nref = "J2"\nname = "Corner"\npsi = -0.06\ndimensions = "external"\nlength = 5\n'
        'source = "invented"\n'
    )
    (folder / "building.toml").write_text(text, encoding="utf-8")
    assert "Compute them now" in visitor.get("/building/building.toml").text
    page = visitor.get("/building/building.toml?now=yes").text
    result = calculate(load(folder / "tollhouse_party_wall.toml").detail)
    assert detail_rows(result)[0][1] in page
    assert 'class="gain"' in page
    assert visitor.get("/building/building.toml/schedule.pdf").content.startswith(b"%PDF")
    assert visitor.get("/building/building.toml/schedule.xlsx").content.startswith(b"PK")
    assert "J1" in visitor.get("/building/building.toml/schedule.csv").text


def test_a_report_is_rechecked_on_the_page(visitor: TestClient) -> None:
    pdf = visitor.get("/detail/two_layers.toml/report.pdf").content
    files = {"file": ("report.pdf", pdf, "application/pdf")}
    answer = visitor.post("/recheck", data={"token": form_token(visitor)}, files=files)
    assert answer.status_code == 200
    assert "agrees" in answer.text
    assert "/tmp" not in answer.text
    assert "Marks of others" not in answer.text


def test_marks_over_a_report_and_a_changed_file_are_told_on_the_page(visitor: TestClient) -> None:
    pdf = visitor.get("/detail/two_layers.toml/report.pdf").content

    def sent(change: Callable[[pikepdf.Pdf], None]) -> str:
        out = io.BytesIO()
        with pikepdf.open(io.BytesIO(pdf)) as opened:
            change(opened)
            opened.save(out)
        files = {"file": ("report.pdf", out.getvalue(), "application/pdf")}
        return unescape(visitor.post("/recheck", data={"token": form_token(visitor)}, files=files).text)

    def stamped(opened: pikepdf.Pdf) -> None:
        stamp = pikepdf.Dictionary(Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Stamp, Rect=[0, 0, 200, 200])
        opened.pages[0].obj.Annots = pikepdf.Array([stamp])

    def spoiled(opened: pikepdf.Pdf) -> None:
        opened.attachments["two_layers.toml"].obj.EF.F.write(b"[")

    assert "Marks of others lie over page 1 (Stamp): look what they hide." in sent(stamped)
    page = sent(spoiled)
    assert "the enclosed file two_layers.toml is not the one whose SHA-256 stands on the pages" in page
    assert "nothing was computed again: report.pdf/two_layers.toml: " in page
    assert "/tmp" not in page
    assert "<table" not in page


def test_many_visitors_at_once(visitor: TestClient) -> None:
    """Twenty threads, each a few pages; nobody gets an error."""
    found: list[int] = []

    def visits(number: int) -> None:
        addresses = (JOIST, f"/detail/two_layers.toml/point?x={number}&y=5", "/card/two_layers.toml", "/")
        found.extend(visitor.get(address).status_code for address in addresses)

    threads = [threading.Thread(target=visits, args=(k,)) for k in range(20)]
    for one in threads:
        one.start()
    for one in threads:
        one.join(120)
    assert found == [200] * 80


def test_a_limit_on_u_has_its_verdict() -> None:
    """A framed wall's own U may be limited; the page says whether that is kept."""
    from bridge2d.calculate import calculate
    from bridge2d.detail_file import load
    from bridge2d.shown_units import IN_SI
    from bridge2d.web.work import _verdict

    detail = load(Path(__file__).parents[2] / "details" / "tollhouse_framed_wall.toml").detail
    limits = [one for one in calculate(detail, 1e-2).requirements if one.requirement.quantity == "u_value"]
    assert limits
    assert all("W/(m²·K)" in str(_verdict(one, IN_SI)) for one in limits)


def test_what_a_result_depends_on_is_asked_for_apart(visitor: TestClient) -> None:
    assert "/detail/tollhouse_joist.toml/depends" in visitor.get(JOIST).text
    page = visitor.get(f"{JOIST}/depends")
    assert page.status_code == 200
    assert "What a change does to Ψ" in page.text
    assert "softwood, along the grain" in page.text
    assert '<th scope="row">worst case</th>' in page.text
    assert '<th scope="row">surface, in the bay</th>' in page.text
    bracket = re.search(r'<th scope="row">Ψ, external dimensions</th><td class="value">([^<]*)</td>', page.text)
    assert bracket is not None
    assert "±" in bracket[1]
    assert page.text.count('<th scope="row">') > 60


def test_what_is_set_beside_a_text_goes_along_with_it(visitor: TestClient) -> None:
    headers = {"hx-request": "true", "hx-target": "sheet"}
    page = visitor.get(f"{JOIST}?as=text").text
    put = re.search(r'hx-select-oob="(#title,[^"]*)"', page)
    assert put
    answer = visitor.get(f"{JOIST}?as=text&tolerance=0.002&layers=materials", headers=headers).text
    for name in ("typed-so-far", "to-the-form"):
        assert f"#{name}" in put[1].split(",")
        element = re.search(rf'<input[^>]* id="{name}">|<p id="{name}">.*?</p>', answer, re.DOTALL)
        assert element
        assert "tolerance=0.002&amp;layers=materials" in element[0]


def test_a_wrong_tolerance_hides_no_other_message(visitor: TestClient) -> None:
    page = visitor.get(f"{JOIST}?tolerance=7&p.bearing_length=9000&r.1.dimensions=none&r.0.source=").text
    told = re.findall(r'aria-describedby="h-(\S+) [^"]*" aria-invalid="true"', page)
    assert sorted(told) == ["p-bearing_length", "r-0-source", "r-1-dimensions", "tolerance"]
