"""Files of the served folder: what may be brought, another name, taken out and put back, own limits listed."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.conftest import FREE_SECTION, form_token

LAYERS = "two_layers.toml"
SETS = """\
[house-limits]
title = "Limits of the house"
source = "invented"
[[house-limits.requirement]]
quantity = "f_rsi"
minimum = 0.72
name = "mould"
"""


def seen_of(visitor: TestClient, name: str) -> dict[str, str]:
    page = visitor.get(f"/file/{name}/manage").text
    return {"token": form_token(visitor), "seen": re.search(r'name="seen" value="([0-9a-f]+)"', page)[1]}


def brought(visitor: TestClient, name: str, text: str) -> tuple[int, str]:
    files = {"file": (name, text.encode(), "text/plain")}
    answer = visitor.post("/upload", data={"token": form_token(visitor)}, files=files)
    return answer.status_code, unescape(answer.text)


def test_a_file_gets_another_name_and_the_old_one_is_kept(visitor: TestClient, folder: Path) -> None:
    assert f'href="/file/{LAYERS}/manage"' in visitor.get("/").text
    answer = visitor.post(f"/file/{LAYERS}/rename", data={**seen_of(visitor, LAYERS), "new": "three"})
    assert "three.toml lies in the folder" in answer.text
    assert (folder / "three.toml").read_text(encoding="utf-8") == FREE_SECTION
    assert (folder / f"{LAYERS}~").read_text(encoding="utf-8") == FREE_SECTION
    assert not (folder / LAYERS).exists()


def test_a_file_is_removed_and_put_back(visitor: TestClient, folder: Path) -> None:
    answer = visitor.post(f"/file/{LAYERS}/remove", data=seen_of(visitor, LAYERS))
    assert f"it is kept as {LAYERS}~" in answer.text
    assert not (folder / LAYERS).exists()
    assert f"/detail/{LAYERS}" not in answer.text
    answer = visitor.post(f"/file/{LAYERS}/restore", data={"token": form_token(visitor)})
    assert answer.url.path == "/"
    assert (folder / LAYERS).read_text(encoding="utf-8") == FREE_SECTION
    assert visitor.post(f"/file/{LAYERS}/restore", data={"token": form_token(visitor)}).status_code == 400


@pytest.mark.parametrize(
    ("new", "told"),
    [
        ("tollhouse_joist.toml", "the file exists already"),
        ("../outside.toml", "is no file of this folder"),
        ("plan.dxf", "the new name has another ending"),
        ("", "two_layers.toml"),
    ],
)
def test_a_name_that_cannot_be_taken_is_told_and_the_file_stays(
    visitor: TestClient, folder: Path, new: str, told: str
) -> None:
    before = {one.name: one.read_bytes() for one in folder.iterdir()}
    answer = visitor.post(f"/file/{LAYERS}/rename", data={**seen_of(visitor, LAYERS), "new": new})
    assert answer.status_code == 422
    assert told in unescape(answer.text)
    assert {one.name: one.read_bytes() for one in folder.iterdir()} == before


@pytest.mark.parametrize("what", ["rename", "remove", "restore"])
def test_nothing_is_moved_without_the_token_after_a_change_or_through_a_link(
    visitor: TestClient, folder: Path, tmp_path: Path, what: str
) -> None:
    data = {**seen_of(visitor, LAYERS), "new": "other.toml"}
    address = f"/file/{LAYERS}/{what}"
    assert visitor.post(address, data={**data, "token": "guessed"}).status_code == 403
    outside = tmp_path / "outside.toml"
    outside.write_text("secret", encoding="utf-8")
    (folder / f"{LAYERS}~").symlink_to(outside)
    assert "the kept version is a link" in visitor.post(address, data=data).text
    (folder / f"{LAYERS}~").unlink()
    (folder / LAYERS).write_text(f"{FREE_SECTION}# theirs\n", encoding="utf-8")
    assert visitor.post(address, data=data).status_code in (404, 422)
    (folder / LAYERS).unlink()
    (folder / LAYERS).symlink_to(outside)
    assert visitor.post(address, data=data).status_code == 404
    assert outside.read_text(encoding="utf-8") == "secret"
    assert visitor.get(f"/file/{LAYERS}/{what}").status_code == 405


def test_who_names_a_file_is_told_before_it_goes(visitor: TestClient) -> None:
    page = visitor.get("/file/tollhouse_climate.csv/manage").text
    assert '<span class="file">tollhouse_joist.toml</span>' in page
    assert "It is named in" not in visitor.get(f"/file/{LAYERS}/manage").text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "the file is empty"),
        ("# nothing\n", "the file is empty"),
        ('title = "x"\n', "neither a detail nor a building nor a file of limits"),
        (SETS.replace("0.72", '"high"'), "minimum"),
        ('dimensions = "external"\n[[junction]]\ndetail = "a.toml"\nlength = -1\n', "-1 m is beyond what is allowed"),
    ],
)
def test_what_is_nothing_that_is_used_here_is_not_taken(
    visitor: TestClient, folder: Path, text: str, told: str
) -> None:
    status, page = brought(visitor, "new.toml", text)
    assert status == 422
    assert told in page
    assert not (folder / "new.toml").exists()


def test_own_limits_are_listed_with_their_file(visitor: TestClient) -> None:
    status, page = brought(visitor, "our_limits.toml", SETS)
    assert status == 200
    assert 'aria-label="Limits of our_limits.toml"' in page
    assert "/detail/our_limits.toml" not in page
    limits = visitor.get("/limits?word=house").text
    assert "Limits of the house" in limits
    assert "own limits in" in limits
    brought(visitor, "more.toml", SETS)
    assert "house-limits stands in more.toml and in our_limits.toml" in visitor.get("/limits").text


@pytest.mark.parametrize("address", ["/?", "/limits?", "/compare?", "/materials?"])
def test_units_that_there_are_not_are_told_in_a_line(visitor: TestClient, address: str) -> None:
    told = "There are no units &#39;cubits&#39;; known are SI and inch-pound."
    assert visitor.get(f"{address}units=cubits").text.count(told) == 1
    assert told not in visitor.get(f"{address}units=SI").text


def test_a_file_on_unknown_paper_or_in_unknown_units_is_not_made(visitor: TestClient) -> None:
    options = f"/compare/comparison.pdf?d={LAYERS}&d={LAYERS}%3Fmesher%3Dgmsh"
    assert "there is no paper &#39;A3&#39;; known are A4 and Letter" in visitor.get(f"{options}&paper=A3").text
    assert "there are no units" in visitor.get(f"{options}&units=cubits").text
    answer = visitor.get(f"/detail/{LAYERS}/report.pdf?paper=A3")
    assert answer.status_code == 400
    assert "there is no paper" in answer.text


def test_the_word_that_is_looked_for_stands_in_the_address(visitor: TestClient) -> None:
    page = visitor.get("/materials?word=hemp").text
    assert 'hx-replace-url="true"' in page
    assert 'value="hemp"' in page


def test_the_catalogue_is_in_the_units_of_the_detail_s_page(visitor: TestClient) -> None:
    assert "λ 0.13 W/(m·K) across" in visitor.get("/materials?word=softwood").text
    page = visitor.get("/materials?word=softwood&units=inch-pound").text
    assert "λ 0.075113 Btu/(h·ft·°F) across" in page
    assert 'name="units" value="inch-pound"' in page
    answer = visitor.get("/detail/tollhouse_joist.toml/catalogue?units=inch-pound&field=joist_material")
    assert "λ 0.075113 Btu/(h·ft·°F) across" in answer.text


def test_own_limits_are_chosen_in_a_detail_s_form(visitor: TestClient, folder: Path) -> None:
    (folder / "house.toml").write_text(SETS, encoding="utf-8")
    joist = "/detail/tollhouse_joist.toml"
    page = visitor.get(joist).text
    assert "<option>house-limits</option>" in page
    assert re.search(r'<datalist id="own-sets">\s*<option>house.toml</option>', page)
    page = unescape(visitor.get(f"{joist}?h.requirement_sets=house.toml&s.0=house-limits").text)
    assert "mould: fRsi at least 0.720" in page
    assert "<option selected>house-limits</option>" in page
    page = unescape(visitor.get(f"{joist}?s.0=house-limits").text)
    assert "house-limits is a set of house.toml; name that file below, as File of own sets" in page


def test_every_file_is_listed_or_named(visitor: TestClient, folder: Path) -> None:
    (folder / "UPPER.TOML").write_text(FREE_SECTION, encoding="utf-8")
    (folder / "Außenwand.toml").write_text(FREE_SECTION, encoding="utf-8")
    (folder / "gone.toml~").write_text(FREE_SECTION, encoding="utf-8")
    page = unescape(visitor.get("/").text)
    assert 'href="/detail/UPPER.TOML"' in page
    assert re.search(r"Not shown, since names .*: Außenwand\.toml<", page)
    assert visitor.post("/file/gone.toml/restore", data={"token": form_token(visitor)}).status_code == 200
    assert (folder / "gone.toml").read_text(encoding="utf-8") == FREE_SECTION
    assert 'action="/file/gone.toml/restore"' in page
    assert 'action="/file/gone.toml/restore"' not in visitor.get("/").text
