"""Who is refused, what is not taken, and what is shown harmless."""

from __future__ import annotations

import asyncio
import base64
import os
import re
import socket
import threading
import time
import zlib
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from bridge2d.errors import InputError
from bridge2d.web.app import page
from bridge2d.web.folder import Folder
from bridge2d.web.history import History
from bridge2d.web.safety import Secrets
from bridge2d.web.site import Site
from bridge2d.web.states import Texts
from bridge2d.web.working import WorkError, Workshop
from tests.web.conftest import DETAILS, HOME, PORT, TOKEN, form_token
from tests.zeros import zeros

JOIST = "/detail/tollhouse_joist.toml"


def test_nothing_is_shown_to_a_stranger(stranger: TestClient) -> None:
    for address in ("/", JOIST, f"{JOIST}/report.pdf", "/file/tollhouse_joist.toml", "/recheck", "/nowhere"):
        answer = stranger.get(address)
        assert answer.status_code == 403, address
        assert "Tollhouse" not in answer.text


def test_wrong_tokens_do_not_open(stranger: TestClient) -> None:
    for wrong in ("", "x", TOKEN[:-1], TOKEN + "x", "\u00e9"):
        assert stranger.get("/", params={"token": wrong}).status_code == 403
    stranger.cookies.set("bridge2d_8462", "guessed")
    assert stranger.get("/").status_code == 403


def test_the_cookie_stays_with_this_page(stranger: TestClient) -> None:
    answer = stranger.get(f"/?token={TOKEN}&a=1")
    said = answer.headers["set-cookie"].lower()
    assert "httponly" in said
    assert "samesite=strict" in said
    assert 'content="0;url=/?a=1"' in answer.text
    assert stranger.get("/").status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8462", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8462.evil"]
)
def test_foreign_host_is_refused(visitor: TestClient, host: str) -> None:
    assert visitor.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:8462", "http://127.0.0.1:8463"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_foreign_origin_is_refused(visitor: TestClient, origin: str, method: str) -> None:
    token = form_token(visitor)
    answer = visitor.request(method, "/new", headers={"origin": origin}, params={"token": token})
    assert answer.status_code == 403
    assert "another site" in answer.text


def test_own_origin_is_taken(visitor: TestClient, folder: Path) -> None:
    data = {"token": form_token(visitor), "junction": "wall_corner", "name": "corner", "units": "SI"}
    answer = visitor.post("/new", data=data, headers={"origin": HOME}, follow_redirects=False)
    assert answer.status_code == 303
    assert (folder / "corner.toml").is_file()


def test_what_was_typed_before_a_new_start_is_given_back(visitor: TestClient, folder: Path) -> None:
    """By the door, which knows nobody yet, and by the page, which knows the visitor and not the form."""
    before = (folder / "two_layers.toml").read_bytes()
    text = 'title = "<script>alert(1)</script>"\n# typed for an hour'
    data = {"token": "of another run", "text": text, "query": "", "tab": "x"}
    known = visitor.post("/detail/two_layers.toml/text", data=data)
    visitor.cookies.clear()
    unknown = visitor.post("/detail/two_layers.toml/text", data=data)
    for answer in (known, unknown):
        assert answer.status_code == 403
        assert "typed for an hour" in answer.text
        assert "&lt;script&gt;" in answer.text
        assert "<script>" not in answer.text
        assert "of another run" not in answer.text
    foreign = visitor.post("/detail/two_layers.toml/text", data=data, headers={"origin": "http://evil.example"})
    assert "typed for an hour" not in foreign.text
    assert "typed" not in visitor.post("/upload", files={"file": ("x.toml", b"typed")}).text
    assert (folder / "two_layers.toml").read_bytes() == before


def test_a_cross_site_form_is_refused_by_its_mark(visitor: TestClient) -> None:
    data = {"token": form_token(visitor), "junction": "wall_corner", "name": "corner"}
    assert visitor.post("/new", data=data, headers={"sec-fetch-site": "cross-site"}).status_code == 403


