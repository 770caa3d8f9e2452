"""The least that could do the console's work: a bare ASGI app with the same durable commit.

One row in SQLite (WAL, ``synchronous=FULL``) for each POST, the body sent on to every open stream.
``/page`` is the least page of it: a button that posts, and what the stream brings beside it.
Run as ``python -m benchmarks.bare_echo FOLDER [CERTIFICATE KEY]``, over TLS with the latter; it
prints its port.
"""

from __future__ import annotations

import asyncio
import socket
import sqlite3
import sys
from pathlib import Path
from typing import Any

import uvicorn

_HTML = [(b"content-type", b"text/html")]
_STREAM = [(b"content-type", b"text/event-stream")]
PAGE = b"""<!doctype html><button>+</button><span class="stands">0</span><script>
const stands = document.querySelector(".stands");
document.querySelector("button").addEventListener("click", () => {
  void fetch("/", { method: "POST", body: JSON.stringify({ at: performance.now() }) });
});
new EventSource("/").addEventListener("view", (event) => {
  stands.textContent = String(JSON.parse(event.data).version);
});
</script>"""


class Echo:
    """POST anything; every GET but that of the page is a stream of what was posted."""

    def __init__(self, folder: Path) -> None:
        self._db = sqlite3.connect(folder / "echo.sqlite", isolation_level=None)
        self._db.execute("PRAGMA journal_mode = WAL")
        self._db.execute("PRAGMA synchronous = FULL")
        self._db.execute("CREATE TABLE events (seq INTEGER PRIMARY KEY, body BLOB)")
        self._open: set[asyncio.Queue[bytes]] = set()
        self._version = 0

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return
        if scope["method"] == "POST":
            body = (await receive())["body"]
            self._version += 1
            self._db.execute("BEGIN IMMEDIATE")
            self._db.execute("INSERT INTO events VALUES (?, ?)", (self._version, body))
            self._db.execute("COMMIT")
            view = b'{"version":%d,"body":%s}' % (self._version, body)
            for stream in self._open:
                stream.put_nowait(view)
            await send({"type": "http.response.start", "status": 200, "headers": []})
            await send({"type": "http.response.body", "body": view})
            return
        if scope["path"] == "/page":
            await send({"type": "http.response.start", "status": 200, "headers": _HTML})
            await send({"type": "http.response.body", "body": PAGE})
            return
        await send({"type": "http.response.start", "status": 200, "headers": _STREAM})
        queue: asyncio.Queue[bytes] = asyncio.Queue()
        self._open.add(queue)
        while True:
            part = b"event: view\ndata: " + await queue.get() + b"\n\n"
            await send({"type": "http.response.body", "body": part, "more_body": True})


def main() -> None:
    """Serve until ended."""
    # asyncio switches off Nagle's algorithm only where the protocol is said outright.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.bind(("127.0.0.1", 0))
    listening.listen()
    print(listening.getsockname()[1], flush=True)
    config = uvicorn.Config(
        Echo(Path(sys.argv[1])),
        log_config=None,
        access_log=False,
        lifespan="off",
        timeout_keep_alive=75,
        ssl_certfile=sys.argv[2] if len(sys.argv) > 2 else None,
        ssl_keyfile=sys.argv[3] if len(sys.argv) > 3 else None,
    )
    uvicorn.Server(config).run([listening])


if __name__ == "__main__":
    main()
