"""A building on the page: its rows open the details that they mean, all its numbers, its file as text."""

from __future__ import annotations

import json
import re
import tomllib
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bridge2d.calculate import calculate
from bridge2d.detail_file import read
from bridge2d.schedule.running import schedule
from bridge2d.schedule.tables import as_json
from bridge2d.tables import detail_rows
from bridge2d.units import INCH_POUND
from bridge2d.web.folder import fingerprint
from bridge2d.web.reached import state_of_text
from bridge2d.web.states import Texts
from tests.web.conftest import FREE_SECTION, form_token
from tests.web.test_answers import words_of

BUILDING = """\
title = "Lock house"                # invented
dimensions = "external"
[[requirement]]
quantity = "f_rsi"
minimum = 0.65
name = "brief"
source = "invented"
[[junction]]
ref = "J1"
detail = "tollhouse_joist.toml"
group = "street"
length = 11.4
[[junction]]
ref = "J2"
name = "Joist ends, 60 mm of foam"
detail = "tollhouse_joist.toml"
group = "lock"
parameters = { insulation_thickness = 60, joist_depth = "9 in" }
length = 10.4
[[junction]]
ref = "J3"
name = "Corner"
psi = 0.06
dimensions = "external"
f_rsi = 0.8
length = 5
source = "invented for J3"
[[element]]
name = "street wall"
group = "street"
area = 52.3
u_value = 0.336
source = "invented element"
"""
ADDRESS = "/building/lock.toml"


@pytest.fixture
def lock(folder: Path) -> Path:
    path = folder / "lock.toml"
    path.write_text(BUILDING, encoding="utf-8")
    return path


def row_of(page: str, ref: str) -> tuple[str, str]:
    """Address of a row's detail, and its Ψ."""
    row = re.search(rf'<tr role="row"><th scope="row">{ref}</th>.*?</tr>', page, re.DOTALL)[0]
    link = re.search(r'<a href="([^"]+)"', row)
    value = re.search(r'data-label="Ψ or χ" class="value">(?:<small>[^<]*</small> )?([^<]+)<', row)
    return unescape(link[1]) if link else "", value[1].strip()


@pytest.mark.usefixtures("lock")
def test_a_row_opens_the_detail_that_it_means(visitor: TestClient) -> None:
    page = visitor.get(f"{ADDRESS}?now=yes").text
    addresses, values = zip(*(row_of(page, ref) for ref in ("J1", "J2")), strict=True)
    assert values[0] != values[1]
    assert "p.insulation_thickness=60" in addresses[1]
    for address, value in zip(addresses, values, strict=True):
        detail = visitor.get(address)
        assert detail.status_code == 200
        assert f'<td class="value">{value}</td>' in detail.text
        assert "brief: fRsi at least 0.650" in words_of(detail.text)  # the building's limit
    assert "Joist ends, 60 mm of foam" in visitor.get(addresses[1]).text
    assert row_of(page, "J3")[0] == ""
    other = row_of(visitor.get(f"{ADDRESS}?now=yes&units=inch-pound").text, "J2")
    assert f'<td class="value">{other[1]}</td>' in visitor.get(other[0]).text


def test_a_text_that_fields_cannot_say_is_reached_as_text(lock: Path) -> None:
    texts = Texts()
    file = (lock.parent / "tollhouse_joist.toml").read_text(encoding="utf-8")
    assert state_of_text("a.toml", file, file, texts).address() == "/detail/a.toml"
    thin = file.replace("insulation_thickness = 100", "insulation_thickness = 60", 1)
    assert state_of_text("a.toml", file, thin, texts).typed == {"p.insulation_thickness": "60"}
    for changed in (file.replace("[tolerances]", "[other]"),):
        assert tomllib.loads(changed) != tomllib.loads(file)
        state = state_of_text("a.toml", file, changed, texts)
        assert texts.text(state.text_key) == state.text == changed
    free = state_of_text("a.toml", FREE_SECTION, FREE_SECTION.replace("0.77", "0.5"), texts, INCH_POUND)
    assert (free.units, "0.5" in free.text) == (INCH_POUND, True)


def test_the_schedule_tells_what_the_command_does(visitor: TestClient, lock: Path) -> None:
    page = words_of(visitor.get(f"{ADDRESS}?now=yes").text)
    numbers = visitor.get(f"{ADDRESS}/schedule.json").json()
    wanted = json.loads(json.dumps(as_json(schedule(lock, jobs=1).result)))
    assert numbers == wanted
    assert wanted["groups"]
    assert wanted["would_help_most"]
    for title in ("Groups", "Elements", "What would help most", "Where the given values come from"):
        assert title in page
    climate = page[page.index("What the climate asks Ref") :]
    assert (
        "J1 Joist end in the street wall, insulated inside mould, 80 % at the surface, December at least 0.782"
        in climate
    )
    for words in ("street wall", "invented element", "invented for J3", "52.300 m²"):
        assert words in page
    gain = wanted["would_help_most"][0]
    assert f"{gain['saving']:.3f} W/K" in page[page.index("What would help most") :]


# -- its file ----------------------------------------------------------------------------------------------------------


