"""`bridge2d serve`: its words on the command line, and the server that it starts on this machine alone."""

from __future__ import annotations

import argparse
import secrets
import socket
from pathlib import Path

from bridge2d.errors import InputError, MissingLibraryError

HOME = "127.0.0.1"
PORT = 8462
"""Unless told otherwise; the next free one where it is taken."""


def serve(arguments: argparse.Namespace) -> int:
    """Serve a folder until it is interrupted.

    Args:
        arguments: of the call.

    Raises:
        InputError: there is no such folder, or the port is taken.
        MissingLibraryError: what the page needs is not installed.
    """
    folder = Path(arguments.folder)
    if not folder.is_dir():
        raise InputError("there is no such folder", file=str(folder), right="name the folder that holds the details")
    try:
        import uvicorn

        from bridge2d.web.app import page
    except ImportError as error:
        right = "install bridge2d again, as the README says"
        raise MissingLibraryError(f"the page needs {error.name}, which is not installed; {right}") from None
    listening = _listening(arguments.port)
    port = listening.getsockname()[1]
    token = secrets.token_urlsafe(24)
    served = page(folder, token, port)
    print(f"The page of {folder.resolve()} is at\n\n    http://{HOME}:{port}/?token={token}\n", flush=True)
    print("on this machine alone; Ctrl+C ends it.", flush=True)
    config = uvicorn.Config(
        served,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=3,
        h11_max_incomplete_event_size=65536,
    )
    uvicorn.Server(config).run(sockets=[listening])
    return 0


def _listening(port: int | None) -> socket.socket:
    """A socket of this machine's own address, which no other machine reaches."""
    wanted = [port] if port else [*range(PORT, PORT + 20), 0]
    for one in wanted:
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((HOME, one))
            found.listen(128)  # before the address is printed, so that nobody comes too early
        except OSError:
            found.close()
            continue
        return found
    raise InputError(f"the port {port} is taken", key="--port", right="name another one, or leave it out")
