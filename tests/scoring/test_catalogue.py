"""The table of sentences: every key that the code names has a sentence, and each is used."""

from __future__ import annotations

import ast
from pathlib import Path
from string import Formatter

import simengine.scoring
from simengine.scoring import score
from simengine.scoring.catalogue import say
from tests.scoring.case import session

CODE = sorted(Path(simengine.scoring.__file__).parent.rglob("*.py"))


def _words() -> set[str]:
    """Every string in the code of scoring."""
    return {
        node.value
        for path in CODE
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def _said() -> set[str]:
    """The keys that ``say`` is called with outright."""
    return {
        node.args[0].value
        for path in CODE
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call)
        and getattr(node.func, "attr", getattr(node.func, "id", "")) == "say"
        and node.args
        and isinstance(node.args[0], ast.Constant)
        and isinstance(node.args[0].value, str)
    }


def test_every_key_that_is_said_has_a_sentence() -> None:
    assert _said() - say.sentences.keys() == set()


def test_every_sentence_is_used() -> None:
    assert say.sentences.keys() - _words() == set()


def test_every_place_of_a_sentence_has_a_name() -> None:
    for key, sentence in say.sentences.items():
        for _, name, _, _ in Formatter().parse(sentence):
            assert name is None or name.isidentifier(), key


def test_a_sentence_is_filled_by_name() -> None:
    assert say("at_for", when="0:20", span="3 s") == "0:20 for 3 s"


def test_without_words_a_card_has_the_same_figures_and_no_sentence() -> None:
    key = "- {expect: pump, from: birth, ideal: 60 s, settings: {pressure: 30 cmH2O}}\n"
    ran = session(
        key + "- {avoid: swap}\n- {keep: {doing: pump}}",
        "0 birth\n20 start pump pressure=36\n40 done swap\n400 closed finished",
    )
    worded, bare = score(ran, redraws=20), score(ran, redraws=20, words=False)
    assert worded.total == bare.total
    assert worded.interval == bare.interval
    for marked, other in zip(worded.items, bare.items, strict=True):
        assert (marked.credit, marked.verdict, marked.flip) == (
            other.credit,
            other.verdict,
            other.flip,
        )
        assert marked.sentence
        assert not other.sentence
        events = [(proof.event_id, proof.at_ms) for proof in marked.evidence]
        assert events == [(proof.event_id, proof.at_ms) for proof in other.evidence]
