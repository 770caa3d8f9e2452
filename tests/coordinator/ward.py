"""A small ward at the console for tests: a roster, sessions, a coordinator, a trainee."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import httpx2

from simengine.cohort.records import SessionResult
from simengine.resources import scenarios_dir
from simengine.scenario.set_standard import NewStandard, with_standard
from simengine.store.accounts import Rights, account_of_trainee
from simengine.web.lan import Lan
from simengine.web.shelf import Shelf
from tests.console.consoles import Browser, Desk, SetClock, entry, token_in
from tests.store.logs import opened

PEOPLE = """code,name,profession,unit,since,until
N-104,Ada Example,nurse,birth unit,2024-03-01,
M-021,Ben Example,midwife,birth unit,2024-03-01,
D-009,Cleo Example,doctor,neonatal unit,2024-03-01,
N-117,Dora Example,nurse,neonatal unit,2026-12-01,
"""
NEEDS = """requirement,title,every_months,professions,scenarios,role,starter_days
cot,Cot preparation,6,nurse,cot-term;cot-preterm,,90
airway,A resuscitation in the airway role,12,,,airway,30
"""
STANDARD = NewStandard("50 %", "Angoff", "An invented panel of the tests", "2026-01-15", "4 %")
TEAM = {"role__airway": "N-104", "role__circulation": "M-021", "role__leader": "D-009"}


class Ward(Desk):
    """A console with its coordinator in a browser of their own."""

    def __init__(self, data: Path, shelf: Shelf, lan: Lan | None = None) -> None:
        super().__init__(data, shelf=shelf, lan=lan)

    def begin(self) -> Ward:
        self.sign_in()
        self.coordinator = self.another()
        if self.lan is None:
            self.coordinator.open(f"/coordinate/{self.coordinating.token}")
        else:
            self.coordinator.accept(self.invitation(Rights(coordinator=True)), "Cora")
        return self

    def import_roster(self, *texts: str) -> None:
        answer = send_files(self.coordinator, *(texts or (PEOPLE, NEEDS)))
        assert answer.status_code == 200, words_of(answer)
        answer = save(self.coordinator, answer.text)
        assert answer.status_code == 303, words_of(answer)

    def held(self, scenario: str = "term-not-breathing", **fields: str) -> str:
        """A session that was run, ended and whose record was confirmed; its result is kept."""
        session = self.start(scenario, **{**TEAM, **fields})
        # a birth, and three minutes in which nothing is done: what is essential was asked for
        self.send(session, entry("event", 0, {"name": "birth"}))
        self.later(minutes=3)
        self.end(session)
        return session

    def end(self, session: str) -> None:
        """End a session three minutes in, confirm its record, and have its result kept."""
        self.send(session, entry("closed", 180_000, {"why": "finished"}))
        self.send(session, entry("confirmed", 180_000, {}))
        self.results_made()

    def signed(self, session: str, name: str = "Greta Educator", **fields: str) -> httpx2.Response:
        """What the page answers as an educator signs (or whatever ``do`` says)."""
        form = {"do": "sign", "credentials": "registered nurse", "outcome": "achieved", **fields}
        return self.form(f"/cohort/outcomes/{session}", name=name, **form)

    def later(self, *, days: int = 0, minutes: int = 0) -> None:
        """Let time pass: minutes while everybody looks on; days for the calendar alone."""
        assert isinstance(self.clock, SetClock)
        self.clock.at_ms += minutes * 60_000
        self.clock.step_ms += days * 24 * 60 * 60_000

    def keep(self, made: SessionResult) -> None:
        """Keep a result that was made up, with a log of its own."""
        self.hub.store.add_log(opened(2, made.session), unit=made.unit)
        self.hub.store.put_result(made, {"total": made.total})

    def results_made(self) -> None:
        assert self.client.portal is not None  # type: ignore[attr-defined]
        self.client.portal.call(self.app.state.web.results.made)  # type: ignore[attr-defined]

    def late_results_made(self) -> None:
        desk = self.app.state.desk
        assert self.client.portal is not None  # type: ignore[attr-defined]
        self.client.portal.call(desk.results.catch_up, self.hub)  # type: ignore[attr-defined]

    def reports_made(self) -> None:
        reports = self.app.state.coordinator.reports

        async def wait() -> None:
            for key in list(reports._making):
                await reports.finished(key)

        assert self.client.portal is not None  # type: ignore[attr-defined]
        self.client.portal.call(wait)  # type: ignore[attr-defined]

    def trainee(self, code: str) -> Browser:
        """A browser in which this trainee's own pages were opened, with a code or an account."""
        if self.lan is not None:
            browser = self.another()
            if account_of_trainee(self.hub.store, code) is None:
                browser.accept(self.invitation(Rights(trainee=code)), f"trainee {code}")
            else:
                browser.comes_in(f"trainee {code}")
            return browser
        made = self.coordinator.form("/cohort/code", trainee=code)
        match = re.search(r'<p class="code">([^<]+)</p>', made.text)
        assert match is not None, words_of(made)
        browser = self.another()
        browser.token = token_in(browser.client.get("/join").text)
        answer = browser.form("/join", who="trainee", code=match.group(1))
        assert answer.status_code == 303, words_of(answer)
        browser.open(answer.headers["location"])
        return browser


def send_files(browser: Browser, *texts: str | bytes, **fields: str) -> httpx2.Response:
    """Send CSV files for a dry run."""
    files = [
        ("files", (f"file-{number}.csv", text, "text/csv")) for number, text in enumerate(texts, 1)
    ]
    return browser.client.post(
        "/cohort/roster",
        data={"csrf_token": browser.token, **fields},
        files=files,
        follow_redirects=False,
    )


def save(browser: Browser, page: str) -> httpx2.Response:
    """Press the button of a dry run that went well."""
    kept = re.findall(r'name="(file\.[^"]+)" value="([^"]*)"', page)
    assert kept, page
    return browser.client.post(
        "/cohort/roster",
        data={"csrf_token": browser.token, "save": "yes", "dates": "", **dict(kept)},
        files=[("files", ("", b""))],
        follow_redirects=False,
    )


def words_of(answer: httpx2.Response) -> str:
    """A page's text without its marks, on one line."""
    text = re.sub(r"<[^>]+>", " ", answer.text.partition("<main")[2] or answer.text)
    return " ".join(text.split())


def shelf_with_standard(folder: Path) -> Shelf:
    """The shipped scenarios, some of them under a standard that tests may use."""
    made = folder / "scenarios"
    shutil.copytree(scenarios_dir(), made)
    for name in ("cot-term", "term-not-breathing"):
        file = made / f"{name}.yaml"
        text = with_standard(file.read_text(encoding="utf-8"), STANDARD)
        assert text is not None
        file.write_text(text, encoding="utf-8")
    return Shelf((made,))
