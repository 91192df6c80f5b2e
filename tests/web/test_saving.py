"""Saving: undo goes on behind it, of several at once one is accepted, and nothing that was typed is lost."""

from __future__ import annotations

import re
import subprocess
import sys
import threading
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bridge2d.errors import InputError
from bridge2d.web.edits import document, edited
from bridge2d.web.folder import Folder, fingerprint
from bridge2d.web.remarks import with_remarks
from tests.web.conftest import DETAILS, FREE_SECTION, HOME, TOKEN, form_token
from tests.web.test_pages import JOIST, _fields, at, hidden, led, save

THICK = "p.insulation_thickness"


def thickness(page: str) -> str:
    return re.search(rf'name="{THICK}" value="([^"]*)"', page)[1]


def test_a_refused_save_has_an_address(visitor: TestClient, folder: Path) -> None:
    page = at(visitor, f"{JOIST}?{THICK}=80")
    path = folder / "tollhouse_joist.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('title = "', 'title = "New: '), encoding="utf-8")
    form = {**_fields(page), "token": form_token(visitor)}
    refused = visitor.post(f"{JOIST}/save", data=form).text
    address = unescape(re.search(r'id="refused" data-address="([^"]+)"', refused)[1])
    again = visitor.get(address).text
    assert thickness(again) == "80"
    assert "New: Joist end" in again
    assert thickness(visitor.get(f"{JOIST}/save").text) == thickness(visitor.get(JOIST).text)
    assert visitor.get("/detail/none.toml/save").status_code == 404


def test_the_version_before_a_save_can_be_opened_and_saved_again(visitor: TestClient, folder: Path) -> None:
    path = folder / "tollhouse_joist.toml"
    first = path.read_text(encoding="utf-8")
    before = "/file/tollhouse_joist.toml/before"
    assert before not in visitor.get("/file/tollhouse_joist.toml/manage").text
    assert visitor.get(before).status_code == 404
    save(visitor, f"{JOIST}?{THICK}=120", note="thicker")
    saved = path.read_text(encoding="utf-8")
    assert f'href="{before}"' in visitor.get("/file/tollhouse_joist.toml/manage").text
    page = visitor.get(before).text
    assert thickness(page) == re.search(r"insulation_thickness = (\d+)", first)[1]
    assert "(not saved)" in page
    assert path.read_text(encoding="utf-8") == saved
    form = {**_fields(page), "token": form_token(visitor)}
    assert f'href="{before}"' in visitor.post(f"{JOIST}/save", data=form).text
    assert path.read_text(encoding="utf-8") == first
    assert (folder / "tollhouse_joist.toml~").read_text(encoding="utf-8") == saved


def test_a_kept_version_that_is_a_link_is_not_opened(visitor: TestClient, folder: Path) -> None:
    (folder / "tollhouse_joist.toml~").symlink_to(DETAILS / "tollhouse_joist.toml")
    answer = visitor.get("/file/tollhouse_joist.toml/before")
    assert answer.status_code == 400
    assert "is a link" in answer.text
    assert "/before" not in visitor.get("/file/tollhouse_joist.toml/manage").text


# -- undo --------------------------------------------------------------------------------------------------------------


def test_undo_and_redo_go_on_behind_a_save(visitor: TestClient, folder: Path) -> None:
    """Change, change, save, undo, undo, redo: every step shows what it showed before the save."""
    path = folder / "tollhouse_joist.toml"
    first = thickness(visitor.get(JOIST).text)
    page = at(visitor, f"{JOIST}?{THICK}=80", at(visitor, JOIST))
    status, page = save(visitor, f"{JOIST}?{THICK}=120", page)
    assert status == 200
    assert "insulation_thickness = 120\n" in path.read_text(encoding="utf-8")
    page = visitor.get(led(page, "prev")).text
    assert thickness(page) == "80"
    assert "(not saved)" in page
    page = visitor.get(led(page, "prev")).text
    assert thickness(page) == first
    assert 'rel="prev"' not in page
    page = visitor.get(led(page, "next")).text
    assert thickness(page) == "80"
    page = visitor.get(led(page, "next")).text
    assert thickness(page) == "120"
    assert "(not saved)" not in page
    assert 'rel="next"' not in page