@pytest.mark.parametrize("address", ["/new", "/upload", "/recheck", f"{JOIST}/save", f"{JOIST}/text"])
@pytest.mark.parametrize("token", [None, "", "0" * 64, TOKEN])
def test_no_write_without_the_form_token(visitor: TestClient, folder: Path, address: str, token: str | None) -> None:
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    data = {"name": "x.toml", "junction": "wall_corner", "text": "x", "query": "p.insulation_thickness=60"}
    answer = visitor.post(address, data=data if token is None else {**data, "token": token})
    assert answer.status_code == 403
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize(
    "name",
    ["../secret.toml", "..%2fsecret.toml", "%2e%2e%2fsecret.toml", "..\\secret.toml", "/etc/passwd", "%2fetc%2fpasswd",
     "secret.toml%00", ".hidden.toml", "con.toml", "a/b.toml", "....//secret.toml"],
)  # fmt: skip
def test_no_name_leads_out_of_the_folder(visitor: TestClient, folder: Path, name: str) -> None:
    (folder.parent / "secret.toml").write_text('title = "SECRET"', encoding="utf-8")
    for address in (
        f"/file/{name}",
        f"/detail/{name}",
        f"/building/{name}",
        f"/card/{name}",
        f"/compare?d={name}&d={name}",
    ):
        answer = visitor.get(address)
        assert "SECRET" not in answer.text
        assert "root:" not in answer.text
        assert answer.status_code >= 400 or address.startswith(("/card", "/compare"))


def test_a_new_name_does_not_lead_out_either(visitor: TestClient, folder: Path) -> None:
    token = form_token(visitor)
    for name in ("../out", "..\\out", "/tmp/out", "a/out", "out\n"):
        visitor.post("/new", data={"token": token, "junction": "wall_corner", "name": name})
        visitor.post(f"{JOIST}/save", data={"token": token, "query": "", "other": name})
        files = {"file": (name, b'junction = "wall_corner"', "text/plain")}
        visitor.post("/upload", data={"token": token}, files=files)
    assert not list(folder.parent.glob("out*"))
    assert not Path("/tmp/out.toml").exists()


def test_links_out_of_the_folder_are_not_followed(visitor: TestClient, folder: Path) -> None:
    outside = folder.parent / "outside"
    outside.mkdir()
    (outside / "secret.toml").write_text('junction = "wall_corner"\ntitle = "SECRET"\n', encoding="utf-8")
    (folder / "link.toml").symlink_to(outside / "secret.toml")
    (folder / "linked.csv").symlink_to("/etc/hostname")
    assert "SECRET" not in visitor.get("/").text
    for address in ("/detail/link.toml", "/file/link.toml", "/card/link.toml", "/file/linked.csv"):
        answer = visitor.get(address)
        assert "SECRET" not in answer.text
        assert "leads out of the folder" in answer.text


def test_a_link_is_not_written_through(visitor: TestClient, folder: Path) -> None:
    target = folder / "two_layers.toml"
    (folder / "link.toml").symlink_to(target)
    old = target.read_bytes()
    seen = re.search(r'name="seen" value="(\w+)"', visitor.get("/detail/link.toml").text)
    data = {"token": form_token(visitor), "query": "h.revision=B", "seen": seen[1]}
    answer = visitor.post("/detail/link.toml/save", data=data)
    assert answer.status_code == 422
    assert "links are not written" in answer.text
    assert target.read_bytes() == old
    (folder / "two_layers.toml~").symlink_to(folder.parent / "elsewhere")
    answer = visitor.post("/detail/two_layers.toml/save", data=data)
    assert answer.status_code == 422
    assert not (folder.parent / "elsewhere").exists()


def test_a_building_does_not_lead_out_either(visitor: TestClient, folder: Path) -> None:
    (folder.parent / "secret.toml").write_text('junction = "wall_corner"\ntitle = "SECRET"\n', encoding="utf-8")
    text = 'title = "B"\ndimensions = "external"\n[[junction]]\nref = "1"\ndetail = "../secret.toml"\nlength = 1\n'
    (folder / "building.toml").write_text(text, encoding="utf-8")
    for address in ("/building/building.toml", "/building/building.toml?now=yes"):
        answer = visitor.get(address)
        assert answer.status_code == 422
        assert "SECRET" not in answer.text
        told = "building.toml, line 5, [[junction]] 1, detail: '../secret.toml' is no file of this folder"
        assert told in unescape(answer.text)
        assert "hx-get" not in answer.text[answer.text.index('id="schedule"') :]  # nothing is to follow
        for link in ("rows", "text"):  # where it can be mended
            assert f'href="/building/building.toml/{link}"' in answer.text
            page = visitor.get(f"/building/building.toml/{link}")
            assert page.status_code == 200
            assert "../secret.toml" in page.text
    assert visitor.get("/building/building.toml/schedule.pdf").status_code == 404


