"""The grade of a norm sample by its size, after the European test review model.

1 inadequate, 2 adequate, 3 good, 4 excellent. Classical norms count the people of one cell; continuous norms
count people per each of eight age groups behind the fitted curve. A grade is told, never a reason to refuse.

References
----------
Evers A et al., EFPA review model for the description and evaluation of psychological tests, section on norms
(read in a public transcription, not in the original).
"""

from norms.table.table import Row, Table

GRADE_WORDS = {1: "inadequate", 2: "adequate", 3: "good", 4: "excellent"}
GROUPS = 8
_CUTS = {
    (False, "low"): (200, 300, 1000), (False, "high"): (300, 400, 1000),
    (True, "low"): (70, 100, 150), (True, "high"): (100, 150, 200),
}


def grade(n: float, stakes: str, continuous: bool = False) -> int:
    """Grade 1-4 of n people in a cell, or of n people in all behind a continuous norm.

    >>> grade(199, "low"), grade(300, "low"), grade(560, "low", continuous=True)
    (1, 3, 2)
    """
    people = n / GROUPS if continuous else n
    return 1 + sum(people >= cut for cut in _CUTS[continuous, stakes])


def row_grade(table: Table, row: Row) -> int:
    """The grade of a row of a table: of its cell, or of all people behind a smoothed or continuous table."""
    continuous = table.age_method != "bands"
    whole_n = table.about.get("whole_n")
    n = whole_n if continuous and isinstance(whole_n, int) else row.n
    return grade(n, str(table.about.get("stakes", "low")), continuous)
