"""An instant reads the same in the debrief, in `replay` and on the console's pages."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

import simengine.desk
from simengine import open_session
from simengine.cli.main import main
from simengine.debrief.picture_in_words import picture_alt
from simengine.debrief.scene_builder import scene_of
from simengine.debrief.words import at, team_clock
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session.times import Times
from tests.need import need

STATIC = Path(simengine.desk.__file__).with_name("static")
LOG = scenarios_dir() / "sessions" / "term-not-breathing-first-try.session.jsonl"
RUN = """
import { clockText } from %s;
console.log(JSON.stringify(%s.map(clockText)));
"""


FIND = """
import { logTime } from %s;
console.log(JSON.stringify(%s.map(([turns, own]) => logTime(turns, own))));
"""


def test_a_time_typed_in_the_review_is_found_in_the_log_as_the_session_has_it() -> None:
    """Skipped at 60 s by 240 s, paused from 100 to 130 s, skipped in a pause at 150 s by 60 s."""
    times = Times()
    times.skip(60_000, 1, 240_000)
    times.pause(100_000, 2)
    times.resume(130_000, 3)
    times.pause(150_000, 4)
    times.skip(150_000, 5, 60_000)
    times.resume(170_000, 6)
    owns = [*range(0, 480_000, 7_000), 60_000, 299_999, 300_000, 340_000, 360_000, 420_000]
    turns = [(log, own, runs) for log, _, own, runs in times.turns]
    node = need("node", "nodejs")
    module = json.dumps(STATIC.joinpath("times.js").as_uri())
    script = FIND % (module, json.dumps([(turns, own) for own in owns]))
    done = subprocess.run(
        [node, "--input-type=module", "--eval", script], capture_output=True, check=True
    )
    answers = json.loads(done.stdout)
    assert [answer["at"] for answer in answers] == [times.log(own) for own in owns]
    skipped = [own for own, answer in zip(owns, answers, strict=True) if answer["skipped"]]
    assert skipped == [own for own in owns if 60_000 < own < 300_000 or 360_000 < own < 420_000]


def test_every_instant_of_a_session_reads_the_same_everywhere(
    capsys: pytest.CaptureFixture[str],
) -> None:
    session = open_session(LOG).session
    instants = [
        session.times.scenario(event.at_ms, event.seq)
        for event in session.effective
        if event.kind != "amend"
    ]
    clocks = [at(session, instant) for instant in sorted(instants)]
    assert any(text.startswith("−") for text in clocks)

    assert main(["replay", str(LOG)]) == 0
    replayed = [line[:8].strip() for line in capsys.readouterr().out.splitlines()]
    assert replayed == clocks

    node = need("node", "nodejs")
    module = json.dumps(STATIC.joinpath("times.js").as_uri())
    script = RUN % (module, [team_clock(session, instant) for instant in sorted(instants)])
    done = subprocess.run(
        [node, "--input-type=module", "--eval", script], capture_output=True, check=True
    )
    assert json.loads(done.stdout) == clocks

    starts = {at(session, done.start_ms) for done in session.record.performances}
    alt = picture_alt(scene_of(session, score(session, redraws=0)))
    assert [start for start in starts if start not in alt] == []
