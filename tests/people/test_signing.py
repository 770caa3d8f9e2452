"""What may be signed, and what is refused with words."""

from __future__ import annotations

from functools import partial
from typing import Any

import pytest

from simengine.people.decisions import SignedScore
from simengine.people.outcomes import outcomes_in
from simengine.people.rescored import beside
from simengine.people.signing import appealing, remarking, signing, superseding
from simengine.schemas import complaints
from simengine.session.chain import as_json, chained
from simengine.session.live import RefusedError
from tests.people.life import DIGEST, SCORE, Log

KEPT = SignedScore(**SCORE)  # type: ignore[arg-type]


def sign(log: Log, **said: Any) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "name": "R. Holm", "credentials": "consultant", "outcome": "achieved", "score": KEPT,
    } | said  # fmt: skip
    return signing(outcomes_in(log.events), **fields)


def refusal(log: Log, **said: Any) -> str:
    with pytest.raises(RefusedError) as error:
        sign(log, **said)
    return error.value.code


def test_what_may_be_signed_goes_into_the_log_with_the_score_of_that_day() -> None:
    log = Log()
    data = sign(log)
    assert data["score"] == SCORE
    assert outcomes_in([*log.events, log.add("signed", **data)]).decisions[0].outcome == "achieved"
    mine = sign(log, name="T. Osei", person="k2cd", outcome="not yet achieved")
    assert mine["person"] == "k2cd"


def test_what_is_written_passes_the_logs_schema() -> None:
    log = Log(session="0b8e5a56-51c2-4f1e-9d0f-000000000001")
    events = [
        ("signed", sign(log)),
        ("signed", sign(log, person="k2cd")),
    ]
    log.add("signed", **events[0][1])
    outcomes = outcomes_in(log.events)
    events += [
        ("appealed", appealing(outcomes, text="Look again.", person="k2cd")),
        ("appealed", remarking(item="dry", text="I see this differently.")),
        ("superseded", superseding(outcomes, by="s2", person="k2cd")),
    ]
    for kind, data in events:
        log.add(kind, **data)  # type: ignore[arg-type]
    for number, event in enumerate(chained(log.events)):
        raw = as_json(event) | {"id": f"0b8e5a56-51c2-4f1e-9d0f-{number:012d}"}
        assert [complaint.expected for complaint in complaints("session", raw)] == []


@pytest.mark.parametrize(
    ("log", "said", "code"),
    [
        (Log("formative"), {}, "no-outcome"),
        (Log("rehearsal"), {}, "no-outcome"),
        (Log(closed="stopped early"), {}, "no-outcome"),
        (Log(confirmed=False), {}, "not-confirmed"),
        (Log(), {"score": None}, "no-standard"),
        (Log(), {"name": "  "}, "no-name"),
        (Log(), {"credentials": ""}, "no-name"),
        (Log(), {"outcome": "fine"}, "unknown-outcome"),
        (Log(), {"person": "nobody"}, "not-in-team"),
        (Log(), {"learners": ["Anna Berg", "r. holm"]}, "own-outcome"),
    ],
)
def test_what_may_not_be_signed_is_refused(log: Log, said: dict[str, Any], code: str) -> None:
    assert refusal(log, **said) == code


def test_nobody_countersigns_their_own_signature_or_overrules_one_that_stands() -> None:
    log = Log()
    log.signed("R. Holm")
    assert refusal(log) == "signed-already"
    assert refusal(log, name="T. Osei", outcome="not yet achieved") == "signed-otherwise"
    assert sign(log, name="T. Osei")["name"] == "T. Osei"
    log.add("appealed", text="Look again.")
    assert refusal(log) == "signed-already"
    assert sign(log, name="T. Osei", outcome="not yet achieved")["outcome"] == "not yet achieved"
    log.add("superseded", by="s2")
    assert sign(log)["name"] == "R. Holm"


def test_only_what_was_signed_and_stands_is_appealed_or_superseded() -> None:
    log = Log()
    for nothing in (
        partial(appealing, outcomes_in(log.events), text="Look again."),
        partial(superseding, outcomes_in(log.events), by="s2"),
    ):
        with pytest.raises(RefusedError) as error:
            nothing()
        assert error.value.code == "nothing-signed"
    log.signed()
    for empty in (
        partial(appealing, outcomes_in(log.events), text=" "),
        partial(superseding, outcomes_in(log.events), by=""),
        partial(remarking, item="dry", text=""),
    ):
        with pytest.raises(RefusedError) as error:
            empty()
        assert error.value.code == "no-words"


def test_todays_score_stands_beside_the_signed_one_and_alters_nothing() -> None:
    log = Log()
    log.signed(score=SCORE)
    before = outcomes_in(log.events)
    today = SignedScore(0.71, "not yet achieved", "b" * 64, DIGEST, "1.1")
    comparison = beside(before.decisions[0], today)
    assert comparison.signed_outcome == "achieved"
    assert comparison.signed == KEPT
    assert comparison.differs == (
        "the scenario", "the program (1.0, today 1.1)", "the total", "the outcome proposed",
    )  # fmt: skip
    assert comparison.words == (
        "Signed “achieved” on 2026-03-02 at 86 % under scenario digest aaaaaaaaaaaa. Today's "
        "score: 71 %, which proposes “not yet achieved”. What differs: the scenario, the program "
        "(1.0, today 1.1), the total, the outcome proposed."
    )
    assert outcomes_in(log.events) == before
    assert before.decisions[0].outcome == "achieved"


def test_a_signature_without_its_score_says_so_and_a_later_correction_is_told() -> None:
    log = Log()
    log.signed(score=None)
    (decision,) = outcomes_in(log.events).decisions
    assert "was not kept with the signature" in beside(decision, KEPT).words
    log.events[-1].data["score"] = SCORE  # type: ignore[index]
    log.add("amend", id="id1", fields={"at_ms": 5})
    comparison = beside(outcomes_in(log.events).decisions[0], KEPT)
    assert comparison.differs == ("the record was corrected after it was signed",)