def test_what_was_undone_can_be_saved_again(visitor: TestClient, folder: Path) -> None:
    path = folder / "tollhouse_joist.toml"
    old = path.read_text(encoding="utf-8")
    _, page = save(visitor, f"{JOIST}?{THICK}=120", at(visitor, JOIST))
    status, page = save(visitor, led(page, "prev"))
    assert status == 200
    assert path.read_text(encoding="utf-8") == old
    page = visitor.get(led(page, "next")).text
    assert thickness(page) == "120"
    assert "(not saved)" in page
    page = visitor.get(led(page, "prev")).text
    assert thickness(page) == "100"
    assert "(not saved)" not in page


# -- remarks -----------------------------------------------------------------------------------------------------------

JOIST_TEXT = (DETAILS / "tollhouse_joist.toml").read_text(encoding="utf-8")
CLIMATE_KEYS = ("name", "source", "file", "inside_temperature", "humidity_class")
OWN_TABLE = """\
[parameters.insulation_material] # the board
material = "mineral foam board" # chosen on site
conductivity = 0.042 # declared
basis = "declared"
"""


@pytest.mark.parametrize(
    ("before", "typed"),
    [
        ("[climate]", {"r.1.quantity": "none"}),
        (
            "[tolerances]",
            {f"c.{key}": "" for key in ("name", "source", "file", "inside_temperature", "humidity_class")},
        ),
        ("[[requirement]]", {"p.insulation_material.conductivity": "0.043"}),
    ],
)
def test_remarks_on_what_follows_stay(before: str, typed: dict[str, str]) -> None:
    """A block is taken out, emptied or changed; what is said of the next one stays before it."""
    text = JOIST_TEXT.replace(f"\n{before}", f"\n# agreed with the owner\n{before}", 1)
    text = text.replace("heated_below = 15 ", "# heated_below = 15 ")
    if before == "[[requirement]]":
        text = text.replace('insulation_material = "mineral foam board"\n', "").replace(
            f"# agreed with the owner\n{before}", f"{OWN_TABLE}\n# agreed with the owner\n{before}", 1
        )
    changed = edited(document(text), typed, "SI")
    assert changed != text
    assert f"\n# agreed with the owner\n{before}" in changed
    if before == "[[requirement]]":
        assert OWN_TABLE.replace("0.042", "0.043") in changed


def test_a_text_that_says_nothing_lost_is_left_alone() -> None:
    text = "a = 1\n# one\n[b]\nc = 2\n"
    assert with_remarks(text, text) == text
    assert with_remarks(text, "a = 1\n") == "a = 1\n# one\n"
    assert with_remarks("a = 1\n# one", "b = 1") == "b = 1\n# one\n"
    twice = "# same\n[a]\nx = 1\n# same\n[b]\ny = 1\n"
    assert with_remarks(twice, "# same\n[a]\nx = 1\n[b]\ny = 1\n") == twice
    assert with_remarks('a = """\n# one\n[b]"""\n', "c = 1\n") == "c = 1\n# one\n"


# -- several at once ---------------------------------------------------------------------------------------------------


