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

import pymupdf
import pytest
from starlette.testclient import TestClient

from tests.web.conftest import DETAILS

WALLS = ("tollhouse_party_wall.toml", "tollhouse_party_wall.toml?p.insulation_thickness=120")
CHOICE = "/compare?" + "&".join(f"d={quote(one, safe='')}" for one in WALLS)
TERMS = {
    f"length.{WALLS[0]}": "12,4 m",
    f"length.{WALLS[1]}": "12400",
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
    assert 'value="12,4 m"' in answer.text


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
    captions = []
    for address in (options, f"{options}&section=between+joists"):
        page = visitor.get(address).text
        captions.append(re.findall(r"<figcaption>(.*?)</figcaption>", page))
    assert "Plan" in captions[0][0]  # where the coldest point is
    assert all("between the joists" in one for one in captions[1])
    assert "section=between%20joists" in page
    refused = visitor.get(f"{options}&section=cellar")
    assert refused.status_code == 422
    assert "no option has a section" in refused.text


def test_the_sheet_on_letter(visitor: TestClient) -> None:
    address = "/compare/comparison.pdf?" + CHOICE.partition("?")[2]
    with pymupdf.open(stream=visitor.get(f"{address}&paper=Letter").content) as pages:
        assert pages[0].rect.width == pytest.approx(612, abs=0.5)
    assert visitor.get(address.replace(".pdf", ".docx")).status_code == 400


def test_what_a_file_says_has_no_field(visitor: TestClient, folder: Path) -> None:
    for name in ("tollhouse_hatch_a.toml", "tollhouse_hatch_b.toml"):
        shutil.copy(DETAILS / name, folder / name)
    page = visitor.get("/compare?d=tollhouse_hatch_a.toml&d=tollhouse_hatch_b.toml").text
    assert 'name="heating_degree_hours"' not in page
    assert 'name="currency"' not in page
    assert 'name="length.tollhouse_hatch_a.toml"' in page


def test_a_changed_state_of_one_file_is_an_option_of_its_own(visitor: TestClient, folder: Path) -> None:
    shutil.copy(DETAILS / "tollhouse_hatch_a.toml", folder / "tollhouse_hatch_a.toml")
    saved = "tollhouse_hatch_a.toml"
    changed = f"{saved}?p.covering_thickness=12"
    answer = visitor.get(f"/compare?d={saved}&d={quote(changed, safe='')}")
    assert answer.status_code == 200, plain(answer.text)
    assert f'name="option.{changed}"' in unescape(answer.text)
    assert f'name="option.{saved}"' not in answer.text


@pytest.mark.parametrize(
    ("name", "words", "told"),
    [
        (f"cost_per_metre.{WALLS[0]}", "cheap", "'cheap' has no unit that is known here"),
        (f"length.{WALLS[1]}", "-3", "-3 mm is beyond what is allowed"),
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
    assert re.search(r'name="length\.[^"]*insulation_thickness=120" value="9 m"', unescape(page))