def test_a_building_is_changed_as_text(visitor: TestClient, lock: Path) -> None:
    assert visitor.get("/detail/lock.toml").url.path == ADDRESS
    assert f'href="{ADDRESS}/text"' in visitor.get(ADDRESS).text
    page = visitor.get(f"{ADDRESS}/text").text
    seen = re.search(r'name="seen" value="([^"]+)"', page)[1]
    typed = BUILDING.replace("length = 11.4", "length = 12.5")
    data = {"token": form_token(visitor), "seen": seen, "text": typed.replace("\n", "\r\n")}
    answer = visitor.post(f"{ADDRESS}/text", data=data)
    assert answer.url.path == ADDRESS
    assert "Saved; the version before it is kept as lock.toml~" in answer.text
    assert lock.read_text(encoding="utf-8") == typed
    assert lock.with_name("lock.toml~").read_text(encoding="utf-8") == BUILDING
    answer = visitor.post(f"{ADDRESS}/text", data={**data, "text": BUILDING, "other": "second"})
    assert answer.url.path == "/building/second.toml"
    assert (lock.parent / "second.toml").read_text(encoding="utf-8") == BUILDING


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('detail = "tollhouse_joist.toml"', 'detail = "missing.toml"', "missing.toml"),
        ("length = 11.4", "length = -1", "length"),
        ("insulation_thickness = 60", "insulation_thickness = 60000", "outside the limits"),
        ("dimensions =", "dimensions", "this is not TOML"),
        ('detail = "tollhouse_joist.toml"', 'detail = "../outside.toml"', "no file of this folder"),
    ],
)
def test_a_building_that_is_wrong_is_told_above_its_text(
    visitor: TestClient, lock: Path, old: str, new: str, words: str
) -> None:
    typed = BUILDING.replace(old, new)
    data = {"token": form_token(visitor), "seen": fingerprint(BUILDING), "text": typed}
    answer = visitor.post(f"{ADDRESS}/text", data=data)
    assert answer.status_code == 422
    told = unescape(re.search(r'class="wrong" role="alert">([^<]*)<', answer.text)[1])
    assert words in told
    assert unescape(re.search(r"<textarea[^>]*>\n(.*?)</textarea>", answer.text, re.DOTALL)[1]) == typed
    assert lock.read_text(encoding="utf-8") == BUILDING
    assert not lock.with_name("lock.toml~").exists()


def test_a_building_that_somebody_else_changed_is_not_overwritten(visitor: TestClient, lock: Path) -> None:
    lock.write_text(f"{BUILDING}# theirs\n", encoding="utf-8")
    data = {"token": form_token(visitor), "seen": fingerprint(BUILDING), "text": f"{BUILDING}# mine\n"}
    answer = visitor.post(f"{ADDRESS}/text", data=data)
    assert answer.status_code == 422
    assert "changed by somebody else" in answer.text
    assert "# mine" in answer.text
    assert lock.read_text(encoding="utf-8").endswith("# theirs\n")


def test_the_row_of_the_building_has_the_number_of_its_detail(lock: Path) -> None:
    """What is shown as the row's Ψ is computed from the file with the row's parameters alone."""
    path = lock.parent / "tollhouse_joist.toml"
    text = re.sub(
        r"^insulation_thickness = \d+",
        "insulation_thickness = 60",
        path.read_text(encoding="utf-8"),
        flags=re.MULTILINE,
    )
    text = re.sub(r"^joist_depth = .*$", 'joist_depth = "9 in"', text, flags=re.MULTILINE)
    rows = dict(row[:2] for row in detail_rows(calculate(read(text, path).detail)))
    lines = as_json(schedule(lock, jobs=1).result)["junctions"][1]["lines"]
    assert rows["Ψ, external dimensions"].startswith(f"{lines[0]['value']:.4f}".replace("-", "−"))


def test_how_closely_it_is_computed(visitor: TestClient, lock: Path) -> None:
    page = visitor.get(f"{ADDRESS}?now=yes&tolerance=0,0001").text
    assert 'name="tolerance" value="0,0001"' in page
    link = unescape(re.search(r'href="([^"]+schedule\.json[^"]*)"', page)[1])
    assert "tolerance=" in link
    found = visitor.get(link).json()
    expected = as_json(schedule(lock, 1e-4, jobs=1).result)
    assert found["junctions"] == json.loads(json.dumps(expected["junctions"]))
    assert found["junctions"] != visitor.get(f"{ADDRESS.replace('.toml', '.toml/schedule.json')}").json()["junctions"]


def test_a_wrong_width_of_the_bracket_is_told_at_its_field(visitor: TestClient, lock: Path) -> None:
    assert lock.exists()
    answer = visitor.get(f"{ADDRESS}?now=yes&tolerance=narrow")
    assert answer.status_code == 422
    told = re.search(r'id="m-tolerance">([^<]+)<', answer.text)
    assert told
    assert 'value="narrow"' in answer.text
    assert "Nothing is computed until that is right" in answer.text
    assert visitor.get(f"{ADDRESS.replace('.toml', '.toml/schedule.csv')}?tolerance=0").status_code == 400
