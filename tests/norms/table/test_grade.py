"""The grade of a norm sample by its size."""

import pytest

from norms import read_folder
from norms.table.grade import GRADE_WORDS, grade, row_grade
from tests.norms.folders import EXAMPLE

# EFPA review model, norms: classical low and high stakes, continuous (8 groups) low and high. Read in a
# public transcription of the model, not in the original.
PUBLISHED = [
    ("low", False, [(199, 1), (200, 2), (299, 2), (300, 3), (999, 3), (1000, 4)]),
    ("high", False, [(200, 1), (299, 1), (300, 2), (399, 2), (400, 3), (999, 3), (1000, 4)]),
    ("low", True, [(8 * 69, 1), (8 * 70, 2), (8 * 99, 2), (8 * 100, 3), (8 * 149, 3), (8 * 150, 4)]),
    ("high", True, [(8 * 70, 1), (8 * 99, 1), (8 * 100, 2), (8 * 149, 2), (8 * 150, 3), (8 * 200, 4)]),
]


@pytest.mark.parametrize(("stakes", "continuous", "known"), PUBLISHED)
def test_grades_are_those_of_the_review_model(
    stakes: str, continuous: bool, known: list[tuple[int, int]]
) -> None:
    assert [grade(n, stakes, continuous) for n, _ in known] == [expected for _, expected in known]


def test_every_grade_has_its_word_and_a_single_band_under_200_is_grade_1() -> None:
    table = read_folder(EXAMPLE)
    grades = {row.n: row_grade(table, row) for row in table.rows}
    assert all(GRADE_WORDS[one] for one in grades.values())
    assert grades[170] == 1 and grades[200] == 2
