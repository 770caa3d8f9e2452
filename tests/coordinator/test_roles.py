"""Who may open what: every address of the console in one table of role × page.

It is held to the routes of the console, of this machine alone and on a network: an address without
its row fails, and so does a row without an address.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from starlette.routing import Mount, Route

from simengine.web.shelf import Shelf
from tests.console.consoles import LAN, Browser, token_in
from tests.coordinator.ward import Ward

ROLES = ("nobody", "display", "observer", "educator", "coordinator", "trainee", "colleague")
"""``observer``: joined the running session with its code. ``trainee``: N-104, who took part in the
assessment. ``colleague``: N-117, another trainee, who did not.
"""

NAMES = {"educator": "Greta", "coordinator": "Cora"}
PEOPLE = {"trainee": "N-104", "colleague": "N-117"}

ALL = ROLES
EDUCATOR = ("educator",)
RECORDERS = ("observer", "educator")
COORDINATOR = ("coordinator",)
ACCOUNTS = ("educator", "coordinator", "trainee", "colleague")
TEACHERS = ("educator", "coordinator")
OWN = ("coordinator", "trainee")
PLAYERS = ("educator", "trainee", "colleague")
TOOK_PART = ("educator", "coordinator", "trainee")

MAY: dict[str, tuple[str, ...]] = {
    # everybody: what opens something with a code or link, and what belongs to every page
    "GET /join": ALL,
    "POST /join": ALL,
    "POST /leave": ALL,
    "GET /time": ALL,
    "GET /health": ALL,
    "GET /d/{code}": ALL,
    # the practice check: its list by its code alone
    "GET /practice": EDUCATOR,
    "POST /practice": EDUCATOR,
    "GET /practice/{code}": ALL,
    "POST /practice/{code}": ALL,
    "POST /practice/{code}/sheet": ALL,
    "GET /practice/{code}/qr.svg": ALL,
    "POST /practice/{code}/end": EDUCATOR,
    "GET /d/{code}/stream": ALL,
    "GET /wall/{code}": ALL,
    "GET /wall/{code}/stream": ALL,
    "MOUNT /static/fonts": ALL,
    "MOUNT /static": ALL,
    # sessions
    "GET /": EDUCATOR,
    "POST /sessions": EDUCATOR,
    "GET /people": EDUCATOR,
    "GET /day": EDUCATOR,
    "POST /day": EDUCATOR,
    "POST /bookings/{booking}": EDUCATOR,
    "POST /teams": EDUCATOR,
    "GET /put-away": EDUCATOR,
    "POST /s/{session}/again": EDUCATOR,
    "GET /s/{session}/put-away": EDUCATOR,
    "POST /s/{session}/put-away": EDUCATOR,
    "POST /s/{session}/bring-back": EDUCATOR,
    "GET /s/{session}/prebrief": EDUCATOR,
    "POST /s/{session}/start": EDUCATOR,
    "GET /s/{session}": RECORDERS,
    "GET /s/{session}/stream": RECORDERS,
    "POST /s/{session}/events": RECORDERS,
    "GET /s/{session}/qr.svg": RECORDERS,
    "GET /s/{session}/review": EDUCATOR,
    "GET /s/{session}/review.json": EDUCATOR,
    "GET /s/{session}/debrief": EDUCATOR,
    "GET /s/{session}/debrief.pdf": EDUCATOR,
    "GET /s/{session}/debrief/what-if": EDUCATOR,
    "GET /s/{session}/log": EDUCATOR,
    "GET /s/{session}/room": EDUCATOR,
    "GET /s/{session}/room/stream": EDUCATOR,
    "GET /s/{session}/room/qr.svg": EDUCATOR,
    "POST /s/{session}/room/show": EDUCATOR,
    "POST /s/{session}/room/words": EDUCATOR,
    "POST /s/{session}/room/end": EDUCATOR,
    "POST /s/{session}/retry": EDUCATOR,
    "GET /s/{session}/return": EDUCATOR,
    "POST /s/{session}/return": EDUCATOR,
    # rehearsing alone: N-104's own rehearsal, and nobody else's
    "GET /rehearse": PLAYERS,
    "POST /rehearse": PLAYERS,
    "GET /rehearse/{session}": ("trainee",),
    "GET /rehearse/{session}/stream": ("trainee",),
    "POST /rehearse/{session}/do": ("trainee",),
    "GET /rehearse/{session}/after": ("trainee",),
    "POST /rehearse/{session}/again": ("trainee",),
    "GET /rehearse/{session}/debrief": ("trainee",),
    "GET /rehearse/{session}/debrief.pdf": ("trainee",),
    "GET /rehearse/{session}/debrief/what-if": ("trainee",),
    # the cohort
    "GET /cohort": COORDINATOR,
    "GET /cohort/roster": COORDINATOR,
    "POST /cohort/roster": COORDINATOR,
    "GET /cohort/due": COORDINATOR,
    "GET /cohort/due.csv": COORDINATOR,
    "GET /cohort/due.xlsx": COORDINATOR,
    "GET /cohort/due.ics": COORDINATOR,
    "GET /cohort/attendance": COORDINATOR,
    "POST /cohort/attendance": COORDINATOR,
    "GET /cohort/matrix": COORDINATOR,
    "GET /cohort/drills": COORDINATOR,
    "POST /cohort/drills": COORDINATOR,
    "GET /cohort/plan": COORDINATOR,
    "POST /cohort/plan": COORDINATOR,
    "GET /cohort/plan.ics": COORDINATOR,
    "GET /cohort/access": COORDINATOR,
    "GET /cohort/privacy": COORDINATOR,
    "GET /cohort/settings": COORDINATOR,
    "POST /cohort/settings": COORDINATOR,
    "GET /cohort/figures": TEACHERS,
    "POST /cohort/figures": TEACHERS,
    "GET /cohort/figures/{key}/{file}": TEACHERS,
    "GET /cohort/agreement": TEACHERS,
    "GET /cohort/agreement/{one}/{other}": TEACHERS,
    "GET /cohort/code": TEACHERS,
    "POST /cohort/code": TEACHERS,
    "GET /cohort/outcomes": TEACHERS,
    "GET /cohort/outcomes/{session}": TOOK_PART,
    "POST /cohort/outcomes/{session}": TOOK_PART,
    "GET /cohort/shared": TEACHERS,
    "GET /cohort/views": TEACHERS,
    "POST /cohort/views": TEACHERS,
    "GET /cohort/threats": TEACHERS,
    "POST /cohort/threats": TEACHERS,
    "POST /cohort/threats/{id}": TEACHERS,
    # one person: N-104
    "GET /cohort/people/{code}": OWN,
    "GET /cohort/people/{code}/trend.svg": OWN,
    "GET /cohort/people/{code}/attendance.pdf": COORDINATOR,
    "GET /cohort/people/{code}/plan.ics": OWN,
    "GET /cohort/people/{code}/data": OWN,
    "GET /cohort/people/{code}/audit": OWN,
    "GET /cohort/people/{code}/erase": COORDINATOR,
    "POST /cohort/people/{code}/erase": COORDINATOR,
    "GET /cohort/people/{code}/consent": ("trainee",),
    "POST /cohort/people/{code}/consent": ("trainee",),
    "GET /cohort/people/{code}/words/{session}": ("trainee",),
    "POST /cohort/people/{code}/words/{session}": ("trainee",),
    "GET /cohort/people/{code}/debrief/{session}": OWN,
    "POST /cohort/people/{code}/debrief/{session}": ("trainee",),
    "GET /cohort/people/{code}/debrief/{session}.pdf": OWN,
    "GET /cohort/people/{code}/debrief/{session}/what-if": OWN,
}

THIS_MACHINE = {"GET /enter/{token}": ALL, "GET /coordinate/{token}": ALL}
NETWORK = {
    "GET /sign-in": ALL,
    "POST /sign-in": ALL,
    "POST /sign-out": ALL,
    "GET /invitation": ALL,
    "GET /invitation/{code}": ALL,
    "POST /invitation": ALL,
    "GET /trust": ALL,
    "GET /authority.crt": ALL,
    "GET /address.svg": ALL,
    "GET /password": ACCOUNTS,
    "POST /password": ACCOUNTS,
    "GET /accounts": TEACHERS,
    "POST /accounts": TEACHERS,
}
TABLES = {"this machine": MAY | THIS_MACHINE, "network": MAY | NETWORK}

SENT_ON = {("GET /", "coordinator"), ("GET /", "trainee"), ("GET /", "colleague")}
"""Who is sent on to the page that they begin with, and sees nothing of this one."""
TO_SIGN_IN = {("GET /", "nobody"), ("GET /", "display"), ("GET /", "observer")}
"""Who is sent on to sign in, on a network."""

_STREAMS = (
    "GET /d/{code}/stream",
    "GET /wall/{code}/stream",
    "GET /s/{session}/stream",
    "GET /s/{session}/room/stream",
    "GET /rehearse/{session}/stream",
)
_SLOW = (
    "POST /cohort/figures",
    "/debrief",
    "debrief.pdf",
    "debrief/{session}",
    "what-if",
    "{session}.pdf",
    "trend.svg",
)
"""What is made by a process of its own: that it is refused is tested here, that it is made
elsewhere.
"""


class Everybody:
    """One browser for each role, at one console with a running session and an assessment."""

    def __init__(self, ward: Ward) -> None:
        self.ward = ward
        ward.import_roster()
        self.assessed = ward.held(purpose="summative")
        self.running = ward.start()
        plan = ward.hub.running(self.running).plan
        wall = ward.app.state.web.keys.wall_code(self.assessed)
        practice = ward.app.state.practice_checks.make(
            unit="",
            protocol="common-practice",
            gestation_days=273.0,
            weight_g=3400.0,
            now_ms=ward.clock.wall_ms(),
        )
        self.codes = {"d": plan.display, "wall": wall, "practice": practice.code}
        self.browsers: dict[str, Browser] = {
            "nobody": ward.another(),
            "display": ward.another(),
            "observer": ward.another(),
            "educator": ward,
            "coordinator": ward.coordinator,
            **{role: ward.trainee(code) for role, code in PEOPLE.items()},
        }
        for role in ("nobody", "display", "observer"):
            browser = self.browsers[role]
            browser.token = token_in(browser.client.get("/join").text)
        self.browsers["display"].form("/join", who="display", code=plan.display)
        self.join_as_observer()
        begun = self.browsers["trainee"].form("/rehearse", scenario="term-not-breathing")
        self.rehearsed = begun.headers["location"].split("/")[2]

    def join_as_observer(self) -> None:
        """Come in with the running session's code; a token goes with the rights that grew by it."""
        observer = self.browsers["observer"]
        observer.token = token_in(observer.client.get("/join").text)
        code = self.ward.hub.running(self.running).plan.recorder
        observer.form("/join", who="observer", code=code)
        page = self.browsers["observer"].client.get(f"/s/{self.running}")
        self.browsers["observer"].token = token_in(page.text)

    def asks(self, role: str, what: str) -> int:
        self.ward.clock.at_ms += 8_000  # type: ignore[attr-defined]  # wrong codes are counted
        method, _, path = what.partition(" ")
        session = self.running if path.startswith("/s/") else self.assessed
        session = self.rehearsed if path.startswith("/rehearse/") else session
        address = path.format(
            session=session, code=self.codes.get(path.split("/")[1], "N-104"),
            token="wrong", id="nothing", booking="nothing", one=session, other=session,
            key="nothing", file="x",
        )  # fmt: skip
        browser = self.browsers[role]
        if method == "MOUNT":
            return browser.client.get(
                f"{address}/{'base.css' if path == '/static' else ''}"
            ).status_code
        if method == "GET":
            return browser.client.get(address, follow_redirects=False).status_code
        if path.endswith("/events"):
            return browser.send_raw(session, {"events": []}).status_code
        if path.endswith("/do"):
            touch = '{"id": "00000000-0000-4000-8000-000000000000", "do": "", "name": ""}'
            head = {"x-csrf-token": browser.token, "content-type": "application/json"}
            return browser.client.post(address, content=touch, headers=head).status_code
        status = browser.form(address).status_code
        if path in ("/leave", "/sign-out"):
            self.come_back(role)
        return status

    def come_back(self, role: str) -> None:
        """Sign in again whoever has just been signed out."""
        if role in PEOPLE:
            self.browsers[role] = self.ward.trainee(PEOPLE[role])
        elif role in NAMES and self.ward.lan is not None:
            self.browsers[role].comes_in(NAMES[role])
        elif role == "observer" and self.ward.lan is not None:
            self.join_as_observer()
        else:
            self.browsers[role].token = token_in(self.browsers[role].client.get("/join").text)