def test_200_megabytes_are_refused_while_they_stream(served: tuple[str, str]) -> None:
    """Chunked, so that no length is announced; the refusal comes long before the end."""
    address, token = served
    port = int(address.rpartition(":")[2])
    piece = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
    wanted, sent = 200_000_000, 0
    with socket.create_connection(("127.0.0.1", port), timeout=20) as line:
        head = (
            f"POST /upload HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: bridge2d_{port}={token}\r\n"
            "Content-Type: multipart/form-data; boundary=b\r\nTransfer-Encoding: chunked\r\n\r\n"
        )
        line.sendall(head.encode())
        part = b'--b\r\nContent-Disposition: form-data; name="file"; filename="a.dxf"\r\n\r\n'
        line.sendall(f"{len(part):x}\r\n".encode() + part + b"\r\n")
        try:
            while sent < wanted:
                line.sendall(piece)
                sent += 0x10000
        except OSError:
            pass
        assert sent < 100_000_000
        try:
            answer = line.recv(4096)
        except OSError:  # closed with bytes still on their way
            answer = b"HTTP/1.1 413"
    assert answer.startswith(b"HTTP/1.1 413")


def test_announced_size_is_refused_at_once(visitor: TestClient) -> None:
    answer = visitor.post("/new", content=b"x", headers={"content-length": "200000000"})
    assert answer.status_code == 413
    assert "3 MB" in answer.text


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        (
            "plan.dxf",
            b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><a>&b;</a>',
            "not a DXF",
        ),
        ("plan.dxf", b"AutoCAD Binary DXF\r\n\x1a\0rest", "not a DXF"),
        ("plan.svg", b"<svg/>", "not taken here"),
        ("plan.toml.exe", b"MZ", "not taken here"),
        ("detail.toml", b"\0\1\2", "no text"),
        ("detail.toml", b"junction = ", "not TOML"),
        ("detail.toml", b'junction = "no_such"', "no junction"),
        ("", b"x", "no file was chosen"),
        ("detail.toml", b"#" * 2_000_001, "the file is too large; at most 2 MB"),
    ],
)
def test_other_kinds_of_files_are_refused(
    visitor: TestClient, folder: Path, name: str, data: bytes, words: str
) -> None:
    before = set(folder.iterdir())
    files = {"file": (name, data, "application/octet-stream")} if name else {"other": ("", b"")}
    answer = visitor.post("/upload", data={"token": form_token(visitor)}, files=files)
    assert answer.status_code == 422
    assert words in answer.text
    assert "root:" not in answer.text
    assert set(folder.iterdir()) == before


def test_a_zip_bomb_of_a_pdf_is_refused(visitor: TestClient) -> None:
    """An attachment of 500 MB of zeros, half a megabyte when packed."""
    packed = zeros(500_000_000)
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R /Names << /EmbeddedFiles << /Names [(results.json) 4 0 R] >> >> >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] >>",
        b"<< /Type /Filespec /F (results.json) /UF (results.json) /EF << /F 5 0 R >> >>",
        b"<< /Type /EmbeddedFile /Filter /FlateDecode /Length %d >>\nstream\n%s\nendstream" % (len(packed), packed),
    ]
    data, places = b"%PDF-1.7\n", []
    for number, one in enumerate(objects, start=1):
        places.append(len(data))
        data += b"%d 0 obj\n%s\nendobj\n" % (number, one)
    start = len(data)
    data += b"xref\n0 6\n0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % place for place in places)
    data += b"trailer << /Size 6 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % start
    assert len(data) < 1_000_000
    files = {"file": ("bomb.pdf", data, "application/pdf")}
    answer = visitor.post("/recheck", data={"token": form_token(visitor)}, files=files)
    assert answer.status_code == 400
    assert "bomb.pdf" in answer.text
    assert "/tmp" not in answer.text
    assert visitor.get("/card/two_layers.toml").status_code == 200


