"""Decisions: each has its four parts and a name of its own, and the code that it explains cites it."""

import re
from collections import Counter

import pytest

from tests.documents import DECISIONS
from tests.sources import source_tree

ENTRY = re.compile(r"^## (\S+) (.+?)\n(.*?)(?=^## |\Z)", re.MULTILINE | re.DOTALL)
PARTS = ("**Context.** ", "**Decision.** ", "**Consequence.** ", "**Reopen** ")
ENTRIES = {
    name: (path, title, text)
    for path in DECISIONS
    for name, title, text in ENTRY.findall(path.read_text("utf-8"))
}


def test_there_are_decisions_in_every_area() -> None:
    assert {path.stem for path in DECISIONS} == {
        "architecture", "languages", "norms", "packaging", "page", "scoring", "screens", "security",
        "storage", "tests", "touch", "trials",
    }  # fmt: skip


@pytest.mark.parametrize("path", DECISIONS, ids=lambda path: path.stem)
def test_the_decisions_of_an_area_are_numbered(path) -> None:
    names = [name for name, *_ in ENTRY.findall(path.read_text("utf-8"))]
    assert names == [f"{path.stem}-{number}" for number in range(1, len(names) + 1)]


@pytest.mark.parametrize("name", ENTRIES)
def test_a_decision_has_its_four_parts_in_order(name: str) -> None:
    lines = ENTRIES[name][2].strip().splitlines()
    begun = [part for line in lines for part in PARTS if line.startswith(part)]
    assert tuple(begun) == PARTS


def test_each_decision_is_cited_once_by_the_code_it_explains() -> None:
    """As "Decision storage-7" or "Decisions trials-1, trials-2" in a docstring or comment."""
    area = "|".join(path.stem for path in DECISIONS)
    cited = Counter(
        name
        for path, source in source_tree().items()
        if path != "tests/test_decisions.py"
        for names in re.findall(rf"\bDecisions?\s+((?:(?:{area})-\d+(?:,\s+)?)+)", source)
        for name in re.split(r",\s+", names.rstrip(", "))
    )
    assert sorted(set(cited) - set(ENTRIES)) == [], "no such decision"
    assert sorted(set(ENTRIES) - set(cited)) == [], "cite it in the code it explains"
    assert [name for name, times in cited.items() if times > 1] == []
