"""Saving: undo goes on behind it, of several at once one is accepted, and nothing that was typed is lost."""

from __future__ import annotations

import re
import subprocess
import sys
import threading
from collections.abc import Callable
from html import unescape
from pathlib import Path

from starlette.testclient import TestClient

from bridge2d.errors import InputError
from bridge2d.web.folder import Folder, fingerprint
from tests.web.conftest import FREE_SECTION
from tests.web.test_pages import JOIST, save

THICK = "p.insulation_thickness"


def led(page: str, way: str) -> str:
    """The address that undo ("prev") or redo ("next") leads to."""
    found = re.search(rf'href="([^"]*)" rel="{way}"', page)
    assert found, way
    return unescape(found[1])


def thickness(page: str) -> str:
    return re.search(rf'name="{THICK}" value="([^"]*)"', page)[1]


# -- undo --------------------------------------------------------------------------------------------------------------


def test_undo_and_redo_go_on_behind_a_save(visitor: TestClient, folder: Path) -> None:
    """Change, change, save, undo, undo, redo: every step shows what it showed before the save."""
    path = folder / "tollhouse_joist.toml"
    first = thickness(visitor.get(JOIST).text)
    visitor.get(f"{JOIST}?{THICK}=80")
    status, page = save(visitor, f"{JOIST}?{THICK}=120")
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
    visitor.get(JOIST)
    _, page = save(visitor, f"{JOIST}?{THICK}=120")
    status, page = save(visitor, led(page, "prev"))
    assert status == 200
    assert path.read_text(encoding="utf-8") == old
    page = visitor.get(led(page, "next")).text
    assert thickness(page) == "120"
    assert "(not saved)" in page
    page = visitor.get(led(page, "prev")).text
    assert thickness(page) == "100"
    assert "(not saved)" not in page


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
