"""What was called not as it should be, and whether it was so: told once a try has ended.

Rules of this file:

- A call is known by its note; whether it was right is asked of what was planted there at that time.
- A part that was called several times is told each time.
"""

from __future__ import annotations

from simengine.quantities.formatting import capitalised
from simengine.rehearsal.cot import Bench, called_words, parts_of, row_of
from simengine.rehearsal.rehearsal_sentences import say
from simengine.session.fold import Fold


def calls_answered(fold: Fold, bench: Bench) -> tuple[str, ...]:
    """Return a sentence for each call, in order."""
    parts = {called_words(part.label): part for part in parts_of(bench)}
    sentences = []
    for event in fold.events:
        part = parts.get(str(event.data.get("text", ""))) if event.kind == "note" else None
        if part is None:
            continue
        at = fold.times.scenario(event.at_ms, event.seq)
        wrong = [
            capitalised(fault.shows)
            for fault in bench.scenario.start.faults.values()
            if row_of(bench, fault) == part.name and _was_there(fold, fault.name, at)
        ]
        sentences += [say("call_right", label=part.label, shows=shows) for shows in wrong]
        if not wrong:
            sentences.append(say("call_wrong", label=part.label))
    return tuple(sentences)


def _was_there(fold: Fold, fault: str, at_ms: int) -> bool:
    """Whether a fault was planted and not yet put right. A call comes before what follows it."""
    steps = fold.account.fault_steps.get(fault, ())
    before = [status for at, status in steps if at <= at_ms and (at < at_ms or status != "mended")]
    return bool(before) and before[-1] != "mended"
