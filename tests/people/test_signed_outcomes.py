"""What becomes of a signed outcome, and of whom it proves something."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.people.outcomes import KINDS, outcomes_in
from simengine.people.played_roles import played_roles
from simengine.resources import scenarios_dir
from simengine.scenario import find_scenario, load_scenario, scenario_ids
from simengine.session.events import Kind
from tests.people.life import Log


def proven(log: Log) -> set[str]:
    return {proof.code for proof in outcomes_in(log.events).evidence()}


def test_a_signed_outcome_proves_something_of_everybody_who_held_a_role() -> None:
    log = Log()
    log.add("joined", person="k3ef", role="airway")
    assert proven(log) == set()
    log.signed()
    outcomes = outcomes_in(log.events)
    assert proven(log) == {"k1ab", "k2cd", "k3ef"}
    (proof,) = [other for other in outcomes.evidence() if other.code == "k3ef"]
    assert (proof.session, proof.scenario, proof.roles) == ("s1", "term", ("airway",))
    assert proof.day.isoformat() == "2026-03-02"


@pytest.mark.parametrize("purpose", ["formative", "rehearsal"])
def test_a_formative_session_and_a_rehearsal_never_prove_anything(purpose: str) -> None:
    log = Log(purpose)
    log.signed()
    assert proven(log) == set()
    assert "is never evidence" in outcomes_in(log.events).why_not_counted("k1ab")


@pytest.mark.parametrize(
    ("log", "why"),
    [
        (Log(confirmed=False), "the record is not confirmed"),
        (Log(closed="stopped early"), "the session was not finished"),
        (Log(closed="safety stop"), "the session was not finished"),
    ],
)
def test_an_unconfirmed_or_unfinished_session_proves_nothing(log: Log, why: str) -> None:
    log.signed()
    assert proven(log) == set()
    assert outcomes_in(log.events).why_not_counted("k1ab") == why


def test_a_confirmation_that_was_taken_back_confirms_nothing() -> None:
    log = Log()
    log.signed()
    confirmed = next(event for event in log.events if event.kind == "confirmed")
    log.add("amend", id=confirmed.id, withdrawn=True)
    assert proven(log) == set()


def test_whoever_only_played_the_parent_was_not_assessed() -> None:
    log = Log(team={"leader": ["k1ab"], "parent": ["k2cd"]})
    log.add("joined", person="k1ab", role="parent")
    log.signed()
    (proof,) = outcomes_in(log.events).evidence()
    assert (proof.code, proof.roles) == ("k1ab", ("leader",))
    assert "played for the team" in outcomes_in(log.events).why_not_counted("k2cd")


def test_a_role_that_is_played_is_one_of_the_scenarios() -> None:
    folders = (scenarios_dir(),)
    known = [find_scenario(name, folders) for name in scenario_ids(folders)]
    roles = {role for file in known if file is not None for role in load_scenario(file).roles}
    assert played_roles() <= roles


def test_what_is_not_yet_achieved_is_no_evidence_but_counts_for_a_statement() -> None:
    log = Log()
    log.signed(outcome="not yet achieved")
    outcomes = outcomes_in(log.events)
    assert outcomes.evidence() == ()
    assert outcomes.why_not_counted("k1ab") == ""


def test_somebody_else_countersigns_and_the_same_person_never_does() -> None:
    log = Log()
    log.signed("R. Holm")
    log.signed(" r.  HOLM ")
    log.signed("T. Osei")
    outcomes = outcomes_in(log.events)
    (decision,) = outcomes.decisions
    assert [signature.name for signature in decision.countersigned] == ["T. Osei"]
    assert len(outcomes.notes) == 1
    assert "had signed already" in outcomes.notes[0]


def test_two_who_disagree_leave_nothing_standing_until_one_is_superseded() -> None:
    log = Log()
    log.signed("R. Holm")
    log.signed("T. Osei", "not yet achieved")
    assert outcomes_in(log.events).decisions[0].standing("k1ab") == "disputed"
    assert proven(log) == set()
    log.add("superseded", by="looked at again together")
    log.signed("T. Osei")
    assert proven(log) == {"k1ab", "k2cd"}
    first, second = outcomes_in(log.events).decisions
    assert first.standing(None) == "superseded"
    assert second.standing(None) == "stands"


def test_an_appeal_suspends_until_somebody_else_has_signed() -> None:
    log = Log()
    log.signed("R. Holm")
    log.add("appealed", text="The time of birth was noted late.")
    assert outcomes_in(log.events).decisions[0].standing("k1ab") == "under appeal"
    assert proven(log) == set()
    log.signed("R. Holm")
    assert proven(log) == set()
    answer = log.signed("T. Osei")
    (decision,) = outcomes_in(log.events).decisions
    assert decision.standing("k1ab") == "stands"
    assert decision.appeals[0].answered == answer.id
    assert proven(log) == {"k1ab", "k2cd"}


def test_an_appeal_that_is_upheld_supersedes_and_both_outcomes_stay_to_be_read() -> None:
    log = Log()
    log.signed("R. Holm", "not yet achieved")
    log.add("appealed", text="The mask was changed at once.")
    answer = log.signed("T. Osei", "achieved")
    outcomes = outcomes_in(log.events)
    assert [decision.outcome for decision in outcomes.decisions] == ["not yet achieved", "achieved"]
    assert outcomes.decisions[0].standing(None) == "superseded"
    assert outcomes.decisions[0].superseded[0].by == answer.id
    assert proven(log) == {"k1ab", "k2cd"}


def test_one_persons_appeal_leaves_the_others_outcome_alone() -> None:
    log = Log()
    log.signed("R. Holm")
    log.add("appealed", text="I was called away.", person="k2cd")
    assert proven(log) == {"k1ab"}
    log.signed("T. Osei")  # countersigns the team's, and answers nobody's own appeal
    assert proven(log) == {"k1ab"}
    log.signed("R. Holm", person="k2cd")  # signed the team's, so can't answer
    assert proven(log) == {"k1ab"}
    log.signed("U. Brandt", person="k2cd")
    assert proven(log) == {"k1ab", "k2cd"}


def test_an_answer_to_one_person_leaves_an_appeal_of_all_waiting_for_the_others() -> None:
    log = Log()
    log.signed("R. Holm")
    log.add("appealed", text="Please look at all of it.")
    log.signed("T. Osei", person="k2cd")
    assert proven(log) == {"k2cd"}


def test_a_persons_own_outcome_goes_before_the_teams() -> None:
    log = Log()
    log.signed("R. Holm")
    log.signed("R. Holm", "not yet achieved", person="k2cd")
    assert proven(log) == {"k1ab"}
    log.add("superseded", by="s2", person="k2cd")
    assert proven(log) == {"k1ab", "k2cd"}  # the team's holds again for this person


def test_superseded_for_one_person_is_not_superseded_for_the_others() -> None:
    log = Log()
    log.signed("R. Holm")
    log.add("superseded", by="s2", person="k2cd")
    outcomes = outcomes_in(log.events)
    assert proven(log) == {"k1ab"}
    assert outcomes.why_not_counted("k2cd") == "the outcome is superseded"


def test_superseding_does_not_shake_off_an_appeal() -> None:
    log = Log()
    log.signed("R. Holm")
    log.add("appealed", text="The clock was wrong.")
    log.add("superseded", by="signed anew")
    log.signed("R. Holm")
    assert proven(log) == set()
    log.signed("T. Osei")
    assert proven(log) == {"k1ab", "k2cd"}


def test_a_remark_at_an_item_stands_beside_and_suspends_nothing() -> None:
    log = Log()
    log.signed()
    log.add("appealed", text="I see this differently.", item="dry")
    outcomes = outcomes_in(log.events)
    assert outcomes.remarks == (("dry", "I see this differently."),)
    assert proven(log) == {"k1ab", "k2cd"}


def test_a_signature_is_never_corrected_in_place() -> None:
    log = Log()
    signed = log.signed("R. Holm", "not yet achieved")
    log.add("amend", id=signed.id, fields={"outcome": "achieved"})
    log.add("amend", id=signed.id, withdrawn=True)
    outcomes = outcomes_in(log.events)
    assert [decision.outcome for decision in outcomes.decisions] == ["not yet achieved"]
    assert len(outcomes.notes) == 2
    assert not outcomes.decisions[0].corrected_since


def test_a_role_that_was_corrected_away_proves_nothing() -> None:
    log = Log()
    joined = log.add("joined", person="k3ef", role="airway")
    log.signed()
    log.add("amend", id=joined.id, withdrawn=True)
    assert proven(log) == {"k1ab", "k2cd"}
    assert outcomes_in(log.events).decisions[0].corrected_since


@pytest.mark.parametrize("kind", ["superseded", "appealed"])
def test_what_is_said_of_no_outcome_is_noted_and_nothing_else(kind: Kind) -> None:
    log = Log()
    log.add(kind, by="x", text="x")
    outcomes = outcomes_in(log.events)
    assert outcomes.decisions == ()
    assert len(outcomes.notes) == 1


def test_other_events_make_no_difference() -> None:
    log = Log()
    log.add("note", text="x")
    log.signed()
    assert "note" not in KINDS
    outcomes = outcomes_in(log.events)
    assert outcomes == outcomes_in([event for event in log.events if event.kind in KINDS])


NAMES = st.sampled_from(["R. Holm", "T. Osei", "U. Brandt"])
PERSONS = st.sampled_from([None, "k1ab", "k2cd"])
SAID = st.one_of(
    st.tuples(st.just("signed"), NAMES, st.sampled_from(["achieved", "not yet achieved"]), PERSONS),
    st.tuples(st.just("appealed"), st.just(""), st.just("Look again."), PERSONS),
    st.tuples(st.just("superseded"), st.just(""), st.just("s2"), PERSONS),
)


@given(st.lists(SAID, max_size=9))
def test_whatever_is_said_nobody_signs_twice_and_an_open_appeal_proves_nothing(
    said: list[tuple[str, str, str, str | None]],
) -> None:
    log = Log()
    for kind, name, words, person in said:
        whose = {} if person is None else {"person": person}
        if kind == "signed":
            log.signed(name, words, **whose)
        elif kind == "appealed":
            log.add("appealed", text=words, **whose)
        else:
            log.add("superseded", by=words, **whose)
    outcomes = outcomes_in(log.events)
    signed = [event for event in log.events if event.kind == "signed"]
    kept = [signature.event for decision in outcomes.decisions for signature in decision.signers]
    assert len(kept) == len(set(kept)) <= len(signed)
    for decision in outcomes.decisions:
        assert len({signer.name for signer in decision.signers}) == len(decision.signers)
        for appeal in decision.appeals:
            if appeal.answered is not None:
                answer = next(event for event in signed if event.id == appeal.answered)
                assert answer.data["name"] != decision.signature.name
    for proof in outcomes.evidence():
        held = outcomes.of(proof.code)
        assert held is not None
        assert held.standing(proof.code) == "stands"
        assert held.outcome == "achieved"
        assert not held.open_appeals(proof.code)
    # what was decided once stays to be read: adding never takes a decision away
    assert len(outcomes_in(log.events[:-1]).decisions) <= len(outcomes.decisions)


@pytest.mark.parametrize(
    ("log", "standard"),
    [
        (Log("formative"), True),
        (Log("rehearsal"), True),
        (Log(closed="stopped early"), True),
        (Log(closed="safety stop"), True),
        (Log(), False),
        (Log(), None),
    ],
)
def test_a_signature_where_there_is_no_outcome_is_noted_and_decides_nothing(
    log: Log, standard: bool | None
) -> None:
    log.signed(score=None)
    outcomes = outcomes_in(log.events, standard=standard)
    assert outcomes.decisions == ()
    assert outcomes.evidence() == ()
    (note,) = outcomes.notes
    assert "counts for nothing" in note


def test_where_the_standard_is_not_known_a_signature_counts_with_what_was_proposed() -> None:
    log = Log()
    log.signed()
    assert outcomes_in(log.events, standard=None).decisions[0].outcome == "achieved"