@pytest.fixture(scope="module", params=list(TABLES))
def everybody(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, shelf: Shelf
) -> Iterator[Everybody]:
    lan = LAN if request.param == "network" else None
    made = Ward(tmp_path_factory.mktemp("roles"), shelf, lan)
    with made.client:
        yield Everybody(made.begin())


def table_of(everybody: Everybody) -> dict[str, tuple[str, ...]]:
    return TABLES["this machine" if everybody.ward.lan is None else "network"]


def addresses_of(ward: Ward) -> set[str]:
    """Every address of a console, as the table writes it."""
    addresses = set()
    for route in ward.app.routes:
        if isinstance(route, Mount):
            addresses.add(f"MOUNT {route.path}")
        else:
            assert isinstance(route, Route)
            methods = set(route.methods or ("GET",)) - {"HEAD"}  # a stream answers to GET alone
            addresses |= {f"{method} {route.path}" for method in methods}
    return addresses


def test_every_address_of_the_console_stands_in_the_table(everybody: Everybody) -> None:
    assert addresses_of(everybody.ward) == set(table_of(everybody))


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize(
    "what", [what for what in MAY | THIS_MACHINE | NETWORK if what not in _STREAMS]
)
def test_who_may_and_nobody_else_opens_an_address(
    everybody: Everybody, what: str, role: str
) -> None:
    table = table_of(everybody)
    if what not in table:
        assert everybody.asks(role, what) == 404
        return
    if role not in table[what]:
        status = everybody.asks(role, what)
        sent_on = SENT_ON | (TO_SIGN_IN if everybody.ward.lan is not None else set())
        if (what, role) in sent_on:
            assert status == 303
        else:
            assert status == 403
    elif not what.endswith(_SLOW):
        status = everybody.asks(role, what)
        allowed_but_wrong = "{token}" in what  # a wrong link is refused to everybody
        assert status < 500
        assert status != 403 or allowed_but_wrong, status


