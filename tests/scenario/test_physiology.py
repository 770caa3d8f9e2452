"""A file of physiology: named by the vocabulary, laid into the states as ordinary parts."""

from __future__ import annotations

from pathlib import Path
from shutil import copytree

import pytest

from simengine.problems import InputError
from simengine.scenario import check_file
from simengine.scenario.conditions import Doing
from simengine.scenario.loading import load_scenario
from simengine.scenario.model import Adjust, Course, Instead, Limit, Scenario, Shift, Word

VALID = Path(__file__).parents[1] / "scenarios" / "valid"
PHYSIOLOGY = """
format: 1
id: small
title: What care does, for tests
care:
  breaths:
    when: {doing: mask_ventilation, not: {settings: {peak_pressure: below 10 cmH2O}}}
    source: teaching choice
  drug: {when: {care: breaths, given: {adrenaline: 50 to 200 %}}, source: teaching choice}
rules:
  no_breaths:
    about: A baby who gets no breaths grows slow.
    adjust: {heart_rate: [{while: {not: {care: breaths}}, at_most: 60 /min}]}
    source: teaching choice
  oxygen:
    adjust: {spo2: [{per: 10 %, of: oxygen, above: 30 %, by: 2 %}, {while: {care: drug}, by: 5 %}]}
    source: teaching choice
complications:
  tube_out:
    begins: {on: tube_out, words: the tube comes out}
    states:
      out:
        title: The tube is out
        shows: {heart_rate: {to: 40 /min, within: 20 s}}
        next: [{to: back, when: {doing: mask_ventilation}, lasting: 5 s}, {to: worse, after: 60 s}]
      worse: {next: [{to: back, when: {care: breaths}}]}
    source: teaching choice
"""
SPO2 = "spo2: [{per"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with small files, the vocabulary naming a physiology."""
    made = tmp_path / "content"
    copytree(VALID, made)
    vocabulary = made / "vocabulary" / "small.yaml"
    vocabulary.write_text(vocabulary.read_text() + "physiology: small\n")
    (made / "physiology").mkdir(exist_ok=True)
    (made / "physiology" / "small.yaml").write_text(PHYSIOLOGY)
    return made


def loaded(folder: Path, *lines: str, name: str = "small-shifts") -> Scenario:
    file = folder / f"{name}.yaml"
    file.write_text(file.read_text() + "\n".join(lines) + "\n")
    return load_scenario(file)


def course(scenario: Scenario, observation: str, state: str = "limp") -> Course:
    shown = scenario.states[state].shows[observation]
    assert isinstance(shown, Course)
    return shown


def messages(folder: Path, name: str = "small-shifts") -> list[str]:
    return [problem.code for problem in check_file(folder / f"{name}.yaml")]


def test_a_rule_is_laid_into_each_course_of_what_it_shifts(folder: Path) -> None:
    heart = course(loaded(folder), "heart_rate")
    assert isinstance(heart.adjust[-1], Limit)
    assert heart.adjust[-1].high == 60.0


def test_a_course_that_follows_a_setting_in_its_own_way_keeps_that(folder: Path) -> None:
    adjusts = course(loaded(folder), "spo2").adjust
    in_proportion = [adjust for adjust in adjusts if isinstance(adjust, Adjust)]
    assert [adjust.by for adjust in in_proportion] == [1.0]
    assert isinstance(adjusts[-1], Shift)


def test_a_word_of_a_state_is_changed_unless_the_state_keeps_it(folder: Path) -> None:
    worded = f"breathing: [{{while: {{doing: compressions}}, reads: gasping}}], {SPO2}"
    (folder / "physiology" / "small.yaml").write_text(PHYSIOLOGY.replace(SPO2, worded))
    limp = loaded(folder).states["limp"].shows["breathing"]
    assert limp == Word("absent", (Instead(Doing("compressions"), "gasping"),))
    file = folder / "small-shifts.yaml"
    text = file.read_text()
    kept = text.replace("  limp:\n", "  limp:\n    keeps: [breathing]\n")
    assert kept != text
    file.write_text(kept)
    assert loaded(folder).states["limp"].shows["breathing"] == "absent"


def test_a_scenario_sets_a_rule_aside_with_a_reason(folder: Path) -> None:
    made = loaded(folder, "without: {no_breaths: This baby breathes by itself.}")
    assert not any(
        isinstance(adjust, Limit) and adjust.high == 60.0
        for adjust in course(made, "heart_rate").adjust
    )
    assert made.without == {"no_breaths": "This baby breathes by itself."}


def test_what_is_set_aside_changes_the_digest_and_the_reason_does_not(folder: Path) -> None:
    whole = load_scenario(folder / "small-shifts.yaml").digest
    first = loaded(folder, "without: {no_breaths: One reason.}").digest
    file = folder / "small-shifts.yaml"
    file.write_text(file.read_text().replace("One reason.", "Another reason."))
    assert load_scenario(file).digest == first != whole


def test_a_figure_of_a_rule_is_in_the_digest_and_its_words_are_not(folder: Path) -> None:
    file = folder / "physiology" / "small.yaml"
    first = load_scenario(folder / "small-shifts.yaml").digest
    file.write_text(PHYSIOLOGY.replace("grows slow", "slows down").replace("choice", "choices"))
    assert load_scenario(folder / "small-shifts.yaml").digest == first
    file.write_text(PHYSIOLOGY.replace("at_most: 60 /min", "at_most: 61 /min"))
    assert load_scenario(folder / "small-shifts.yaml").digest != first


def test_a_complication_leads_back_to_the_state_that_it_came_from(folder: Path) -> None:
    text = (folder / "small-shifts.yaml").read_text().replace("from: 90 /min, ", "")
    (folder / "small-shifts.yaml").write_text(text.replace("from: 60 %, ", ""))
    made = loaded(folder, "complications: {tube_out: limp}")
    assert list(made.states) == ["limp", "over", "limp-tube_out", "limp-tube_out-worse"]
    begins = made.states["limp"].next[-1]
    assert (begins.on, begins.to, begins.index) == ("tube_out", "limp-tube_out", 2)
    assert [way.to for way in made.states["limp-tube_out"].next] == ["limp", "limp-tube_out-worse"]
    assert [way.to for way in made.states["limp-tube_out-worse"].next] == ["limp"]
    # Rules hold there as anywhere.
    assert isinstance(course(made, "heart_rate", "limp-tube_out").adjust[-1], Limit)
    assert messages(folder) == []


def test_a_complication_is_on_only_where_a_scenario_turns_it_on(folder: Path) -> None:
    assert list(loaded(folder).states) == ["limp", "over"]


def test_a_state_that_begins_with_numbers_of_its_own_takes_no_complication(folder: Path) -> None:
    with pytest.raises(InputError, match="a state without 'from'"):
        loaded(folder, "complications: {tube_out: limp}")


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        (("source: teaching choice\n  drug", "\n  drug"), "missing-key"),
        (("{care: breaths, given", "{care: breath, given"), "unknown-name"),
        (("at_most: 60 /min", "at_most: 60 /min, by: 5 /min"), "by-or-limit"),
        (("{not: {care: breaths}}", "{done: listen}"), "not-in-any-state"),
        (("{not: {care: breaths}}", "{observed: {heart_rate: below 50 /min}}"), "circle"),
        (("{adrenaline: 50", "{listen: 50"), "no-dose"),
        (("to: back, when: {care", "to: nowhere, when: {care"), "unknown-name"),
        (("begins: {on: tube_out, ", "begins: {"), "never-due"),
        # a word where a number is shifted, a figure where a word stands, and no word of it
        (("at_most: 60 /min", "reads: absent"), "words-for-number"),
        ((SPO2, f"breathing: [{{while: {{doing: oximeter}}, by: 2 %}}], {SPO2}"), "needless-key"),
        (
            (SPO2, f"breathing: [{{while: {{doing: oximeter}}, reads: shut}}], {SPO2}"),
            "unknown-name",
        ),
    ],
)
def test_a_slip_is_told(folder: Path, wrong: tuple[str, str], code: str) -> None:
    assert PHYSIOLOGY.replace(*wrong) != PHYSIOLOGY
    (folder / "physiology" / "small.yaml").write_text(PHYSIOLOGY.replace(*wrong))
    assert code in messages(folder)


def test_a_physiology_that_is_not_there_is_told_with_the_nearest(folder: Path) -> None:
    vocabulary = folder / "vocabulary" / "small.yaml"
    vocabulary.write_text(vocabulary.read_text().replace("physiology: small", "physiology: smal"))
    with pytest.raises(InputError, match="did you mean 'small'"):
        load_scenario(folder / "small-shifts.yaml")


def test_the_marking_guide_asks_for_care_but_not_for_a_dose_like_this(folder: Path) -> None:
    file = folder / "small-shifts.yaml"
    item = "  - {keep: {care: CARE}, during: [limp], objective: watch, why: It leads.}\n"
    text = file.read_text().replace("scoring:", item + "scoring:")
    file.write_text(text.replace("CARE", "breaths"))
    assert messages(folder) == []
    file.write_text(text.replace("CARE", "drug"))
    assert messages(folder) == ["a-guard"]
