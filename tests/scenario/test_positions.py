"""YAML is read with positions, strictly, and the same with libyaml and without."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from simengine.resources import scenarios_dir
from simengine.scenario import positions
from simengine.scenario.positions import (
    Document,
    Mapping,
    Node,
    Scalar,
    Sequence,
    as_written,
    parse_yaml,
    typed,
)

SCENARIOS = Path(__file__).parents[1] / "scenarios"
FILES = [*sorted(SCENARIOS.rglob("*.yaml")), *sorted(scenarios_dir().rglob("*.yaml"))]


def read(text: str) -> Document:
    return parse_yaml(text.encode(), "file.yaml")


def root(text: str) -> Node:
    document = read(text)
    assert document.problems == ()
    assert document.root is not None
    return document.root


def spots(node: Node | None) -> Any:
    """The tree with every position, for comparing."""
    if isinstance(node, Mapping):
        return (
            node.line,
            node.column,
            [
                (key, node.keys[key].line, node.keys[key].column, spots(value))
                for key, value in node.items.items()
            ],
        )
    if isinstance(node, Sequence):
        return (node.line, node.column, [spots(item) for item in node.items])
    return None if node is None else (node.line, node.column, node.text, node.plain)


# YAML 1.2.2, chapter 10.3.2 (core schema), and the traps of YAML 1.1 that it leaves behind.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("on", "on"),
        ("no", "no"),
        ("Yes", "Yes"),
        ("1:30", "1:30"),
        ("010", 10),
        ("2026-01-31", "2026-01-31"),
        ("1_000", "1_000"),
        ("true", True),
        ("FALSE", False),
        ("null", None),
        ("~", None),
        ("", None),
        ("12", 12),
        ("-3", -3),
        ("1.5", 1.5),
        (".5", 0.5),
        ("1e3", 1000.0),
        ("'12'", "12"),
        ('"true"', "true"),
        ("1.0.0", "1.0.0"),
    ],
)
def test_plain_scalars_are_typed_by_the_core_schema(text: str, value: object) -> None:
    assert typed(root(f"key: {text}")) == {"key": value}


def test_what_was_written_is_kept_as_text() -> None:
    node = root("a: 1.10\nb: on\nc: '1.10'\nd:\ne: [010]\n")
    assert as_written(node) == {"a": "1.10", "b": "on", "c": "1.10", "d": None, "e": ["010"]}


def test_every_key_and_value_has_its_line_and_column() -> None:
    node = root("first: 1\nmap:\n  key:  value\nlist: [a,\n  bé, c]\n")
    assert isinstance(node, Mapping)
    inner, listed = node.items["map"], node.items["list"]
    assert isinstance(inner, Mapping)
    assert isinstance(listed, Sequence)
    assert (inner.keys["key"].line, inner.keys["key"].column) == (3, 3)
    assert (inner.items["key"].line, inner.items["key"].column) == (3, 9)
    assert [(item.line, item.column) for item in listed.items] == [(4, 8), (5, 3), (5, 7)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_libyaml_and_the_plain_reader_agree(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert yaml.__with_libyaml__
    data = path.read_bytes()
    fast = parse_yaml(data, path.name)
    monkeypatch.setattr(positions, "_EVENTS", yaml.BaseLoader)
    plain = parse_yaml(data, path.name)
    assert spots(fast.root) == spots(plain.root)
    assert [(problem.code, problem.expected) for problem in fast.problems] == [
        (problem.code, problem.expected) for problem in plain.problems
    ]


def test_an_anchor_may_be_used_again() -> None:
    assert typed(root("a: &x {b: c}\nd: *x\n")) == {"a": {"b": "c"}, "d": {"b": "c"}}


def test_a_loop_of_aliases_is_refused() -> None:
    document = read("a: &x [*x]\n")
    assert [problem.code for problem in document.problems] == ["alias"]
    assert document.root is None


def test_deep_nesting_is_refused_without_deep_recursion() -> None:
    for text in ("[" * 100, "[" * 100_000, "- " * 5_000 + "x", "{a: " * 5_000):
        (problem,) = read(text).problems
        assert (problem.expected, problem.found) == ("at most 50 levels", "deeper nesting")


def test_a_byte_order_mark_does_not_matter() -> None:
    assert typed(root("\ufeffa: b\n")) == {"a": "b"}


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_in_words(data: bytes) -> None:
    document = parse_yaml(data, "file.yaml")
    assert document.root is not None or document.problems


@given(st.text(alphabet="ab:-[]{}#&*!|>'\"%@, \n\t?", max_size=60))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    document = read(text)
    assert document.root is not None or document.problems
    for problem in document.problems:
        assert 0 <= problem.line <= text.count("\n") + 1


# PyYAML's own safe reading of YAML 1.1 is an outside reference where the two versions agree:
# texts, lists and maps without plain scalars of another type.
_TEXTS = st.text(alphabet="abcxyz é", min_size=1, max_size=8).map(lambda text: f"t{text}t")
_TREES = st.recursive(
    _TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_TEXTS, inner, max_size=3),
    max_leaves=12,
)


@given(_TREES)
def test_trees_are_read_as_pyyaml_reads_them(tree: Any) -> None:
    text = yaml.safe_dump(tree, allow_unicode=True)
    assert typed(root(text)) == yaml.safe_load(text) == tree


def test_scalars_know_whether_they_were_quoted() -> None:
    node = root("a: b\nc: 'd'\ne: |\n  f\n")
    assert isinstance(node, Mapping)
    plain = {key: value.plain for key, value in node.items.items() if isinstance(value, Scalar)}
    assert plain == {"a": True, "c": False, "e": False}
