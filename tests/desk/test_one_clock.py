"""An instant reads the same in the debrief, in `replay` and on the console's pages."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

import simengine.desk
from simengine import open_session
from simengine.cli.main import main
from simengine.debrief.alternative import picture_alt
from simengine.debrief.sighting import scene_of
from simengine.debrief.words import at, team_clock
from simengine.resources import scenarios_dir
from simengine.scoring import score
from tests.need import need

STATIC = Path(simengine.desk.__file__).with_name("static")
LOG = scenarios_dir() / "sessions" / "term-not-breathing-first-try.session.jsonl"
RUN = """
import { clockText } from %s;
console.log(JSON.stringify(%s.map(clockText)));
"""


def test_every_instant_of_a_session_reads_the_same_everywhere(
    capsys: pytest.CaptureFixture[str],
) -> None:
    session = open_session(LOG).session
    instants = [
        session.times.scenario(event.at_ms, event.seq)
        for event in session.effective
        if event.kind != "amend"
    ]
    told = [at(session, instant) for instant in sorted(instants)]
    assert any(text.startswith("−") for text in told)

    assert main(["replay", str(LOG)]) == 0
    replayed = [line[:8].strip() for line in capsys.readouterr().out.splitlines()]
    assert replayed == told

    node = need("node", "nodejs")
    module = json.dumps(STATIC.joinpath("times.js").as_uri())
    script = RUN % (module, [team_clock(session, instant) for instant in sorted(instants)])
    done = subprocess.run(
        [node, "--input-type=module", "--eval", script], capture_output=True, check=True
    )
    assert json.loads(done.stdout) == told

    starts = {at(session, done.start_ms) for done in session.record.performances}
    alt = picture_alt(scene_of(session, score(session, redraws=0)))
    assert [start for start in starts if start not in alt] == []
