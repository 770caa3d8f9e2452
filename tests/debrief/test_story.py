"""Every sentence of a story is read back against the fold, and nothing else stands in it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest

from simengine.debrief.story import LEAST, MOST, story
from simengine.plays import perform
from simengine.plays.files import FOLDER, read_file
from simengine.quantities.formatting import instant, listed
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session.dynamics import curve_at
from simengine.session.record import Session
from tests import shipped

PLAYS = sorted((scenarios_dir() / FOLDER).glob("*/*.yaml"))
TIME = r"(\d+:\d\d(?: before [a-z ]+?)?)(?=[;:,. )]|$)"


@cache
def played(file: Path) -> Session:
    play, _ = read_file(file, shipped.scenario(file.parent.name))
    assert play is not None
    return perform(play).session


@cache
def told(what: str | Path) -> tuple[str, ...]:
    """The story of a shipped session, or of a play."""
    session = played(what) if isinstance(what, Path) else shipped.session(what)
    return story(session, score(session, redraws=0))


class Read:
    """A session as a story may tell it: from words and a time back to what the fold holds."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.vocabulary = session.scenario.vocabulary

    def clock(self, at_ms: int) -> str:
        event = (self.session.scenario.start.clock or "").replace("_", " ")
        return instant(at_ms - (self.session.record.clock_ms or 0), event)

    def acts(self) -> Iterator[tuple[str, str]]:
        """Each act as it may be told, and when it was."""
        record = self.session.record
        for run in record.performances:
            action = self.vocabulary.actions[run.action]
            if run.acts:
                yield action.did, self.clock(run.start_ms)
                yield f"{action.did} again", self.clock(run.start_ms)
        for name, changes in record.changes.items():
            setting = self.vocabulary.settings[name]
            for before, change in zip((None, *changes), changes, strict=False):
                when, unit = self.clock(change.at_ms), setting.unit or ""
                if not change.touched:
                    continue
                value = f"{change.value:g} {unit}" if setting.unit else str(change.value)
                value = value.replace("degC", "°C")
                yield f"set {setting.noun} to {value}", when
                if before is not None and setting.unit and before.value != change.value:
                    moved = "raised" if change.value > before.value else "lowered"  # type: ignore[operator]
                    yield f"{moved} {setting.noun} from {before.value:g} to {value}", when
        for event in record.faults:
            shows = self.session.scenario.start.faults[event.fault].shows
            when = self.clock(event.at_ms)
            words = {"found": f"found “{shows}”", "mended": f"put right “{shows}”"}
            yield words.get(event.status, f"the fault “{shows}” began"), when

    def drugs(self) -> Iterator[tuple[str, str]]:
        """Doses of each drug that one sentence may tell together, and when they were."""
        for action in self.vocabulary.actions.values():
            runs = [run for run in self.session.record.performances if run.action == action.name]
            if action.dose is not None:
                for number in range(2, len(runs) + 1):
                    for some in combinations([self.clock(run.start_ms) for run in runs], number):
                        yield action.did, listed(some)
                        yield f"{action.did} again", listed(some)

    def values(self, at_ms: int) -> dict[str, float]:
        curves = self.session.curves
        values = {name: curve_at(segments, at_ms) for name, segments in curves.items()}
        return {name: value for name, value in values.items() if value is not None}


def untrue(session: Session, sentence: str) -> list[str]:
    """What of a sentence the fold does not hold; what is left once all that it holds is taken."""
    read = Read(session)
    wrong: list[str] = []
    rest = sentence
    told_at = sorted({*read.acts(), *read.drugs()}, key=lambda act: (-len(act[1]), -len(act[0])))
    for act, when in told_at:
        for known in (act, act[:1].upper() + act[1:]):
            rest = (
                re.sub(
                    rf"\b{re.escape(known)} at {re.escape(when)}(?= \(|[;:,.]| and |$)", "¤", rest
                )
                if known[0].isalpha()
                else rest.replace(f"{known} at {when}", "¤")
            )
    # values told with an act, and the settings that it was done with
    rest = re.sub(r"¤ \([^)]*\)", "¤", rest)
    rest = _carried(session, rest)
    rest = _courses(read, rest, wrong)
    rest = _states(read, rest, wrong)
    rest = re.sub(r"\b(You|you|and|but)\b|[¤;:,.]", " ", rest)
    left = " ".join(rest.split())
    return wrong + ([f"not in the fold: {left}"] if left else [])


