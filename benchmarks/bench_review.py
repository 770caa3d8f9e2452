"""Measure a correction in the review: from the amendment to the new score, beside the score alone.

An ended session stands in a console's store; a correction of one entry's time is posted, and the
review asked for, as its page does. In the same run, in turns: the same session scored in this
process by the same call, with its interval, and nothing read or kept. The console also keeps what
the score came to, once more scored in the background; the processor's time counts that, too. Run
as ``python -m benchmarks.bench_review``.
"""

from __future__ import annotations

import asyncio
import json
import statistics
import tempfile
import time
import uuid
from pathlib import Path

from benchmarks.console import Target, console, end
from benchmarks.many_sessions import processor_s
from simengine.desk.session_plan import SessionPlan, new_codes
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session.from_file import open_session
from simengine.session.record import Session
from simengine.store import Store

LOGS = ("term-not-breathing-steady", "preterm-25-weeks-steady")
CORRECTIONS = 12
MOVED_MS = 1_000
BACKGROUND_S = 2.0


def keep(folder: Path, session: Session) -> None:
    """Keep a session as if it had been run on the console of this folder."""
    scenario = session.scenario
    display, recorder = new_codes()
    plan = SessionPlan(
        session=session.session_id,
        scenario=scenario.id,
        title=scenario.title,
        digest=scenario.digest,
        protocol="",
        protocol_digest=scenario.protocol.digest,
        gestation="",
        weight="",
        purpose="formative",
        real_cot=False,
        team={},
        display=display,
        recorder=recorder,
    )
    with Store.open(folder) as store:
        store.add_log(session.events, plan=plan.as_json())


async def corrected(target: Target, session: str, entry: str, at_ms: int) -> float:
    """Correct an entry's time; return the seconds until the review has it with its score."""
    change = {"id": entry, "fields": {"at_ms": at_ms}}
    amend = {"id": str(uuid.uuid4()), "kind": "amend", "at_ms": 0, "data": change}
    body = json.dumps({"events": [amend]}).encode()
    began = time.perf_counter()
    _, answer = await target.device.ask("POST", f"/s/{session}/events", body, target.headers)
    assert not json.loads(answer)["refused"], answer
    _, page = await target.device.ask("GET", f"/s/{session}/review.json")
    took = time.perf_counter() - began
    review = json.loads(page)
    (shown,) = [listed for listed in review["entries"] if listed["id"] == entry]
    assert shown["log_ms"] == at_ms, shown
    assert review["total"], review
    return took


def scored(session: Session) -> tuple[float, float]:
    """Score a session; return the seconds by the clock and of the processor."""
    began, spent = time.perf_counter(), time.process_time()
    score(session)
    return time.perf_counter() - began, time.process_time() - spent


async def measure(log: str, folder: Path) -> None:
    """Print both for one session, and their ratios."""
    session = open_session(scenarios_dir() / "sessions" / f"{log}.session.jsonl").session
    keep(folder, session)
    entry = next(event for event in session.events if event.kind == "action")
    target = await console(folder)
    waits, alone, spent, spent_alone = [], [], [], []
    try:
        for number in range(1 + CORRECTIONS):
            before = processor_s(target)
            at_ms = entry.at_ms + MOVED_MS * (1 + number % 2)
            took = await corrected(target, session.session_id, entry.id, at_ms)
            await asyncio.sleep(BACKGROUND_S)  # until what is kept of the score is kept
            used = processor_s(target) - before
            bare, bare_spent = scored(session)
            if number:  # the first reads what the others find read
                waits.append(took)
                spent.append(used)
                alone.append(bare)
                spent_alone.append(bare_spent)
    finally:
        end(target)
    print(f"{log}: {len(session.events)} entries, {CORRECTIONS} corrections, in turns")
    print(f"{'ms':40}{'p50':>10}{'CPU, least':>14}")
    for name, times, cpu in (
        ("scored with its interval, nothing else", alone, spent_alone),
        ("correction to new score in the review", waits, spent),
    ):
        print(f"{name:40}{1000 * statistics.median(times):10.0f}{1000 * min(cpu):14.0f}")
    waited = statistics.median(waits) / statistics.median(alone)
    print(
        f"p50 {waited:.1f} times, processor time {min(spent) / min(spent_alone):.1f} times the "
        "score alone"
    )


if __name__ == "__main__":
    for name in LOGS:
        with tempfile.TemporaryDirectory() as made:
            asyncio.run(measure(name, Path(made)))
