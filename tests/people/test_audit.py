"""An audit sees every link, those that are missing too, and what none of it proves."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from simengine.people.audit import DOES_NOT_PROVE, Chain, Link, chain
from simengine.people.outcomes import outcomes_in
from simengine.people.pilots import PilotSeen, pilot_of, record_of, write_record
from simengine.scenario.key import Standard
from simengine.scenario.model import Scenario
from simengine.scenario.protocol import SignedBy
from tests import shipped
from tests.people.life import SCORE, Log

OBSERVERS = Link("Observers", "there", ("Kappa 0.8.",))


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return shipped.scenario("cot-term")


def log_of(scenario: Scenario) -> Log:
    log = Log(scenario=scenario.id)
    opened = log.events[0].data
    opened["scenario"]["digest"] = scenario.digest
    opened["protocol"]["digest"] = scenario.protocol.digest
    return log


def told(log: Log, scenario: Scenario | None, pilot: PilotSeen | None = None) -> Chain:
    return chain(
        "k1ab", outcomes_in(log.events), last_hash="f" * 64, recorders=["p-desk"],
        scenario=scenario, pilot=pilot, observers=OBSERVERS,
    )  # fmt: skip


def states(found: Chain) -> dict[str, str]:
    return {link.title: link.state for link in found.links}


def test_the_chain_goes_from_guideline_to_signature_with_nothing_left_out(
    scenario: Scenario,
) -> None:
    log = log_of(scenario)
    log.signed(score=SCORE)
    audited = told(log, scenario)
    assert list(states(audited)) == [
        "Guideline", "Protocol file", "Scenario", "Standard", "Pilot", "Observers", "Record",
        "Signatures",
    ]  # fmt: skip
    assert audited.outcome == "achieved"
    assert audited.roles == ("leader",)
    words = " ".join(word for link in audited.links for word in link.words)
    for proof in (
        scenario.protocol.edition, scenario.digest, scenario.protocol.digest, "R. Holm",
        "f" * 64, "86 %",
    ):  # fmt: skip
        assert proof in words


def test_a_link_that_lacks_something_says_so_and_is_not_called_there(scenario: Scenario) -> None:
    log = log_of(scenario)
    log.signed()
    bare = replace(scenario, scoring=replace(scenario.scoring, standard=None, pass_mark=None))
    audited = told(log, bare)
    assert states(audited)["Standard"] == "missing"
    assert states(audited)["Pilot"] == "missing"
    assert states(audited)["Signatures"] == "partly"  # no countersignature, and no total kept
    assert states(audited)["Protocol file"] == "partly"  # unsigned
    assert "Unsigned" in " ".join(audited.links[1].words)


def test_a_standard_that_nobody_has_set_is_missing(scenario: Scenario) -> None:
    assert scenario.scoring.standard is not None
    log = log_of(scenario)
    log.signed()
    audited = told(log, scenario)
    assert states(audited)["Standard"] == "missing"
    assert "invented for demonstration" in " ".join(audited.links[3].words)


def test_a_whole_chain_is_there_from_end_to_end(scenario: Scenario) -> None:
    standard = Standard("Angoff", "6 judges", "2026-01-15", 0.0176)
    protocol = replace(
        scenario.protocol, signed_by=SignedBy("Dr A", "2026-01-01"), superseded_by=None
    )
    whole = replace(
        scenario,
        protocol=protocol,
        scoring=replace(scenario.scoring, standard=standard, pass_mark=0.733),
    )
    log = log_of(scenario)
    log.signed(score=SCORE)
    log.signed("T. Osei")
    pilot = PilotSeen("pilot-cot-term.html", scenario.digest)
    audited = told(log, whole, pilot)
    assert set(states(audited).values()) == {"there"}
    assert "Standard error 1.8 percentage points." in audited.links[3].words
    assert "Both signatures came from the same device or account." in audited.links[7].words


def test_a_scenario_of_another_version_is_not_taken_for_the_one_that_was_run(
    scenario: Scenario,
) -> None:
    log = log_of(scenario)
    log.signed()
    audited = told(log, replace(scenario, digest="b" * 64))
    assert states(audited)["Scenario"] == "partly"
    assert states(audited)["Guideline"] == "missing"
    assert scenario.digest in " ".join(audited.links[2].words)


def test_a_record_that_was_corrected_after_the_signature_is_told(scenario: Scenario) -> None:
    log = log_of(scenario)
    log.signed(score=SCORE)
    log.add("amend", id="id1", fields={"at_ms": 3})
    assert states(told(log, scenario))["Record"] == "partly"


def test_a_pilot_counts_for_the_version_whose_digest_it_names(
    scenario: Scenario, tmp_path: Path
) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    for folder, digest in ((old, "a" * 64), (new, "b" * 64)):
        folder.mkdir()
        played = replace(scenario, id="x", digest=digest)
        write_record(folder / "pilot-x.html", record_of(played, runs=5, seed=1))
    pilot_seen = pilot_of("x", "b" * 64, [old, new])
    assert pilot_seen is not None
    assert pilot_seen.page == str(new / "pilot-x.html")
    other = pilot_of("x", "c" * 64, [old, new])
    assert other is not None
    assert other.digest == "a" * 64
    (tmp_path / "pilot-z.json").write_text("not a record", encoding="utf-8")
    assert pilot_of("z", "c" * 64, [tmp_path]) is None
    assert pilot_of("y", "c" * 64, [old, new, tmp_path / "none"]) is None


def test_what_it_does_not_prove_names_real_babies_other_scenarios_and_the_guideline() -> None:
    words = " ".join(DOES_NOT_PROVE)
    for told_of in ("real baby", "another scenario", "team's", "skill lasts", "guideline"):
        assert told_of in words
