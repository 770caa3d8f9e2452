"""The least that could tell what files there are: a bare Starlette page that hashes them.

It reads every file for each answer, as a console does that has just been started, and checks none.
Run as ``python -m benchmarks.bare_page FOLDER…``; it prints its port.
"""

from __future__ import annotations

import hashlib
import socket
import sys
from html import escape
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route

FOLDERS = [Path(folder) for folder in sys.argv[1:]]


async def page(_request: Request) -> HTMLResponse:
    """List each file with its digest."""
    rows = []
    for folder in FOLDERS:
        for file in [*sorted(folder.glob("*.yaml")), *sorted(folder.glob("*/*.yaml"))]:
            digest = hashlib.sha256(file.read_bytes()).hexdigest()
            rows.append(f"<li>{escape(file.name)} {digest}</li>")
    return HTMLResponse(f"<!doctype html><title>Files</title><ul>{''.join(rows)}</ul>")


def main() -> None:
    """Serve until ended."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.bind(("127.0.0.1", 0))
    listening.listen()
    print(listening.getsockname()[1], flush=True)
    app = Starlette(routes=[Route("/", page)])
    config = uvicorn.Config(app, log_config=None, access_log=False, lifespan="off")
    uvicorn.Server(config).run([listening])


if __name__ == "__main__":
    main()
