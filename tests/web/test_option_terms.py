"""What the comparison's page asks beside the files: the same as the words of a call of `bridge2d compare`."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pikepdf
import pymupdf
import pytest
from starlette.testclient import TestClient

from tests.web.conftest import DETAILS

WALLS = ("tollhouse_party_wall.toml", "tollhouse_party_wall.toml?p.insulation_thickness=120")
CHOICE = "/compare?" + "&".join(f"d={quote(one, safe='')}" for one in WALLS)
TERMS = {
    f"length.{WALLS[0]}": "12,4 m",
    f"length.{WALLS[1]}": "12.4",
    f"cost_per_metre.{WALLS[0]}": "50",
    f"cost_per_metre.{WALLS[1]}": "64/m",
    "currency": "EUR",
    "heating_degree_hours": "78",
    "heating_degree_hours_source": "invented",
    "lifetime": "40",
}


def with_terms(address: str, terms: dict[str, str]) -> str:
    return address + "".join(f"&{quote(name, safe='')}={quote(words, safe='')}" for name, words in terms.items())


def without_times(values: Any) -> Any:
    """Values of a JSON document without how long a computation took."""
    if isinstance(values, dict):
        return {key: without_times(one) for key, one in values.items() if key != "seconds"}
    return [without_times(one) for one in values] if isinstance(values, list) else values


def plain(page: str) -> str:
    """The words of a page."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_costs_and_heat_are_those_of_the_command(visitor: TestClient, folder: Path) -> None:
    answer = visitor.get(with_terms(CHOICE, TERMS))
    assert answer.status_code == 200
    changed = folder / "changed.toml"
    text = (folder / "tollhouse_party_wall.toml").read_text(encoding="utf-8")
    changed.write_text(re.sub(r"(?m)^insulation_thickness = \S+", "insulation_thickness = 120", text), encoding="utf-8")
    assert changed.read_text(encoding="utf-8") != text
    terms = ["--length", "12.4 m", "--length", "12400", "--cost-per-metre", "50", "--cost-per-metre", "64"]
    terms += ["--currency", "EUR", "--heating-degree-hours", "78", "--heating-degree-hours-source", "invented"]
    call = [sys.executable, "-m", "bridge2d", "compare", "tollhouse_party_wall.toml", "changed.toml", *terms]
    said = subprocess.run([*call, "--lifetime", "40"], cwd=folder, capture_output=True, text=True, check=False)
    assert said.returncode in (0, 1), said.stderr
    page = plain(answer.text)
    come_out = said.stdout.partition("What comes out\n")[2].partition("\n\n")[0]
    values = re.findall(r"^    [AB]  (\S.*?)(?: {3,}|$)", come_out, re.MULTILINE)
    assert "150.2 ± 0.1 kWh/a" in values
    assert "794 EUR" in values
    for value in values:
        assert " ".join(value.split()) in page
    assert 'value="12,4"' in answer.text  # beside its field stands the unit


def test_the_sheet_has_the_same_terms_and_can_be_rechecked(visitor: TestClient, tmp_path: Path) -> None:
    page = visitor.get(with_terms(CHOICE, TERMS)).text
    link = unescape(re.search(r'href="(/compare/comparison\.pdf[^"]+)"', page)[1])
    sheet = tmp_path / "sheet.pdf"
    sheet.write_bytes(visitor.get(link).content)
    call = [sys.executable, "-m", "bridge2d", "recheck", str(sheet), "--json"]
    done = json.loads(subprocess.run(call, capture_output=True, text=True, check=False).stdout)
    assert done["agrees"] is True


def test_the_numbers_are_those_of_the_command(visitor: TestClient, folder: Path) -> None:
    call = [sys.executable, "-m", "bridge2d", "compare", "tollhouse_party_wall.toml", "tollhouse_joist.toml", "--json"]
    done = subprocess.run(call, cwd=folder, capture_output=True, text=True, check=False)
    found = visitor.get("/compare/comparison.json?d=tollhouse_party_wall.toml&d=tollhouse_joist.toml").json()
    assert without_times(found) == without_times(json.loads(done.stdout))


