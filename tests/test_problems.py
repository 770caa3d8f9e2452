"""Problems read the same wherever they come from, and are shown in order of place."""

from __future__ import annotations

from simengine.problems import InputError, Problem


def test_a_problem_names_place_expectation_and_what_was_found() -> None:
    problem = Problem(
        "term.yaml", 14, 9, "state 'limp' › next[0] › lasting", "a time such as 20 s", "'fast'",
        "not-a-quantity", hint="write '20 s'",
    )  # fmt: skip
    assert str(problem) == (
        "term.yaml:14:9: state 'limp' › next[0] › lasting: "
        "expected a time such as 20 s, found 'fast' (write '20 s')"
    )


def test_a_problem_of_a_whole_file_has_no_line() -> None:
    problem = Problem("term.yaml", 0, 0, "", "a YAML file", "an empty one", "empty-file")
    assert str(problem) == "term.yaml: expected a YAML file, found an empty one"


def test_a_warning_says_so() -> None:
    problem = Problem("a.yaml", 1, 2, "", "another", "", "code", "warning")
    assert str(problem) == "a.yaml:1:2: warning: expected another"


def test_all_problems_are_carried_in_order_of_place() -> None:
    later = Problem("a.yaml", 12, 1, "", "one", "", "x")
    sooner = Problem("a.yaml", 3, 5, "", "two", "", "y")
    error = InputError([later, sooner])
    assert error.problems == (sooner, later)
    assert str(error) == "a.yaml:3:5: expected two\na.yaml:12:1: expected one"
