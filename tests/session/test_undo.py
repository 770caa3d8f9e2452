"""What each device would take back next, and what it could bring back."""

from __future__ import annotations

from typing import Any

from simengine.session.events import Event, Kind
from simengine.session.undo import StepsBack, steps_back

WALL = "2026-03-01T10:00:00.000Z"


class Log:
    """A log of two devices, written down one event a second."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def by(self, device: str, kind: Kind, **data: Any) -> str:
        seq = len(self.events)
        at_ms = 1000 * seq
        self.events.append(Event(seq, f"e{seq}", at_ms, at_ms, WALL, kind, device, data))
        return f"e{seq}"

    def did(self, device: str = "one") -> str:
        return self.by(device, "action", action="dry", phase="done")

    def withdrew(self, named: str, device: str = "one") -> str:
        return self.by(device, "amend", id=named, withdrawn=True)

    def of(self, device: str = "one") -> StepsBack:
        return steps_back(self.events).get(device, StepsBack())

    def next(self, device: str = "one") -> tuple[str, str]:
        last = self.of(device).undo[-1]
        return last.way, last.id

    def redo(self, device: str = "one") -> list[tuple[str, str]]:
        return [(step.id, step.taken_by) for step in self.of(device).redo]


def test_the_last_entry_is_taken_back_first_whatever_it_was() -> None:
    log = Log()
    entry = log.did()
    assert log.next() == ("withdraw", entry)
    note = log.by("one", "note", text="n")
    assert log.next() == ("withdraw", note)
    for kind in ("state", "hold", "pause", "event"):
        done = log.by("one", kind, name="x", cause="facilitator")
        assert log.next() == ("undo", done)


def test_a_correction_is_a_step_of_its_own_and_about_its_entry() -> None:
    log = Log()
    entry = log.did()
    change = log.by("one", "amend", id=entry, fields={"role": "leader"})
    assert log.next() == ("withdraw", change)
    assert log.of().undo[-1].of == entry
    log.withdrew(change)
    assert log.next() == ("withdraw", entry)


def test_two_devices_each_take_back_their_own() -> None:
    log = Log()
    mine, theirs = log.did("one"), log.did("two")
    assert log.next("one") == ("withdraw", mine)
    assert log.next("two") == ("withdraw", theirs)


def test_what_another_device_has_removed_is_no_longer_ones_own_to_take_back() -> None:
    log = Log()
    first, second = log.did("two"), log.did("two")
    removal = log.withdrew(second, "one")
    assert log.next("two") == ("withdraw", first)
    assert log.redo("one") == [(second, removal)]
    assert log.redo("two") == []


def test_what_was_taken_back_is_brought_back_by_withdrawing_the_withdrawal() -> None:
    log = Log()
    entry = log.did()
    removal = log.withdrew(entry)
    assert log.of().undo == []
    assert log.redo() == [(entry, removal)]
    log.withdrew(removal)
    assert log.next() == ("withdraw", entry)
    assert log.redo() == []


def test_what_was_undone_is_brought_back_by_recording_it_once_more() -> None:
    log = Log()
    born = log.by("one", "event", name="birth")
    undone = log.by("one", "undone", id=born)
    (step,) = log.of().redo
    assert (step.kind, step.data, step.at_ms, step.taken_by) == (
        "event",
        {"name": "birth"},
        0,
        undone,
    )
    again = log.by("one", "event", name="birth")
    assert log.redo() == []
    assert log.next() == ("undo", again)


def test_several_steps_are_taken_back_and_brought_back_in_turn() -> None:
    log = Log()
    first, hold = log.did(), log.by("one", "hold")
    log.by("one", "undone", id=hold)
    removal = log.withdrew(first)
    assert [name for name, _ in log.redo()] == [hold, first]
    log.withdrew(removal)
    assert [name for name, _ in log.redo()] == [hold]
    log.by("one", "hold")
    assert log.redo() == []
    assert [step.kind for step in log.of().undo] == ["action", "hold"]


def test_anything_new_ends_what_could_be_brought_back() -> None:
    log = Log()
    log.withdrew(log.did())
    new = log.did()
    assert log.redo() == []
    assert log.next() == ("withdraw", new)


def test_the_end_of_a_pause_or_hold_is_taken_back_by_beginning_it_again() -> None:
    log = Log()
    log.by("one", "pause")
    log.by("one", "resume")
    assert (log.of().undo[-1].way, log.of().undo[-1].again) == ("begin again", "pause")
    log.by("one", "release")
    assert (log.of().undo[-1].way, log.of().undo[-1].again) == ("begin again", "hold")


def test_a_state_or_event_is_taken_back_within_a_minute() -> None:
    log = Log()
    log.did()
    log.by("one", "state", state="limp", cause="facilitator")
    assert log.of().undo[-1].until_ms == 61_000


def test_what_moved_the_session_on_for_good_is_not_taken_back() -> None:
    log = Log()
    log.did()
    skip = log.by("one", "skip", ms=60_000)
    assert log.next() == ("never", skip)


def test_what_the_program_wrote_is_nobodys_step() -> None:
    log = Log()
    log.by("program", "state", state="limp", cause="rule")
    assert steps_back(log.events) == {}