def test_the_section_that_is_drawn_can_be_chosen(visitor: TestClient) -> None:
    options = "/compare?d=tollhouse_joist.toml&d=tollhouse_joist.toml%3Fp.insulation_thickness%3D60"
    captions, told = [], []
    for section in ("", "&section=between+joists", "&section=plan"):
        page = visitor.get(options + section).text
        captions.append([plain(one) for one in re.findall(r"<figcaption>(.*?)</figcaption>", page)])
        told.append("This section is the same in all options" in page)
        assert ("section=between%20joists" in page) == ("between" in section)
    assert all("joist" in one and "Plan" not in one for one in captions[0])  # the plan is coldest, and does not differ
    assert all("between the joists" in one for one in captions[1])
    assert all("Plan" in one for one in captions[2])
    assert told == [False, False, True]
    assert "what differs is drawn in: between joists, through joist." in page
    assert ["changed, not saved" in one for one in captions[0]] == [False, True]
    refused = visitor.get(f"{options}&section=cellar")
    assert refused.status_code == 422
    assert "no option has a section" in refused.text


def test_the_sheet_on_letter(visitor: TestClient) -> None:
    address = "/compare/comparison.pdf?" + CHOICE.partition("?")[2]
    with pymupdf.open(stream=visitor.get(f"{address}&paper=Letter").content) as pages:
        assert pages[0].rect.width == pytest.approx(612, abs=0.5)
    assert visitor.get(address.replace(".pdf", ".docx")).status_code == 400


@pytest.fixture
def hatches(folder: Path) -> str:
    """The address of two options whose files state costs, lifetime and degree hours."""
    for name in ("tollhouse_hatch_a.toml", "tollhouse_hatch_b.toml"):
        shutil.copy(DETAILS / name, folder / name)
    return "/compare?d=tollhouse_hatch_a.toml&d=tollhouse_hatch_b.toml"


def field(page: str, name: str) -> str:
    """What stands in a field."""
    found = re.search(rf'name="{re.escape(name)}" value="([^"]*)"', unescape(page))
    assert found, name
    return found[1]


def test_what_a_file_says_stands_in_its_field_and_is_changed_in_the_address(
    visitor: TestClient, hatches: str, folder: Path
) -> None:
    before = {one.name: one.read_bytes() for one in folder.iterdir()}
    page = visitor.get(hatches).text
    said = {
        "heating_degree_hours": "78",
        "currency": "crowns",
        "lifetime": "30",
        "cost_per_metre.tollhouse_hatch_b.toml": "142.5",
    }
    assert {name: field(page, name) for name in said} == said
    same = visitor.get(with_terms(f"{hatches}&ticked=yes", said), follow_redirects=False)
    assert same.headers["location"] == hatches
    changed = with_terms(hatches, {"lifetime": "20", "cost_per_metre.tollhouse_hatch_b.toml": "100"})
    page = visitor.get(changed).text
    assert "100.00 crowns/m" in page
    assert "20 years" in plain(page)
    assert "the file has 142.5/m" in page
    link = unescape(re.search(r'href="(/compare/comparison\.json[^"]+)"', page)[1])
    terms = visitor.get(link).json()
    assert "142.5" not in json.dumps(terms)
    assert {one.name: one.read_bytes() for one in folder.iterdir()} == before


def test_changed_degree_hours_do_not_come_from_where_the_file_s_come_from(visitor: TestClient, hatches: str) -> None:
    assert "invented for the Tollhouse" in visitor.get(hatches).text
    page = visitor.get(with_terms(hatches, {"heating_degree_hours": "60"})).text
    assert "invented for the Tollhouse" not in plain(page).partition("What comes out")[2]
    assert "Heating degree hours: 60 kKh/a (as given in the call, which names no source)" in plain(page)


def test_what_a_file_says_can_be_taken_out(visitor: TestClient, hatches: str) -> None:
    page = visitor.get(f"{hatches}&lifetime=&ticked=yes")
    assert page.url.query.decode().endswith("lifetime=")
    assert field(page.text, "lifetime") == ""
    assert "the same spread over" not in page.text