def at_once(count: int, work: Callable[[int], object]) -> int:
    """How many of several threads that begin together are not refused."""
    barrier, accepted = threading.Barrier(count), []

    def one(number: int) -> None:
        barrier.wait()
        try:
            work(number)
        except InputError:
            return
        accepted.append(number)

    threads = [threading.Thread(target=one, args=(k,)) for k in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return len(accepted)


def test_of_four_saves_at_once_one_is_accepted(tmp_path: Path) -> None:
    """Two servers of one folder; the kept version is always the text that the accepted save was made from."""
    path = tmp_path / "two_layers.toml"
    servers = (Folder(tmp_path), Folder(tmp_path))
    for number in range(60):
        old = FREE_SECTION.replace("old", f"round {number}")
        path.write_text(old, encoding="utf-8")
        seen = fingerprint(old)

        def saved(who: int, old: str = old, seen: str = seen) -> None:
            servers[who % 2].save(path.name, old.replace("0.77", f"1.{who}"), seen)

        assert at_once(4, saved) == 1
        assert path.with_name(f"{path.name}~").read_text(encoding="utf-8") == old
        assert path.read_text(encoding="utf-8") != old


def test_of_four_new_files_of_one_name_one_is_written(tmp_path: Path) -> None:
    servers = (Folder(tmp_path), Folder(tmp_path))
    for number in range(60):
        name = f"new {number}.toml"
        assert at_once(4, lambda who, name=name: servers[who % 2].add(name, f"# {who}\n".encode())) == 1
        assert re.fullmatch(r"# \d\n", (tmp_path / name).read_text(encoding="utf-8"))


def test_a_new_file_that_cannot_be_written_leaves_no_name_behind(tmp_path: Path) -> None:
    assert at_once(1, lambda _: Folder(tmp_path).add("large.toml", b"#" * 30_000_000)) == 0
    assert list(tmp_path.iterdir()) == []


def test_another_process_waits_for_the_folder(tmp_path: Path) -> None:
    """A second server saves only after the first one has."""
    path = tmp_path / "two_layers.toml"
    path.write_text(FREE_SECTION, encoding="utf-8")
    code = (
        "import sys; from pathlib import Path; from bridge2d.web.folder import Folder, fingerprint\n"
        "home = Path(sys.argv[1]); text = (home / 'two_layers.toml').read_text(encoding='utf-8')\n"
        "print('ready', flush=True)\n"
        "Folder(home).save('two_layers.toml', text + '# other\\n', fingerprint(text))\n"
    )
    here = Folder(tmp_path)
    with here._alone():
        command = [sys.executable, "-c", code, str(tmp_path)]
        other = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        assert other.stdout is not None
        assert other.stdout.readline() == "ready\n"
        try:
            other.wait(0.3)
        except subprocess.TimeoutExpired:
            waited = True
        else:
            waited = False
        path.write_text(FREE_SECTION + "# mine\n", encoding="utf-8")
    _, said = other.communicate(timeout=30)
    assert waited
    assert "changed by somebody else meanwhile" in said
    assert path.read_text(encoding="utf-8").endswith("# mine\n")


# -- refused, with everything that was typed ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("other", "words"),
    [("tollhouse_party_wall", "the file exists already"), ("../out", "is no file of this folder")],
)
def test_a_refused_save_stays_on_the_page(visitor: TestClient, other: str, words: str) -> None:
    status, page = save(visitor, f"{JOIST}?{THICK}=60", other=other)
    assert status == 422
    assert thickness(page) == "60"
    assert words in re.search(r'id="refused"[^>]*>(.*?)</p>', unescape(page), re.DOTALL)[1]
    assert f'name="other" maxlength="90" value="{other}"' in page
    assert at(visitor, JOIST, page) != page


def test_a_refused_new_detail_stays_on_the_page(visitor: TestClient) -> None:
    data = {"token": form_token(visitor), "junction": "wall_corner", "name": "two_layers", "units": "inch-pound"}
    answer = visitor.post("/new", data=data)
    assert answer.status_code == 422
    assert "two_layers.toml: the file exists already" in answer.text
    assert 'name="name" value="two_layers"' in answer.text
    assert '<option value="wall_corner" selected>' in answer.text
    assert 'value="inch-pound" checked' in answer.text


def second_browser(first: TestClient) -> TestClient:
    made = TestClient(first.app, base_url=HOME)
    made.get(f"/?token={TOKEN}")
    return made


@pytest.mark.parametrize("headers", [{}, {"hx-request": "true"}], ids=["no script", "htmx"])
def test_of_two_browsers_that_save_the_second_is_told(
    visitor: TestClient, folder: Path, headers: dict[str, str]
) -> None:
    """The second one's form was filled from the file before; changing a field again does not make it overwrite."""
    path = folder / "tollhouse_joist.toml"
    other = second_browser(visitor)
    fields = _fields(other.get(JOIST).text)
    assert save(visitor, f"{JOIST}?{THICK}=60")[0] == 200
    page = other.get(JOIST, params={**fields, "h.revision": "C"}, headers=headers).text
    assert "changed by somebody else since you opened it" in page
    data = {**fields, "h.revision": "C", "token": form_token(other), "seen": hidden(page, "seen")}
    answer = other.post(f"{JOIST}/save", data=data)
    assert answer.status_code == 422
    assert "changed by somebody else" in answer.text
    assert 'value="C"' in answer.text
    assert "insulation_thickness = 60" in path.read_text(encoding="utf-8")
    assert save(other, f"{JOIST}?h.revision=C")[0] == 200
    text = path.read_text(encoding="utf-8")
    assert 'revision = "C"' in text
    assert re.search(r"^insulation_thickness = 60$", text, re.MULTILINE)