@pytest.mark.parametrize("role", [role for role in ROLES if role not in RECORDERS])
def test_who_may_not_record_gets_no_stream_of_a_session(everybody: Everybody, role: str) -> None:
    assert everybody.asks(role, "GET /s/{session}/stream") == 403
    assert everybody.asks(role, "GET /s/{session}/room/stream") == 403


@pytest.mark.parametrize("role", [role for role in ROLES if role != "trainee"])
def test_a_rehearsal_streams_to_whoever_plays_it_alone(everybody: Everybody, role: str) -> None:
    assert everybody.asks(role, "GET /rehearse/{session}/stream") == 403


def test_an_educator_opens_no_page_of_somebody_elses_rehearsal(everybody: Everybody) -> None:
    educator = everybody.browsers["educator"].client
    for path in ("", "/review", "/review.json", "/log", "/debrief", "/room", "/prebrief"):
        assert educator.get(f"/s/{everybody.rehearsed}{path}").status_code == 404, path
    assert everybody.rehearsed not in educator.get("/").text


def test_a_display_streams_to_whoever_has_its_code_alone(everybody: Everybody) -> None:
    stranger = everybody.browsers["nobody"]
    for screen in ("d", "wall"):
        assert stranger.client.get(f"/{screen}/WRONGONE/stream").status_code == 404


@pytest.mark.parametrize("path", ["/cohort/people/{}", "/cohort/people/{}/trend.svg"])
def test_a_trainee_is_not_told_whether_a_colleague_exists(everybody: Everybody, path: str) -> None:
    own = everybody.browsers["trainee"]
    for code in ("M-021", "N-117", "nobody-at-all", "N-104%20", "n-104"):
        answer = own.client.get(path.format(code))
        assert answer.status_code == 403, code
        assert "Ben" not in answer.text
