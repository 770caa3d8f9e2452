"""Standard setting: our own panels, worked out by hand, and statsmodels."""

from pathlib import Path

import numpy as np
import pytest

from simengine.cohort.judgements import read_angoff, read_borderline
from simengine.cohort.standards import NoStandardError, angoff, borderline
from simengine.people.csv_table import Table, read_table
from simengine.problems import InputError
from tests.amount import seeds
from tests.cohort.made import a_reference

# Invented: three judges, four items. Sums 3.0, 2.6 and 3.2: mean 2.9333, standard deviation .3055
PANEL = {
    "A": {"a": 0.8, "b": 0.6, "c": 0.9, "d": 0.7},
    "B": {"a": 0.7, "b": 0.5, "c": 0.8, "d": 0.6},
    "C": {"a": 0.9, "b": 0.7, "c": 0.8, "d": 0.8},
}
# Invented: eight sessions on the line 29.5 + 11 x grade
GRADES = [1, 2, 2, 3, 3, 4, 4, 5]
SCORES = [0.40, 0.50, 0.54, 0.60, 0.66, 0.70, 0.74, 0.86]


def test_angoffs_cut_and_error_are_those_worked_out() -> None:
    cut = angoff(PANEL)
    assert round(100 * cut.cut, 2) == 73.33
    assert round(4 * cut.error, 4) == 0.1764  # in items
    assert [round(own_cut, 4) for own_cut in cut.by_judge] == [0.75, 0.65, 0.80]
    assert (cut.judges, cut.items, cut.few) == (3, 4, True)


def test_an_item_counts_in_the_cut_as_it_does_in_the_total() -> None:
    """With all the weight on c: the judges' cuts are .9, .8 and .8."""
    cut = angoff(PANEL, {"a": 0.0, "b": 0.0, "c": 3.0, "d": 0.0})
    assert cut.by_judge == pytest.approx((0.9, 0.8, 0.8))
    assert angoff(PANEL, dict.fromkeys("abcd", 2.0)).cut == pytest.approx(angoff(PANEL).cut)


def test_the_borderline_cut_is_that_worked_out() -> None:
    cut = borderline(GRADES, SCORES, 2)
    assert cut.line is not None
    assert (round(100 * cut.line[0], 4), round(100 * cut.line[1], 4)) == (29.5, 11.0)
    assert round(100 * cut.cut, 4) == 51.5
    assert (cut.sessions, cut.few) == (8, True)


@pytest.mark.parametrize("seed", range(seeds(50)))
def test_the_borderline_cut_and_error_are_those_of_statsmodels(seed: int) -> None:
    """statsmodels 0.14+, OLS.get_prediction: mean and mean_se at the grade; to 1e-9."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(5, 60))
    grades = rng.integers(1, 6, n).astype(float)
    scores = np.clip(0.25 + 0.12 * grades + 0.03 * rng.normal(size=n), 0, 1)
    with a_reference():
        import statsmodels.api as sm

        fit = sm.OLS(scores, sm.add_constant(grades, has_constant="add")).fit()
        at = fit.get_prediction([[1.0, 2.0]])
    cut = borderline(grades.tolist(), scores.tolist(), 2)
    assert cut.cut == pytest.approx(float(at.predicted_mean[0]), abs=1e-9)
    assert cut.error == pytest.approx(float(at.se_mean[0]), abs=1e-9)


@pytest.mark.parametrize(
    ("grades", "scores", "words"),
    [
        ([1, 2], [0.1, 0.2], "three sessions"),
        ([2, 2, 2], [0.1, 0.2, 0.3], "same grade"),
        ([1, 2, 3], [0.3, 0.2, 0.1], "do not rise"),
        ([3, 4, 5], [0.1, 0.5, 0.9], "which no total can be"),
    ],
)
def test_grades_that_give_no_line_are_told_why(
    grades: list[float], scores: list[float], words: str
) -> None:
    with pytest.raises(NoStandardError, match=words):
        borderline(grades, scores, 2)


def test_a_panel_of_one_or_with_gaps_gives_no_standard() -> None:
    with pytest.raises(NoStandardError, match="at least two judges"):
        angoff({"A": PANEL["A"]})
    with pytest.raises(NoStandardError, match="every judge has to judge every item"):
        angoff({"A": {"a": 0.5}, "B": {"b": 0.5}})
    with pytest.raises(NoStandardError, match="no weight"):
        angoff({"A": {"a": 0.5}, "B": {"a": 0.5}}, {"a": 0.0})


def table(folder: Path, text: str) -> Table:
    file = folder / "judgements.csv"
    file.write_text(text, encoding="utf-8")
    read = read_table(file, [])
    assert read is not None
    return read


@pytest.mark.parametrize(
    "rows",
    [
        "judge,item,chance\nA,a,0.8\nA,b,0.6\n",
        "judge,item,chance\nA,a,80\nA,b,60\n",
        "Judge;Item;Chance\nA;a;80 %\nA;b;60%\n",
        'judge,item,chance\nA,a,"0,8"\nA,b,"0,60"\n',
    ],
)
def test_chances_are_read_in_every_way_that_is_clear(rows: str, tmp_path: Path) -> None:
    assert read_angoff(table(tmp_path, rows), ["a", "b"]) == {"A": {"a": 0.8, "b": 0.6}}


def test_every_wrong_cell_is_told_with_its_line(tmp_path: Path) -> None:
    rows = (
        "judge,item,chance\n"
        "A,heater,80\n"
        "A,heatr,70\n"
        "A,oxygen,high\n"
        ",oxygen,50\n"
        "A,heater,60\n"
        "B,heater,0.8\n"
        "B,oxygen,120\n"
    )
    with pytest.raises(InputError) as refusal:
        read_angoff(table(tmp_path, rows), ["heater", "oxygen", "light"])
    problems = {(problem.line, problem.code) for problem in refusal.value.problems}
    assert problems == {
        (3, "item-unknown"),
        (4, "share-wrong"),
        (5, "judge-missing"),
        (6, "item-twice"),
        (7, "share-unclear"),
        (8, "share-wrong"),
        (0, "item-not-judged"),
    }
    assert "judgements.csv:3:2: item: " in str(refusal.value)
    assert "did you mean 'heater'?" in str(refusal.value)


def test_missing_columns_and_no_rows_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a column 'chance'"):
        read_angoff(table(tmp_path, "judge,item,chanc\nA,a,0.8\n"), ["a"])
    with pytest.raises(InputError, match="a row for each judgement"):
        read_angoff(table(tmp_path, "judge,item,chance\n"), ["a"])
    with pytest.raises(InputError, match="a row for each judgement"):
        read_borderline(table(tmp_path, "global,score\n"))
    with pytest.raises(InputError, match="a column 'global'"):
        read_borderline(table(tmp_path, "grade,score\n3,60\n"))


def test_sessions_are_read_with_their_grades_scores_and_judges(tmp_path: Path) -> None:
    graded = read_borderline(table(tmp_path, "judge,global,score\nA,3,60\nB,2,50\nA,1.5,40 %\n"))
    assert (graded.grades, graded.scores, graded.judges) == ((3, 2, 1.5), (0.6, 0.5, 0.4), 2)
    with pytest.raises(InputError, match=r"judgements\.csv:3:2: global: .* found 'good'"):
        read_borderline(table(tmp_path, "judge,global,score\nA,3,60\nB,good,50\n"))
