"""A building's junctions as a form: rows that are changed, added and taken out, and a new building."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from html import unescape
from pathlib import Path
from types import SimpleNamespace as Namespace

import pytest
from starlette.testclient import TestClient

from bridge2d.errors import InputError
from bridge2d.web.building_rows import KEYS, Row, edited_building, rows_of, rows_typed, value_of
from bridge2d.web.scheduled import _verdicts
from tests.web.conftest import DETAILS, form_token

BUILDING = """\
# the lock house
title = "Lock house"   # invented
dimensions = "external"

# first floor
[[junction]]
ref = "J1"
detail = "tollhouse_joist.toml"
length = 11.4   # measured

# party wall
[[junction]]
ref = "J2"
detail = "tollhouse_party_wall.toml"
parameters = { insulation_thickness = 60 }
length = 3.1

# corner
[[junction]]
ref = "J3"
name = "Corner"
psi = -0.06
dimensions = "external"
length = 6.2
source = "invented"

# elements
[[element]]
name = "wall"
area = 40
u_value = 0.4
"""
ADDRESS = "/building/lock.toml/rows"


@pytest.fixture
def lock(folder: Path) -> Path:
    path = folder / "lock.toml"
    path.write_text(BUILDING, encoding="utf-8")
    return path


def fields_of(page: str) -> dict[str, str]:
    """What the form would send as it stands."""
    form = page[page.index('<form method="post"') :]
    found = {}
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r' name="([^"]*)"', tag), re.search(r' value="([^"]*)"', tag)
        if name and "checkbox" not in tag:
            found[unescape(name[1])] = unescape(value[1]) if value else ""
    for name, options in re.findall(r'<select[^>]* name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        found[name] = unescape(chosen[1]) if chosen else ""
    return found


def test_the_form_sent_off_unchanged_leaves_the_file_as_it_is(visitor: TestClient, lock: Path) -> None:
    answer = visitor.post(ADDRESS, data=fields_of(visitor.get(ADDRESS).text))
    assert answer.url.path == "/building/lock.toml"
    assert lock.read_text(encoding="utf-8") == BUILDING


def test_rows_are_changed_added_and_taken_out_and_remarks_stay(visitor: TestClient, lock: Path) -> None:
    fields = fields_of(visitor.get(ADDRESS).text)
    fields |= {"0.length": "12,5", "head.author": "somebody", "1.gone": "on"}
    page = visitor.post(ADDRESS, data={**fields, "more": "yes"}).text
    assert lock.read_text(encoding="utf-8") == BUILDING
    assert "checked> Take this junction out" in page
    fields = {**fields_of(page), "1.gone": "on", "3.detail": "tollhouse_joist.toml", "3.length": "2", "3.number": "4"}
    answer = visitor.post(ADDRESS, data=fields)
    assert answer.url.path == "/building/lock.toml"
    written = lock.read_text(encoding="utf-8")
    for kept in ("# the lock house", "# invented", "# first floor", "length = 12.5   # measured", "# corner"):
        assert kept in written
    assert "party_wall" not in written
    assert written.index("# elements") < written.index("[[element]]")
    data = tomllib.loads(written)
    assert data["author"] == "somebody"
    assert [one.get("ref", "") for one in data["junction"]] == ["J1", "J3", ""]
    assert data["junction"][2] == {"detail": "tollhouse_joist.toml", "length": 2, "number": 4}
    assert lock.with_name("lock.toml~").read_text(encoding="utf-8") == BUILDING


def test_all_that_is_wrong_is_told_at_its_field(visitor: TestClient, lock: Path) -> None:
    fields = fields_of(visitor.get(ADDRESS).text)
    fields |= {"0.length": "-3", "1.length": "", "2.length": "6200", "2.psi": "steep"}
    answer = visitor.post(ADDRESS, data=fields)
    assert answer.status_code == 422
    told = dict(re.findall(r'id="m-([\w-]+)">([^<]+)<', unescape(answer.text)))
    assert set(told) == {"0-length", "1-length", "2-length", "2-psi"}
    assert set(re.findall(r'<a href="#([\w-]+)">Junction', answer.text)) == set(told)
    assert "-3 m is beyond what is allowed" in told["0-length"]
    assert "fill in length (metres) or number" in told["1-length"]
    assert 'name="2.psi" value="steep"' in answer.text
    assert lock.read_text(encoding="utf-8") == BUILDING


def test_a_detail_that_cannot_be_used_so_is_told_at_its_row(visitor: TestClient, lock: Path) -> None:
    fields = fields_of(visitor.get(ADDRESS).text)
    changed = {"0.parameters": "insulation_thickness = 60000", "1.length": "", "1.number": "3"}
    answer = visitor.post(ADDRESS, data={**fields, **changed})
    told = dict(re.findall(r'id="m-([\w-]+)">([^<]+)<', unescape(answer.text)))
    assert "outside the limits" in told["0-parameters"]
    assert "neither a χ nor sides" in told["1-number"]
    assert lock.read_text(encoding="utf-8") == BUILDING


@pytest.mark.parametrize(
    ("field", "words", "told"),
    [
        ("0.length", "11400", "11400 m is longer than a junction of one building; lengths in a building are metres"),
        ("1.parameters", "60 mm", "write such as name = 60"),
    ],
)
def test_what_no_file_could_say_is_told_too(visitor: TestClient, lock: Path, field: str, words: str, told: str) -> None:
    answer = visitor.post(ADDRESS, data={**fields_of(visitor.get(ADDRESS).text), field: words})
    assert answer.status_code == 422
    assert told in unescape(answer.text)
    assert lock.read_text(encoding="utf-8") == BUILDING


def test_the_form_writes_nothing_without_its_token_over_a_change_or_outside(visitor: TestClient, lock: Path) -> None:
    fields = fields_of(visitor.get(ADDRESS).text) | {"0.length": "9"}
    assert visitor.post(ADDRESS, data={**fields, "token": "guessed"}).status_code == 403
    outside = visitor.post(ADDRESS, data={**fields, "0.detail": "../secret.toml"})
    assert "no file of this folder" in outside.text
    theirs = f"{BUILDING}# theirs\n"
    lock.write_text(theirs, encoding="utf-8")
    answer = visitor.post(ADDRESS, data=fields)
    assert answer.status_code == 422
    assert "changed by somebody else" in answer.text
    assert lock.read_text(encoding="utf-8") == theirs


def test_a_new_building_from_a_name_and_details(visitor: TestClient, folder: Path) -> None:
    assert 'action="/new-building"' in visitor.get("/").text
    chosen = "detail=tollhouse_joist.toml&detail=tollhouse_party_wall.toml"
    page = visitor.get(f"/new-building?name=house&{chosen}")
    assert page.url.path == "/building/house.toml/rows"
    assert not (folder / "house.toml").exists()
    fields = fields_of(page.text) | {"head.title": "House", "0.length": "4", "1.length": ""}
    assert fields["1.detail"] == "tollhouse_party_wall.toml"
    refused = visitor.post(str(page.url), data=fields)
    assert refused.status_code == 422
    assert not (folder / "house.toml").exists()
    answer = visitor.post("/building/house.toml/rows", data={**fields_of(refused.text), "1.length": "2.5 m"})
    assert answer.url.path == "/building/house.toml"
    data = tomllib.loads((folder / "house.toml").read_text(encoding="utf-8"))
    assert data["title"] == "House"
    assert [one["length"] for one in data["junction"]] == [4, "2.5 m"]
    again = visitor.get(f"/new-building?name=house&{chosen}")
    assert again.status_code == 400
    assert "the file exists already" in again.text


@pytest.mark.parametrize("gone", range(13))
def test_any_row_of_the_demo_can_be_taken_out(gone: int) -> None:
    text = (DETAILS / "tollhouse_building.toml").read_text(encoding="utf-8")
    head, rows = rows_of(text)
    typed = [Row(one.was, one.words, one.was == gone) for one in rows]
    lines, left = text.splitlines(), edited_building(text, head, typed).splitlines()
    ref = f'ref = "J{gone + 1}"'
    assert ref in lines
    assert ref not in left
    assert [one for one in lines if one.startswith("#")] == [one for one in left if one.startswith("#")]
    more = [*rows, Row(None, {**dict.fromkeys(KEYS, ""), "detail": "a.toml", "lengths": "jamb = 2"})]
    assert tomllib.loads(edited_building(text, head, more))["junction"][13] == {
        "detail": "a.toml",
        "lengths": {"jamb": 2},
    }


def test_junctions_written_in_another_way_are_changed_as_text() -> None:
    text = 'dimensions = "external"\njunction = [{ detail = "a.toml", length = 1 }]\n'
    head, rows = rows_of(text)
    with pytest.raises(Exception, match=r"not written as \[\[junction\]\] blocks"):
        edited_building(text, head, rows)


def test_all_that_is_wrong_in_the_text_is_told_above_it(visitor: TestClient, lock: Path) -> None:
    page = visitor.get("/building/lock.toml/text").text
    typed = BUILDING.replace("length = 11.4", "length = -1").replace("area = 40", "area = 0").replace("psi", "pzi")
    seen = re.search(r'name="seen" value="([^"]+)"', page)[1]
    answer = visitor.post("/building/lock.toml/text", data={"token": form_token(visitor), "seen": seen, "text": typed})
    assert answer.status_code == 422
    told = re.search(r'role="alert">(.*?)</div>', answer.text, re.DOTALL)[1]
    assert [int(one) for one in re.findall(r"<li>lock.toml, line (\d+)", told)] == [9, 22, 30]
    assert lock.read_text(encoding="utf-8") == BUILDING


def test_totals_tell_apart_limits_and_what_the_climate_asks() -> None:
    def found(limits: list[tuple[bool, bool]], climate: list[tuple[bool, bool]]) -> list[tuple[str, str, str]]:
        kept, asked = ([Namespace(met=met, certain=certain) for met, certain in one] for one in (limits, climate))
        result = Namespace(entries=[Namespace(verdicts=kept, climate=asked)])
        return [(one["name"], one["state"], one["word"]) for one in _verdicts(result)]

    assert found([(True, True)], []) == [("Limits", "kept", "all kept")]
    assert found([], []) == [("Limits", "", "")]
    assert found([(True, True)] * 2, [(True, True), (False, True)]) == [
        ("Limits", "kept", "all kept"),
        ("What the climate asks", "missed", "1 of 2 not kept"),
    ]
    assert found([(False, False), (True, True)], [])[0][1:] == ("undecided", "1 of 2 open")


def test_a_length_that_was_hardly_meant_is_asked_about(visitor: TestClient, folder: Path) -> None:
    junction = 'psi = 0.1\nname = "edge"\nsource = "invented"\ndimensions = "external"\n'
    lengths = ("12", "12000", '"12 mm"')
    blocks = "".join(f"[[junction]]\n{junction}length = {one}\n" for one in lengths)
    (folder / "edges.toml").write_text(f'dimensions = "external"\n{blocks}', encoding="utf-8")
    page = unescape(visitor.get("/building/edges.toml?now=yes").text)
    asked = re.findall(r"Is the length of (\d) meant \(([^)]+)\)\?", page)
    assert [one[0] for one in asked] == ["2", "3"]
    assert re.search(r"<th scope=\"row\">Limits</th><td>none given", page)


def test_all_that_keeps_a_building_from_being_computed_is_told(visitor: TestClient, lock: Path) -> None:
    lock.write_text(BUILDING.replace("11.4", "-1").replace("area = 40", "area = 0"), encoding="utf-8")
    answer = visitor.get("/building/lock.toml?now=yes")
    assert answer.status_code == 422
    told = re.search(r'<div class="wrong" role="alert">(.*?)</div>', answer.text)[1]
    assert re.findall(r"<p>lock.toml, line (\d+)", told) == ["9", "30"]


def test_a_table_of_its_own_keeps_its_lines_and_the_next_block_its_remark() -> None:
    text = (
        'title = "A"\n[[junction]]\nref = "a"\ndetail = "d.toml"\nlength = 3\n[junction.parameters] # keep me\n'
        'insulation_thickness = 80 # why\n\n# about two\n[[junction]]\nref = "b"\nlength = 2\ndetail = "e.toml"\n'
    )
    head, rows = rows_of(text)
    changed = [replace(rows[0], words={**rows[0].words, "parameters": "insulation_thickness = 70"}), rows[1]]
    assert edited_building(text, head, changed) == text.replace("80", "70")
    gone = edited_building(text, head, [replace(rows[0], gone=True), rows[1]])
    assert gone == text[: text.index("[[")] + text[text.index("# about two") :]


def test_what_is_too_long_is_told_and_not_cut() -> None:
    words = ", ".join(f"measure_{number} = {number}" for number in range(300))
    with pytest.raises(InputError, match="too long"):
        value_of("parameters", words)
    [row] = rows_typed({"0.was": "0", "0.parameters": words})
    assert row.words["parameters"] == words


def test_the_largest_form_is_taken(visitor: TestClient, folder: Path) -> None:
    rows = "".join(f'[[junction]]\nref = "R{k}"\npsi = 0.01\nsource = "x"\nlength = 1\n' for k in range(150))
    (folder / "large.toml").write_text(f'title = "Large"\ndimensions = "external"\n{rows}', encoding="utf-8")
    page = visitor.get("/building/large.toml/rows").text
    names = re.findall(r'name="([\w.]+)"', page)
    data = {**dict.fromkeys(names, ""), **{f"{k}.was": str(k) for k in range(150)}, "token": form_token(visitor)}
    answer = visitor.post("/building/large.toml/rows", data=data)
    assert answer.status_code == 200
    assert 'name="150.was"' in answer.text  # one more junction