def _carried(session: Session, rest: str) -> str:
    for setting in session.scenario.vocabulary.settings.values():
        values = {change.value for change in session.record.changes.get(setting.name, ())}
        for value in values:
            amount = f"{value:g} {setting.unit}" if setting.unit else str(value)
            rest = re.sub(rf"¤, with {re.escape(setting.noun)} at {re.escape(amount)}", "¤", rest)
    return rest


def _courses(read: Read, rest: str, wrong: list[str]) -> str:
    """Take out how a curve went, each held against the curve at both ends of its stay."""
    session = read.session
    for name, observation in read.vocabulary.observations.items():
        if name not in session.curves:
            continue
        noun, unit = re.escape(observation.noun), re.escape(observation.unit or "")
        unit = unit.replace("degC", "°C")
        match = re.search(rf"{noun} (rose|fell) from ([\d.]+) to ([\d.]+) {unit} by {TIME}", rest)
        if match:
            stays = [
                s for s in session.stays if read.clock(min(s.exit_ms, session.end_ms)) == match[4]
            ]
            true = False
            for stay in stays:
                end = min(stay.exit_ms, session.end_ms)
                first = read.values(stay.entry_ms)[name]
                last = read.values(end - 1)[name]
                digits = observation.decimals
                true |= (
                    (f"{first:.{digits}f}", f"{last:.{digits}f}") == (match[2], match[3])
                    and (last > first) == (match[1] == "rose")
                    and read.clock(stay.entry_ms) in rest
                )
            if not true:
                wrong.append(match[0])
            rest = rest.replace(match[0], " ")
        passed = re.search(rf"passed ([\d.]+) {unit} at {TIME}", rest)
        if passed and match:
            level = float(passed[1])
            near = [
                at_ms
                for at_ms in range(0, session.end_ms, 250)
                if read.clock(at_ms) in (passed[2],)
            ]
            before, after = near[0] - 1000, near[-1] + 1000
            if not read.values(before)[name] < level <= read.values(after)[name]:
                wrong.append(passed[0])
            rest = rest.replace(passed[0], " ")
        for stay in session.stays:
            value = read.values(stay.entry_ms).get(name)
            if value is not None and read.clock(stay.entry_ms) in rest:
                phrase = f"{observation.noun} was {value:.{observation.decimals}f} "
                rest = rest.replace(phrase + (observation.unit or "").replace("degC", "°C"), " ")
        value = read.values(session.end_ms).get(name)
        if value is not None and read.clock(session.end_ms) in rest:
            phrase = f"{observation.noun} at {value:.{observation.decimals}f} {observation.unit}"
            rest = rest.replace(phrase.replace("degC", "°C"), " ")
    return rest


