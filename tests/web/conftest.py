"""A served folder of its own for every test that asks, with processes that compute shared by all of them."""

from __future__ import annotations

import re
import shutil
import socket
import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from jinja2 import BytecodeCache, Environment
from jinja2.bccache import Bucket
from starlette.testclient import TestClient

from bridge2d.web.app import page
from bridge2d.web.working import Workshop

DETAILS = Path(__file__).parents[2] / "details"
TOKEN = "a-token-for-the-tests"
PORT = 8462
HOME = f"http://127.0.0.1:{PORT}"
FREE_SECTION = """\
# two layers, invented for the tests
junction = "free_section"
title = "Two layers"

[[region]]
name = "brick"
conductivity = 0.77   # old
polygon = [[0, 0], [300, 0], [300, 400], [0, 400]]

[[region]]
name = "board"
conductivity = 0.04
polygon = [[300, 0], [400, 0], [400, 400], [300, 400]]

[[environment]]
name = "outside"
temperature = 0
surface_resistance = 0.04
edge = [[0, 400], [0, 0]]

[[environment]]
name = "inside"
temperature = 20
surface_resistance = 0.13
edge = [[400, 0], [400, 400]]
"""


class Compiled(BytecodeCache):
    """Templates that were compiled before; of a changed one jinja sees that it is another."""

    def __init__(self) -> None:
        self.known: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        if bucket.key in self.known:
            bucket.bytecode_from_string(self.known[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        self.known[bucket.key] = bucket.bytecode_to_string()


@pytest.fixture(scope="session", autouse=True)
def templates() -> Iterator[None]:
    """Templates are compiled once and not for each served folder, which takes longer than all else of a page."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("bridge2d.web.site.Environment", partial(Environment, bytecode_cache=Compiled()))
        yield


@pytest.fixture(scope="session")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    with pytest.MonkeyPatch.context() as environment:
        environment.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        made = Workshop(1)
    yield made
    made.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a joist end, a party wall, a free section and the table that the joist end names."""
    made = tmp_path / "served"
    made.mkdir()
    for name in ("tollhouse_joist.toml", "tollhouse_party_wall.toml", "tollhouse_climate.csv"):
        shutil.copy(DETAILS / name, made / name)
    (made / "two_layers.toml").write_text(FREE_SECTION, encoding="utf-8")
    return made


@pytest.fixture
def stranger(folder: Path, workshop: Workshop) -> TestClient:
    """Somebody at the right address who has not entered."""
    return TestClient(page(folder, TOKEN, PORT, workshop), base_url=HOME, raise_server_exceptions=True)


@pytest.fixture
def visitor(stranger: TestClient) -> TestClient:
    """Somebody who opened the printed address."""
    assert stranger.get(f"/?token={TOKEN}").status_code == 200
    return stranger


def form_token(client: TestClient) -> str:
    found = re.search(r'name="token" value="([0-9a-f]+)"', client.get("/recheck").text)
    assert found
    return found[1]


@pytest.fixture
def served(folder: Path, workshop: Workshop) -> Iterator[tuple[str, str]]:
    """A real server on a free port: its address and its token."""
    import uvicorn

    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    port = listening.getsockname()[1]
    config = uvicorn.Config(page(folder, TOKEN, port, workshop), log_level="critical", access_log=False, ws="none")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        thread.join(0.02)
    yield f"http://127.0.0.1:{port}", TOKEN
    server.should_exit = True
    thread.join(10)
    listening.close()