def test_a_form_without_its_bounds_is_told(visitor: TestClient) -> None:
    answer = visitor.post("/new", content=b"x", headers={"content-type": "multipart/form-data"})
    assert answer.status_code == 400
    assert "The request cannot be read: Missing boundary" in answer.text


def test_no_pdf_is_no_report(visitor: TestClient) -> None:
    files = {"file": ("a.pdf", b"<html>", "application/pdf")}
    answer = visitor.post("/recheck", data={"token": form_token(visitor)}, files=files)
    assert answer.status_code == 400
    assert "no PDF" in answer.text


def test_a_script_in_a_title_is_shown_as_text(visitor: TestClient, folder: Path) -> None:
    script = '<script>alert(1)</script><img src=x onerror=alert(2)>"'
    text = (folder / "two_layers.toml").read_text(encoding="utf-8")
    text = text.replace('"Two layers"', f"'{script}'").replace('"brick"', "'</text><script>alert(3)</script>'")
    (folder / "script.toml").write_text(text, encoding="utf-8")
    for address in ("/", "/?all=yes", "/detail/script.toml", "/card/script.toml", "/compare"):
        answer = visitor.get(address)
        assert answer.status_code == 200
        assert "alert(1)" in answer.text or address.startswith("/card")
        assert "<script>alert" not in answer.text, address
        assert "<img src=x" not in answer.text, address
    reflected = visitor.get("/detail/two_layers.toml", params={"h.title": script})
    assert "<script>alert" not in reflected.text
    assert "&lt;script&gt;alert(1)" in reflected.text


def test_nothing_is_loaded_from_elsewhere(visitor: TestClient) -> None:
    for address in ("/", "/detail/two_layers.toml", "/compare", "/recheck", "/materials", "/limits", "/nowhere"):
        answer = visitor.get(address)
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        for found in re.findall(r'(?:src|href|action)="([^"]*)"', answer.text):
            assert found.startswith(("/", "#")), found
        assert " style=" not in answer.text
        assert not re.search(r"<[^>]+ on\w+=", answer.text)


def test_headers_that_lie(visitor: TestClient) -> None:
    assert visitor.get("/", headers=[("host", "127.0.0.1:8462"), ("host", "evil.example")]).status_code == 421
    assert visitor.get("/", headers={"x-forwarded-host": "evil.example"}).status_code == 200


# -- processes ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def small_workshop() -> Workshop:
    made = Workshop(1, seconds=30.0, memory=1_400_000_000)
    yield made
    made.close()


def test_a_task_that_takes_too_long_is_ended(small_workshop: Workshop) -> None:
    assert small_workshop.do("prepare") is True
    first = small_workshop._all[0].process.pid
    text = (DETAILS / "tollhouse_window.toml").read_text(encoding="utf-8")
    with pytest.raises(WorkError, match=r"more than 0\.02 s"):
        small_workshop.do("answer", text, "x.toml", None, "", (), False, seconds=0.02)
    assert small_workshop._all[0].process.pid != first
    assert small_workshop.do("prepare") is True


def test_a_task_that_grows_too_large_is_ended(small_workshop: Workshop) -> None:
    assert small_workshop.do("prepare") is True
    with pytest.raises(WorkError, match="want of memory"):
        small_workshop.do("drawing_layers", _Large(3_000_000_000), "x.dxf")
    assert small_workshop.do("prepare") is True


class _Large:
    """Becomes so many bytes where it arrives."""

    def __init__(self, size: int) -> None:
        self.size = size

    def __reduce__(self) -> tuple[object, ...]:
        return bytearray, (self.size,)


def test_a_process_that_dies_in_the_middle_is_replaced(small_workshop: Workshop) -> None:
    assert small_workshop.do("prepare") is True
    process = small_workshop._all[0].process
    timer = threading.Timer(0.5, lambda: os.kill(process.pid, 9))
    timer.start()
    with pytest.raises(WorkError, match="stopped in the middle"):
        small_workshop.do("input_hash", _Slow(30.0), "x.toml")
    timer.join()
    assert small_workshop.do("prepare") is True