def _states(read: Read, rest: str, wrong: list[str]) -> str:
    """Take out what a state brought, and by what its scenario says that it came."""
    session, scenario = read.session, read.session.scenario
    for before, stay in zip((None, *session.stays), session.stays, strict=False):
        when = read.clock(stay.entry_ms)
        if when not in rest:
            continue
        title = scenario.states[stay.state].title
        for observation, steps in session.words.items():
            for since, word in steps:
                if since == stay.entry_ms:
                    rest = rest.replace(read.vocabulary.observations[observation].was[word], " ")
        if before is not None and stay.rule is not None:
            way = scenario.states[before.state].next[stay.rule]
            for words in filter(None, (way.words, (way.on or "").replace("_", " "))):
                rest = re.sub(re.escape(words), " ", rest, count=1, flags=re.IGNORECASE)
        rest = re.sub(re.escape(title), " ", rest, count=1, flags=re.IGNORECASE)
        if stay.cause == "facilitator":
            rest = rest.replace("the facilitator moved on", " ")
        for stopped in session.record.performances:
            if stopped.stop_ms is not None:
                noun = read.vocabulary.actions[stopped.action].noun
                phrase = f"{noun} stopped at {read.clock(stopped.stop_ms)}"
                rest = re.sub(re.escape(phrase), " ", rest, flags=re.IGNORECASE)
        rest = re.sub(rf"(from|From|At|at) {re.escape(when)}", " ", rest)
        rest = rest.replace(f"({when})", " ")
    end = read.clock(session.end_ms)
    closed = {
        "finished": f"The session ended at {end}",
        "stopped early": f"The session was stopped early at {end}",
        "safety stop": f"The session was stopped for safety at {end}",
        None: f"The record ends at {end}",
    }[session.closed]
    return re.sub(rf"{re.escape(closed)}(, with)?", " ", rest)


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_each_sentence_of_a_shipped_session_is_true_of_its_log(name: str) -> None:
    session = shipped.session(name)
    assert [fault for sentence in told(name) for fault in untrue(session, sentence)] == []


@pytest.mark.parametrize("file", PLAYS, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_each_sentence_of_a_play_is_true_of_its_log(file: Path) -> None:
    session = played(file)
    sentences = told(file)
    assert [fault for sentence in sentences for fault in untrue(session, sentence)] == []
    assert len(sentences) <= MOST


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_a_story_has_five_to_nine_sentences(name: str) -> None:
    assert LEAST <= len(told(name)) <= MOST


def drugs_left_out(session: Session, sentences: tuple[str, ...]) -> list[str]:
    read = Read(session)
    out = []
    for run in session.record.performances:
        action = session.scenario.vocabulary.actions[run.action]
        if action.dose is None or not run.acts or run.start_ms > session.end_ms:
            continue
        when = re.escape(read.clock(run.start_ms))
        if not any(
            re.search(rf"{re.escape(action.did)}.*\b{when}", sentence) for sentence in sentences
        ):
            out.append(f"{action.did} at {read.clock(run.start_ms)}")
    return out


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_each_drug_given_in_a_shipped_session_is_told(name: str) -> None:
    assert drugs_left_out(shipped.session(name), told(name)) == []


@pytest.mark.parametrize("file", PLAYS, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_each_drug_given_in_a_play_is_told(file: Path) -> None:
    assert drugs_left_out(played(file), told(file)) == []


def test_drugs_are_given_in_some_of_them() -> None:
    given = {
        run.action
        for name in shipped.SESSIONS
        for run in shipped.session(name).record.performances
        if shipped.session(name).scenario.vocabulary.actions[run.action].dose is not None
    }
    assert {"adrenaline", "volume"} <= given


def test_the_reader_finds_what_is_not_so() -> None:
    session = shipped.session("term-not-breathing-first-try")
    for sentence in (
        "You dried the baby at 0:18.",
        "You reseated the mask at 2:39; from 2:53 the chest rose.",
        "You started ventilation at 1:09, but from 1:14 the heart rate rose from 64 to 50 /min by "
        "2:52.",
        "You raised PIP from 30 to 36 cmH2O at 2:46.",
        "From 2:52 the chest did not move.",
        "Nobody called for help.",
    ):
        assert untrue(session, sentence), sentence


def test_the_team_may_be_told_in_the_third_person() -> None:
    session = shipped.session("term-not-breathing-first-try")
    card = score(session, redraws=0)
    for yours, theirs in zip(story(session, card), story(session, card, "the team"), strict=True):
        assert theirs == yours.replace("You ", "The team ").replace(" you ", " the team ")