def test_the_sheet_encloses_the_changed_terms(visitor: TestClient, hatches: str, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.pdf"
    address = with_terms(hatches.replace("/compare", "/compare/comparison.pdf"), {"lifetime": "20"})
    sheet.write_bytes(visitor.get(address).content)
    with pikepdf.open(sheet) as pdf:
        said = next(bytes(one.get_file().read_bytes()) for name, one in pdf.attachments.items() if "comparison" in name)
    assert b"lifetime = 20" in said


def test_any_option_can_be_the_first(visitor: TestClient) -> None:
    address = f"{CHOICE}&ticked=yes&first={quote(WALLS[1], safe='')}"
    answer = visitor.get(address)
    assert answer.url.query.decode() == f"d={quote(WALLS[1], safe='.')}&d={WALLS[0]}"
    assert re.search(r'<option value="[^"]*=120" selected', unescape(answer.text))
    told = visitor.get(f"{CHOICE}&ticked=yes&first=tollhouse_joist.toml").text
    assert f"tollhouse_joist.toml is not chosen, so that {WALLS[0]} is the first" in told


def test_a_changed_state_of_one_file_is_an_option_of_its_own(visitor: TestClient, folder: Path) -> None:
    shutil.copy(DETAILS / "tollhouse_hatch_a.toml", folder / "tollhouse_hatch_a.toml")
    saved = "tollhouse_hatch_a.toml"
    changed = f"{saved}?p.covering_thickness=12"
    answer = visitor.get(f"/compare?d={saved}&d={quote(changed, safe='')}")
    assert answer.status_code == 200, plain(answer.text)
    assert [field(answer.text, f"option.{one}") for one in (saved, changed)] == ["A", ""]


@pytest.mark.parametrize(
    ("name", "words", "told"),
    [
        (f"cost_per_metre.{WALLS[0]}", "cheap", "'cheap' has no unit that is known here"),
        (f"length.{WALLS[1]}", "-3", "-3"),
        (f"length.{WALLS[1]}", "12400", "12400 m is longer than a junction of one building; lengths in a building are"),
        ("lifetime", "0", "0 is not above 0; give a number above 0"),
        ("currency", "pounds sterling", "has more than 8 characters; write a short one"),
    ],
)
def test_a_wrong_word_is_told_in_its_row_and_stays(visitor: TestClient, name: str, words: str, told: str) -> None:
    answer = visitor.get(with_terms(CHOICE, {name: words}))
    assert answer.status_code == 422
    row = re.search(rf'id="m-t-{name.partition(".")[0]}">([^<]*)<', answer.text)
    assert row
    assert told in unescape(row[1])
    assert f'value="{words}"' in unescape(answer.text)
    assert "<figure>" not in answer.text


def test_bare_lengths_are_refused_where_inches_are_shown(visitor: TestClient) -> None:
    answer = visitor.get(with_terms(CHOICE, {f"length.{WALLS[0]}": "40"}) + "&units=inch-pound")
    assert answer.status_code == 422
    assert 'write "12.2 m" or "40 ft"' in unescape(answer.text)


def test_terms_of_an_option_stay_while_another_one_joins(visitor: TestClient) -> None:
    address = with_terms(CHOICE, {f"length.{WALLS[1]}": "9 m"}) + "&d=tollhouse_joist.toml"
    page = visitor.get(address).text
    assert re.search(r'name="length\.[^"]*insulation_thickness=120" value="9"', unescape(page))


def test_a_bare_length_is_one_of_metres_and_an_unlikely_one_is_asked_about(visitor: TestClient) -> None:
    address = with_terms(f"{CHOICE}&ticked=yes", {f"length.{one}": "12" for one in WALLS})
    answer = visitor.get(address)
    assert answer.url.query.decode().count("=12%20m") == 2
    assert "Length: 12.000 m" in plain(answer.text)
    assert "Are these lengths" not in plain(answer.text)
    assert plain(answer.text).count("Length in the building [m]") == 1
    short = plain(visitor.get(with_terms(CHOICE, {f"length.{one}": "12 mm" for one in WALLS})).text)
    assert "Are these lengths of the junction meant (A: 0.012 m, B: 0.012 m)?" in short


def test_files_that_differ_are_told_at_the_field_and_one_word_settles_it(
    visitor: TestClient, hatches: str, folder: Path
) -> None:
    path = folder / "tollhouse_hatch_b.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("lifetime = 30", "lifetime = 50"), encoding="utf-8")
    answer = visitor.get(hatches)
    assert answer.status_code == 422
    assert "the files differ (30, 50): say which" in plain(answer.text)
    assert visitor.get(with_terms(hatches, {"lifetime": "30"})).status_code == 200
