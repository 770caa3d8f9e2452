"""Requests to a console that holds sessions, people and a coordinator: ruined ones for every route.

Rules of this file:

- Each route is met with what it expects and with what it does not: another method, another id, a
  query, a body in another form, as an educator, a coordinator and a stranger.
- Streams are asked for under names that there are not, for one that there is never ends; leaving
  is not asked for, since all that comes after would be a stranger's.
- Answered below 500, or it is a fault. The console is one for all requests of a run.
"""

from __future__ import annotations

import json
import string
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

from starlette.routing import Mount, Route

from simengine.web.shelf import Shelf
from tests.console.consoles import Browser, entry
from tests.coordinator.ward import PEOPLE, Ward
from tests.fuzz.mutations import ODD_VALUES, mutated_bytes, mutated_table, mutated_tree_json

_LEFT_OUT = {"/leave"}
_ODD = (
    "", "0", "..", "%2e%2e", "%00", "a" * 3000, "é", "<script>", "'; --", "-1", "null", "NaN",
    "9" * 400, "\ud7ff", "%ff", "a/b", "?", "{session}",
)  # fmt: skip
_FIELDS = (
    "scenario", "purpose", "protocol", "weight", "gestation", "acknowledged", "other_cot", "code",
    "name", "do", "credentials", "outcome", "text", "unit", "who", "due", "drugs", "cylinders",
    "typed", "trainee", "person", "item", "category", "by", "first", "second", "session", "from",
    "taking_part", "figures", "research",
    "to", "offset", "page", "people", "sessions", "real_cot", "observer", "looked", "source", "way",
    "state",
)  # fmt: skip
_WORDS = (
    "term-not-breathing", "cot-term", "formative", "summative", "rehearsal", "yes", "no", "sign",
    "N-104", "M-021", "birth unit", "2026-02-30", "2026-01-01", "39", "39w", "39+3", "3400 g",
    "300 kg", "-1", "achieved", "import", "save", "erase", "countersign", "appeal", "12",
)  # fmt: skip
_METHODS = ("GET", "POST", "HEAD", "PUT", "DELETE", "OPTIONS")
_FORM = "application/x-www-form-urlencoded"


class _Console:
    """The console of a run, and the names of what it holds."""

    def __init__(self, ward: Ward) -> None:
        self.ward = ward
        ward.begin().import_roster()
        held, running, planned = ward.held(), ward.start(), ward.plan()
        alone = ward.form("/rehearse", scenario="term-not-breathing", way="guided")
        rehearsed = alone.headers["location"].split("/")[2]
        page = ward.client.get(f"/s/{running}").text
        code = page.partition("/d/")[2][:8]
        self.names = {
            "session": (held, running, planned, rehearsed), "one": (held,), "other": (running,),
            "code": ("N-104", "M-021", code), "id": ("1",), "file": ("cohort.html",),
            "key": ("all",), "token": ("x",), "booking": (planned, "x"),
        }  # fmt: skip
        self.running = running
        self.stranger = ward.another()
        self.paths = [
            route.path
            for route in ward.app.routes
            if isinstance(route, Route) and route.path not in _LEFT_OUT
        ]
        self.paths += [
            f"{route.path}/x.js" for route in ward.app.routes if isinstance(route, Mount)
        ]

    def who(self, name: str) -> Browser:
        return {"coordinator": self.ward.coordinator, "stranger": self.stranger}.get(
            name, self.ward
        )


_open: list[_Console] = []


@contextmanager
def console() -> Iterator[None]:
    """Have a console stand as long as the context lasts."""
    with TemporaryDirectory(prefix="fuzz-console-") as folder:
        ward = Ward(Path(folder), Shelf((), Path(folder) / "scenarios.index"))
        with ward.client:
            _open.append(_Console(ward))
            try:
                yield
            finally:
                _open.pop()


def requests() -> tuple[bytes, ...]:
    """Return a request for each route, as JSON: who asks, how, for what, with which body."""
    return tuple(
        json.dumps({"who": "educator", "method": "GET", "path": path}).encode()
        for path in _open[-1].paths
    )


def mutated_request(random: Random, seed: bytes) -> bytes:
    """Return a request with something odd about it."""
    content = json.loads(seed)
    content["who"] = random.choice(("educator", "educator", "coordinator", "stranger"))
    content["method"] = random.choice(_METHODS) if random.random() < 0.2 else _usual(random)
    content["path"] = _filled(random, content["path"])
    if random.random() < 0.3:
        content["query"] = "&".join(f"{name}={_odd(random)}" for name in random.sample(_FIELDS, 2))
    if content["method"] in ("POST", "PUT"):
        content["type"], body = _body(random)
        content["body"] = body.decode("latin-1")
    return json.dumps(content).encode()


