"""The file of the clock's marks."""

from pathlib import Path

import pytest

from simengine.desk import clock_marks
from simengine.desk.clock_marks import load_clock_marks, marks_of
from simengine.problems import InputError

SHIPPED = Path(clock_marks.__file__).with_name("clock_marks.yaml")
TEXT = SHIPPED.read_text(encoding="utf-8")


def problems(tmp_path: Path, text: str) -> list[str]:
    file = tmp_path / "clock_marks.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as raised:
        load_clock_marks(file)
    return [str(problem).removeprefix(f"{tmp_path}/") for problem in raised.value.problems]


def test_the_shipped_marks_are_those_of_the_birth_and_of_any_other_clock() -> None:
    marks = load_clock_marks(SHIPPED)
    assert set(marks) == {"birth", "otherwise"}
    assert marks_of("birth") == marks["birth"]
    assert marks_of("arrival") == marks_of(None) == marks["otherwise"]
    minutes = [mark.at_ms // 60_000 for mark in marks["otherwise"].until(20 * 60_000)]
    assert minutes == [1, 5, 10, 15, 20]


@pytest.mark.parametrize(
    ("right", "wrong", "said"),
    [
        ("otherwise:", "other-wise:", "expected the key 'otherwise', found none"),
        (
            "    - {at: 1 min,",
            "    - {at: 1,",
            "birth › marks[0] › at: expected a time such as 20 s",
        ),
        ("if_not_told:", "if_not_tolt:", "did you mean 'if_not_told'?"),
        ("then: {every: 5 min}", "then: {every: 0 min}", "expected a time above 0 s"),
        ("[{at: 1 min}, {at: 5 min}]", "[{at: 5 min}, {at: 1 min}]", "in rising order of 'at'"),
        ("[{at: 1 min}, {at: 5 min}]", "[]", "a list of marks of at least 1"),
        ("then: {every: 5 min}", "when: {every: 5 min}", "(did you mean 'then'?)"),
    ],
)
def test_a_slip_is_told_with_its_line(tmp_path: Path, right: str, wrong: str, said: str) -> None:
    assert TEXT.count(right) == 1
    messages = problems(tmp_path, TEXT.replace(right, wrong))
    assert any(said in line and line.startswith("clock_marks.yaml:") for line in messages), messages