def test_a_process_that_died_while_it_waited_is_replaced_without_a_word(small_workshop: Workshop) -> None:
    """It says nothing of the task that comes next."""
    assert small_workshop.do("prepare") is True
    process = small_workshop._all[0].process
    os.kill(process.pid, 9)
    process.join(10)
    assert small_workshop.do("prepare") is True
    assert [one.process.is_alive() for one in small_workshop._all] == [True]


def test_a_pipe_is_closed_once_by_who_has_taken_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Closed twice, or while another thread waits on it, its number would already be that of somebody else's file."""
    made = Workshop(1)
    assert made.do("prepare") is True
    worker = made._all[0]
    shut, closed_by = worker.pipe.close, []
    monkeypatch.setattr(worker.pipe, "close", lambda: (closed_by.append(threading.get_ident()), shut()))
    told: list[str] = []

    def slow() -> None:
        try:
            made.do("input_hash", _Slow(30.0), "x.toml")
        except WorkError as error:
            told.append(str(error))

    thread = threading.Thread(target=slow)
    thread.start()
    while made._free:
        time.sleep(0.01)
    made.close()
    thread.join(30)
    assert not thread.is_alive()
    assert closed_by == [thread.ident]
    assert told
    assert not worker.process.is_alive()
    with pytest.raises(WorkError, match="the page is closing"):
        made.do("prepare")


def test_a_task_that_there_is_not_is_told_and_the_process_goes_on(small_workshop: Workshop) -> None:
    process = small_workshop._all[0].process.pid
    with pytest.raises(WorkError, match=r"this should not have happened \(AttributeError\); the terminal says more"):
        small_workshop.do("no such task")
    assert small_workshop.do("prepare") is True
    assert small_workshop._all[0].process.pid == process