def _usual(random: Random) -> str:
    return random.choice(("GET", "POST"))


def _filled(random: Random, path: str) -> str:
    for _, name, _, _ in string.Formatter().parse(path):
        if name is not None:
            known = () if path.endswith("/stream") else _open[-1].names[name.partition(":")[0]]
            value = random.choice(known) if known and random.random() < 0.75 else _odd(random)
            path = path.replace("{" + name + "}", value or "x", 1)
    return path


def _odd(random: Random) -> str:
    return random.choice((*_ODD, *_WORDS))


def _body(random: Random) -> tuple[str, bytes]:
    match random.randrange(7):
        case 0:
            return _FORM, mutated_bytes(random, b"csrf_token=TOKEN&scenario=term-not-breathing")
        case 1:
            entries = {"events": [_entry(random) for _ in range(random.choice((0, 1, 3, 250)))]}
            return "application/json", json.dumps(entries).encode()
        case 2:
            entries = {"events": [_entry(random)]}
            return "application/json", mutated_tree_json(random, json.dumps(entries).encode())
        case 3:
            return _upload(random)
        case 4:
            return "application/json", json.dumps(_touch(random)).encode()
        case _:
            fields = {name: _odd(random) for name in random.sample(_FIELDS, 6)}
            pairs = "&".join(f"{name}={value}" for name, value in fields.items())
            return _FORM, f"csrf_token=TOKEN&{pairs}".encode()


def _touch(random: Random) -> Any:
    """A touch of who plays alone, or nearly one."""
    made: dict[str, Any] = {
        "id": f"6f3c2a10-0000-4000-8000-00000000000{random.randrange(10)}",
        "do": random.choice(("action", "set", "tell", "begin", "pause", "resume", "end", "cot")),
        "name": random.choice(("dry", "oxygen", "adrenaline", "apgar", "mask_ventilation", "x")),
        "chosen": random.choice(
            ({}, {"value": 40, "unit": "%"}, {"value": "NaN"}, {"told": "7"}, {"volume": 1e300})
        ),
    }
    if random.random() < 0.4:
        made[random.choice(list(made))] = random.choice(ODD_VALUES)
    return made


def _entry(random: Random) -> Any:
    data = random.choice(
        (
            {"action": "dry", "phase": "done", "role": "airway"}, {"name": "birth"},
            {"setting": "oxygen", "value": 40, "unit": "%"}, {"text": "x"}, {"to": "limp"}, {},
            {"id": "x", "withdrawn": True}, {"observation": "heart_rate"},
        )
    )  # fmt: skip
    kinds = (
        "action", "event", "set", "note", "state", "amend", "undone", "pause", "resume", "hold",
        "release", "cue", "reveal", "skip", "information", "unobserved", "joined", "role",
    )  # fmt: skip
    made = entry(random.choice(kinds), random.choice((0, 1, 10_000, -5, 10**12)), data)
    if random.random() < 0.3:
        made[random.choice(list(made))] = random.choice(ODD_VALUES)
    return made


def _upload(random: Random) -> tuple[str, bytes]:
    table = mutated_table(random, PEOPLE.encode())[:150_000]
    parts = (
        b'--b\r\ncontent-disposition: form-data; name="csrf_token"\r\n\r\nTOKEN\r\n'
        b'--b\r\ncontent-disposition: form-data; name="files"; filename="a.csv"\r\n\r\n'
    )
    whole = parts + table + b"\r\n--b--\r\n"
    if random.random() < 0.3:
        whole = mutated_bytes(random, whole)
    return "multipart/form-data; boundary=b", whole


def note_status(status: int) -> None:
    """Called with each answer's status, for a test to count them."""
    del status


def answered(_: Path, content: bytes) -> None:
    """Ask the console; raise where it answers with 500 or above."""
    request = json.loads(content)
    browser = _open[-1].who(request["who"])
    address = request["path"] + (f"?{request['query']}" if "query" in request else "")
    body = request.get("body", "").encode("latin-1").replace(b"TOKEN", browser.token.encode())
    headers = {"x-csrf-token": browser.token}
    if "type" in request:
        headers["content-type"] = request["type"]
    answer = browser.client.request(
        request["method"], address, content=body, headers=headers, follow_redirects=False
    )
    note_status(answer.status_code)
    if answer.status_code >= 500:
        raise AssertionError(f"{answer.status_code}: {request['method']} {address[:200]}")
