"""What a person at a notebook gets: names, one line each, pictures, and tables for pandas."""

from __future__ import annotations

import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

import simengine as sim
from simengine.problems import InputError
from simengine.resources import scenarios_dir
from simengine.session.record import Session
from tests import shipped

NAME = "term-not-breathing-first-try"
ROOT = Path(__file__).parents[1]


class Elements(HTMLParser):
    """Counts elements by name, and fails where one is closed that was not opened."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.count: dict[str, int] = {}
        self.text: list[str] = []
        self._open: list[str] = []
        self.feed(html)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.count[tag] = self.count.get(tag, 0) + 1
        if tag not in ("img", "br"):
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.count[tag] = self.count.get(tag, 0) + 1

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


@pytest.fixture
def session() -> Session:
    return shipped.session(NAME)


def test_completion_shows_the_public_names_and_loads_nothing() -> None:
    code = (
        "import simengine, sys; print(*dir(simengine)); "
        "print(*(name for name in sys.modules if name.startswith('simengine.')))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    names, loaded = run.stdout.split("\n")[:2]
    assert names.split() == sorted([*sim.__all__, "__version__"])
    wanted = {"load_scenario", "read_log", "fold", "score", "write_debrief", "open_session"}
    assert wanted <= set(names.split())
    assert loaded == ""


@pytest.mark.parametrize("name", sim.__all__)
def test_every_public_name_is_a_documented_function(name: str) -> None:
    function = getattr(sim, name)
    assert callable(function)
    assert function.__name__ == name
    assert function.__doc__


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'scores'"):
        _ = sim.scores


def test_each_is_one_line(session: Session) -> None:
    card, scenario = shipped.card(NAME), session.scenario
    assert re.fullmatch(
        r"<Session [0-9a-f]{8} of term-not-breathing, formative: \d+ events in "
        r"\d+ min( \d+ s)?, finished>",
        repr(session),
    )
    low, high = card.interval or (0.0, 0.0)
    assert card.total is not None
    assert repr(card) == (
        f"<ScoreCard total {100 * card.total:.0f} % ({100 * low:.0f} to {100 * high:.0f} %), "
        f"no outcome: {len(card.items)} items>"
    )
    assert repr(scenario) == (
        f"<Scenario term-not-breathing {scenario.version} “{scenario.title}”: "
        f"{len(scenario.states)} states, {len(scenario.key)} items, protocol ercnls-2021>"
    )


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_a_session_is_shown_as_a_strip_along_the_clock(name: str) -> None:
    session = shipped.session(name)
    html = session._repr_html_()
    shown = Elements(html)
    assert shown.count["rect"] == len(session.stays) + 1
    done = [e for e in session.effective if e.kind in ("action", "set", "fault", "cue")]
    assert shown.count["title"] == len(done) + len(session.stays)
    for stay in session.stays:
        assert session.scenario.states[stay.state].title in shown.text
    assert "Training only" in html
    assert 'role="img" aria-label="' in html


def test_a_card_is_shown_as_a_table_of_its_items() -> None:
    card = shipped.card(NAME)
    shown = Elements(card._repr_html_())
    assert shown.count["tr"] == len(card.items) + 1
    for item in card.items:
        assert item.title in shown.text
    assert "Training only" in "".join(shown.text)


def test_a_scenario_is_shown_as_the_picture_of_its_states(session: Session) -> None:
    html = session.scenario._repr_html_()
    assert Elements(html).count == {"img": 1}
    for state in session.scenario.states.values():
        assert state.title in html  # the picture in words


def test_what_people_wrote_is_escaped(session: Session) -> None:
    from dataclasses import replace

    mean = "<script>alert(1)</script>"
    scenario = replace(session.scenario, title=mean)
    assert mean not in replace(session, scenario=scenario)._repr_html_()
    assert mean not in scenario._repr_html_()
    card = shipped.card(NAME)
    items = (replace(card.items[0], title=mean, sentence=mean, role=mean),)
    assert mean not in replace(card, items=items)._repr_html_()


def test_the_weighted_mean_of_the_items_table_is_the_total() -> None:
    card = shipped.card(NAME)
    frame = card.to_frame()
    assert list(frame.index) == [item.id for item in card.items]
    counted = frame[frame.applied & frame.credit.notna()]
    mean = np.average(counted.credit, weights=counted.weight)
    taken = sum(deduction.amount for deduction in card.deductions)
    assert card.total == pytest.approx(max(0.0, mean - taken))


def test_the_curves_are_a_row_for_each_step(session: Session) -> None:
    frame = session.curves_frame(every="10 s")
    assert list(frame["scenario_time (ms)"][:3]) == [0, 10_000, 20_000]
    assert frame["scenario_time (ms)"].iloc[-1] == session.end_ms
    at = sim.state_at(session, 60_000)
    row = frame[frame["scenario_time (ms)"] == 60_000].iloc[0]
    assert row["state"] == at.state
    for seen in at.observations:
        column = f"{seen.name} ({seen.unit})" if seen.unit else seen.name
        assert row[column] == seen.value
    assert len(session.curves_frame()) == len(session.curves_frame("1 s"))


@pytest.mark.parametrize("every", ["fast", "0 s", "10 mmHg"])
def test_a_step_that_is_no_time_is_refused(session: Session, every: str) -> None:
    with pytest.raises(ValueError, match="expected"):
        session.curves_frame(every)


def test_the_entries_are_a_row_each_in_order_of_time(session: Session) -> None:
    frame = session.events_frame()
    assert len(frame) == sum(event.kind != "amend" for event in session.effective)
    assert frame["scenario_time (ms)"].is_monotonic_increasing
    born = frame[frame.kind == "event"].iloc[0]
    assert born["clock (ms)"] == 0
    assert frame.words.map(bool).all()


def test_without_pandas_it_is_said_what_to_install(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    card = shipped.card(NAME)
    monkeypatch.setitem(sys.modules, "pandas", None)
    for table in (session.curves_frame, session.events_frame, card.to_frame):
        with pytest.raises(ImportError, match=r"pip install simengine\[notebook\]"):
            table()


def test_an_id_is_taken_wherever_a_file_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert sim.load_scenario("cot-term") == shipped.scenario("cot-term")
    assert sim.load_scenario("cot-term", protocol="aha-2020").protocol.id == "aha-2020"
    assert sim.load_protocol("aha-2020") == shipped.protocol("aha-2020")
    assert sim.load_vocabulary("newborn") == shipped.vocabulary()
    assert sim.read_log(NAME) == sim.read_log(shipped.log_file(NAME))
    named = sim.open_session(NAME, scenario="term-not-breathing").session
    assert named == shipped.session(NAME)
    assert sim.check_file("cot-term") == sim.check_file(scenarios_dir() / "cot-term.yaml")


def test_a_file_of_ones_own_goes_before_a_shipped_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (scenarios_dir() / "cot-term.yaml").read_text("utf-8")
    (tmp_path / "cot-term.yaml").write_text(text.replace("title: ", "title: My own ", 1), "utf-8")
    monkeypatch.chdir(tmp_path)
    assert sim.load_scenario("cot-term").title.startswith("My own ")


def test_an_id_that_nothing_has_is_told_with_the_nearest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match=r"the id of a scenario.*did you mean 'cot-term'"):
        sim.load_scenario("cot-trem")
    with pytest.raises(InputError, match=r"the id of a protocol.*did you mean 'aha-2020'"):
        sim.load_protocol("aha-2020x")
    with pytest.raises(InputError, match="a session log"):
        sim.read_log("nobodys-session")