def test_changes_over_the_file_as_it_is_now_are_those_that_were_made(visitor: TestClient) -> None:
    """What somebody else has saved meanwhile is not set back by fields that were filled before."""
    other = second_browser(visitor)
    fields = _fields(other.get(JOIST).text)
    assert save(visitor, f"{JOIST}?{THICK}=60")[0] == 200
    answer = other.post(f"{JOIST}/save", data={**fields, "h.revision": "C", "token": form_token(other)})
    assert answer.status_code == 422
    link = re.search(r'href="([^"]*)">Open your changes over the file', answer.text)
    assert link
    assert unescape(link[1]) == f"{JOIST}?h.revision=C"


def test_the_rest_of_an_overtaken_first_look_is_told_so_too(visitor: TestClient) -> None:
    headers = {"hx-request": "true", "hx-target": "sheet"}
    fields = _fields(visitor.get(JOIST).text)
    assert save(visitor, f"{JOIST}?{THICK}=60")[0] == 200
    page = visitor.get(JOIST, params={**fields, THICK: "71"}, headers=headers).text
    rest = re.search(r'class="stamp" role="status" hx-get="([^"]*)"', page)
    assert rest
    answer = visitor.get(unescape(rest[1]), headers={**headers, "x-refine": "yes"}).text
    assert "changed by somebody else since you opened it" in page
    assert "changed by somebody else since you opened it" in answer


def test_a_text_made_from_the_file_before_is_not_saved_over_it(visitor: TestClient, folder: Path) -> None:
    path = folder / "two_layers.toml"
    page = visitor.get("/detail/two_layers.toml").text
    seen = re.search(r'<form id="text".*?name="seen" value="(\w+)"', page, re.DOTALL)[1]
    path.write_text(FREE_SECTION + "# theirs\n", encoding="utf-8")
    data = {"token": form_token(visitor), "query": "", "seen": seen, "text": FREE_SECTION + "# mine\n"}
    page = visitor.post("/detail/two_layers.toml/text", data=data).text
    assert "# mine" in page
    data = {"token": form_token(visitor), "text": FREE_SECTION + "# mine\n", "seen": hidden(page, "seen")}
    assert visitor.post("/detail/two_layers.toml/save", data=data).status_code == 422
    assert path.read_text(encoding="utf-8").endswith("# theirs\n")


# -- files that are brought --------------------------------------------------------------------------------------------


def bring(visitor: TestClient, file: str, data: bytes, **more: str) -> tuple[int, str]:
    files = {"file": (file, data, "application/octet-stream")}
    answer = visitor.post("/upload", data={"token": form_token(visitor), **more}, files=files)
    return answer.status_code, answer.text


def test_drawings_and_tables_are_confirmed_and_listed(visitor: TestClient, folder: Path) -> None:
    table = (folder / "tollhouse_climate.csv").read_bytes()
    drawing = visitor.get("/detail/two_layers.toml/section.dxf").content
    for name, data in (("town.csv", table), ("plan.dxf", drawing)):
        status, page = bring(visitor, name, data)
        assert status == 200
        assert f"{name} lies in the folder" in page
        listed = page[page.index("Drawings, climate tables and own limits") :]
        assert f'href="/file/{name}"' in listed
        assert visitor.get(f"/file/{name}").content == data
    tables = re.search(r'<datalist id="tables">(.*?)</datalist>', visitor.get(JOIST).text, re.DOTALL)[1]
    assert re.findall(r"<option>([^<]+)<", tables) == ["tollhouse_climate.csv", "town.csv"]
    assert re.search(r'name="c.file"[^>]* list="tables"', visitor.get(JOIST).text)
    answer = visitor.get(f"{JOIST}?c.file=town.csv")
    assert "critical month for mould: December" in answer.text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"month,outside_temperature\n1,-1\n", "the table has 1 rows of values; give twelve"),
        (b"a;b\n1;2\n", "month"),
        (b"", "the table is empty"),
    ],
)
def test_a_table_that_is_no_climate_is_refused(visitor: TestClient, folder: Path, data: bytes, words: str) -> None:
    status, page = bring(visitor, "wrong.csv", data, name="other name")
    assert status == 422
    told = unescape(re.search(r'<p class="wrong" role="alert">([^<]*)', page)[1])
    assert words in told
    assert 'name="name" value="other name"' in page
    assert not list(folder.glob("*other name*"))


def test_a_brought_file_may_have_another_name(visitor: TestClient, folder: Path) -> None:
    data = FREE_SECTION.encode()
    assert bring(visitor, "two_layers.toml", data)[0] == 422
    assert bring(visitor, "two_layers.toml", data, name="again")[0] == 200
    assert (folder / "again.toml").read_bytes() == data
