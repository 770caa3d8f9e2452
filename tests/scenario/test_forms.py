"""Sentences name actions, settings and observations in words of their own."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.quantities.formatting import capitalised, in_a_sentence
from simengine.scenario import load_vocabulary
from tests.content.what_is_shipped import vocabulary

SMALL = Path(__file__).parents[1] / "scenarios" / "valid" / "vocabulary" / "small.yaml"


@pytest.mark.parametrize("form", ["do", "did", "doing", "noun"])
def test_each_shipped_action_has_words_of_its_own_for_each_form(form: str) -> None:
    for action in vocabulary().actions.values():
        words = getattr(action, form)
        assert words == in_a_sentence(words), action.name
        assert "“" not in words, action.name


def test_a_verb_follows_its_form() -> None:
    for action in vocabulary().actions.values():
        assert action.doing.split()[0].endswith("ing"), action.name
        assert not action.do.split()[0].endswith("ing"), action.name


def test_settings_and_observations_have_a_name_within_a_sentence() -> None:
    words = vocabulary()
    assert words.observations["heart_rate"].noun == "the heart rate"
    assert words.settings["peak_pressure"].noun == "PIP"


def test_each_word_of_a_shipped_observation_says_what_was_so() -> None:
    words = vocabulary()
    assert words.observations["chest"].was == {
        "none": "the chest did not move",
        "good": "the chest rose",
    }
    for observation in words.observations.values():
        assert observation.was.keys() == set(observation.words)


def test_without_words_of_its_own_an_observation_was_its_word() -> None:
    assert load_vocabulary(SMALL).observations["breathing"].was["absent"] == "breathing was absent"


def test_a_vocabulary_without_forms_names_an_action_by_its_label() -> None:
    call = load_vocabulary(SMALL).actions["call_help"]
    assert (call.do, call.did, call.doing, call.noun) == (
        "do “Help called”",
        "did “Help called”",
        "doing “Help called”",
        "help called",
    )


@pytest.mark.parametrize(
    ("label", "within"),
    [
        ("Drying the baby", "drying the baby"),
        ("SpO2", "SpO2"),
        ("ECG", "ECG"),
        ("A leak", "a leak"),
    ],
)
def test_a_label_within_a_sentence_loses_a_capital_that_only_opens_it(
    label: str, within: str
) -> None:
    assert in_a_sentence(label) == within
    assert capitalised(within)[:1] == label[:1]