def test_a_task_waits_only_so_long_for_a_free_process(
    small_workshop: Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bridge2d.web.working.PATIENCE", 0.01)
    taken = small_workshop._taken("")
    with pytest.raises(WorkError, match="everything is busy computing; try again in a moment"):
        small_workshop.do("prepare")
    small_workshop._given_back(taken)
    assert small_workshop.do("prepare") is True


class _Slow:
    """Takes so many seconds where it arrives."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds

    def __reduce__(self) -> tuple[object, ...]:
        return time.sleep, (self.seconds,)


def test_an_ordinary_change_is_answered_while_others_compute_for_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two wild details for one process and a spare one: whoever comes after them is answered before either of them."""
    monkeypatch.setattr("bridge2d.web.working.QUICK", 2.5)  # what loads in a new process counts too
    made = Workshop(1, spare=1)
    ended: list[str] = []

    def wild() -> None:
        try:
            made.do("input_hash", _Slow(30.0), "x.toml")
        except WorkError as error:
            ended.append(str(error))

    threads = [threading.Thread(target=wild) for _ in range(2)]
    try:
        for one in threads:
            one.start()
        while made._free:
            time.sleep(0.01)
        deadline = time.monotonic() + 20.0
        text = 'junction = "wall_corner"\n'
        answers = [made.do("input_hash", text + "#" * k, str(DETAILS / "x.toml")) for k in range(3)]
        assert len(set(answers)) == 1
        assert time.monotonic() < deadline
        assert ended == []
        assert all(one.is_alive() for one in threads)
    finally:
        made.close()
        for one in threads:
            one.join(20)
    assert len(ended) == 2


def test_a_long_task_in_a_spare_process_is_begun_again_in_another(monkeypatch: pytest.MonkeyPatch) -> None:
    made = Workshop(1, spare=1, seconds=20.0)
    try:
        for _ in range(2):
            made.do("prepare")
        taken = made._taken("", spare=False)
        threading.Timer(0.6, made._given_back, (taken,)).start()
        monkeypatch.setattr("bridge2d.web.working.QUICK", 0.3)
        with pytest.raises(InputError):  # what came was no text, which is told after a second of sleep
            made.do("climate_columns", _Bytes(1.0), "x.csv")
        assert made._taken("", spare=False) is taken
    finally:
        made.close()


class _Bytes:
    """Bytes of no table, which take a while to arrive."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds

    def __reduce__(self) -> tuple[object, ...]:
        return _slow_bytes, (self.seconds,)


def _slow_bytes(seconds: float) -> bytes:
    time.sleep(seconds)
    return b"no table"


def test_a_page_that_closes_begins_nothing_and_keeps_no_process() -> None:
    made = Workshop(2)
    busy, broken = made._taken(""), made._taken("")
    made.close()
    with pytest.raises(WorkError, match="the page is closing"):
        made.do("prepare")
    made._given_back(busy)  # its task was done in the meantime
    made._replaced(broken)
    assert (made._free, made._all) == ([], [])
    assert not busy.process.is_alive()


# -- what is kept has an end -------------------------------------------------------------------------------------------


def test_the_oldest_of_too_many_is_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    for limit in ("states.KEPT_TEXTS", "history.KEPT_STATES", "history.KEPT_TABS"):
        monkeypatch.setattr(f"bridge2d.web.{limit}", 2)
    texts, history = Texts(), History()
    long = [os.urandom(6000).hex() for _ in range(3)]  # beyond what an address holds
    keys = [texts.key(one) for one in long]
    assert [texts.text(one) for one in keys[1:]] == long[1:]
    with pytest.raises(InputError, match="the text that this address means is gone"):
        texts.text(keys[0])
    arrived = {"query": "units=SI", "address": "", "again": False, "follows": False}
    tabs = [history.arrived(visitor, "x.toml", **arrived) for visitor in "abc"]
    assert [history.known(tab, visitor, "x.toml") for tab, visitor in zip(tabs, "abc", strict=True)] == [
        False,
        True,
        True,
    ]
    history.changed(tabs[2], "units=inch-pound")
    assert history.around(tabs[2]) == ("units=SI", None)  # the step before is forgotten
    history.went(tabs[2], "prev", "units=SI")
    assert history.around(tabs[2]) == (None, "units=inch-pound")
    history.changed(tabs[0], "units=SI")  # a request that was on its way when its tab was forgotten
    assert history.around(tabs[0]) == ("", None)
    for number in range(3):
        history.expect("c", f"/{number}", tabs[2])
    came = [history.arrived("c", "x.toml", **{**arrived, "address": f"/{number}"}) for number in (1, 2, 2)]
    assert came[:2] == [tabs[2]] * 2
    assert came[2] != tabs[2]


@pytest.mark.parametrize("data", [zlib.compress(b"#" * 2_000_001), zlib.compress(b"title = 1")[:-2]])
def test_a_packed_text_that_is_too_long_or_cut_off_is_refused(data: bytes) -> None:
    key = "z" + base64.urlsafe_b64encode(data).decode().rstrip("=")
    with pytest.raises(InputError, match="the address holds no text"):
        Texts().text(key)


def test_answers_beyond_the_last_ones_are_computed_again(workshop: Workshop, tmp_path: Path) -> None:
    site = Site(Folder(tmp_path), Secrets(TOKEN, PORT), workshop)
    with pytest.MonkeyPatch.context() as small:
        small.setattr("bridge2d.web.site.KEPT", 2)
        small.setattr(workshop, "do", lambda task, *arguments, **_: (task, *arguments))
        for number in range(3):
            assert site.done("task", number) == ("task", number)
    assert [site.known("task", number) for number in range(3)] == [None, ("task", 1), ("task", 2)]


def test_a_text_beyond_two_megabytes_is_not_written(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"big\.toml: the text is too long; at most 2 MB"):
        Folder(tmp_path).add("big.toml", b"#" * 2_000_001)
    assert list(tmp_path.iterdir()) == []


def test_a_connection_of_another_kind_is_not_taken(folder: Path, workshop: Workshop) -> None:
    """Whatever is no request is left alone: nothing is read and nothing answered."""

    async def never(*_: object) -> None:
        raise AssertionError("touched")

    asyncio.run(page(folder, TOKEN, PORT, workshop)({"type": "websocket", "path": "/"}, never, never))


def test_an_address_of_too_many_parts_is_refused(visitor: TestClient) -> None:
    answer = visitor.get("/?" + "&".join(f"a{k}=1" for k in range(2500)))
    assert answer.status_code == 400
    assert "too many parts" in answer.text
