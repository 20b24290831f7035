"""What must not matter does not, and no malformed folder gives a traceback or a number."""

import csv
import io
import json
import random
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from norms import (
    PRIMARY_MEASURES,
    ByHand,
    Change,
    Occasion,
    Profile,
    Refusal,
    Series,
    Standing,
    Table,
    TableFaults,
    change,
    fault_sentence,
    profile,
    series,
    standing,
)
from norms.table.datapackage import hash_of
from norms.table.folder import folder_bytes, read_files
from tests.norms.folders import EXAMPLE

FILES = folder_bytes(Path(EXAMPLE))
TABLE = read_files(FILES)
CSVS = ("measures.csv", "table.csv", "retest.csv", "correlations.csv")
TODAY = dict(zip(PRIMARY_MEASURES, (5.3, 11.6, 105.0, 302.0, 10.4, 6.4), strict=True))
QUICK = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
MANY = settings(max_examples=4000, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])


def sealed(files: dict[str, bytes]) -> dict[str, bytes]:
    """Hash and bytes as the files now stand."""
    package = json.loads(FILES["datapackage.json"])
    for resource in package["resources"]:
        data = files[resource["path"]]
        resource |= {"hash": hash_of(data), "bytes": len(data)}
    return {**files, "datapackage.json": json.dumps(package).encode()}


def lines_of(name: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(FILES[name].decode())))


def written(lines: list[list[str]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(lines)
    return text.getvalue().encode()


def answers(table: Table, age: float = 70.0, sex: str = "not_asked") -> list[object]:
    """Everything the example says about one person, numbers only."""
    context, earlier = ByHand(age, sex, "simulated"), ByHand(age - 0.5, sex, "simulated")
    placed = [standing(table, measure, value, context) for measure, value in TODAY.items()]
    moved = [
        change(table, measure, Occasion(0.9 * value, earlier), Occasion(value, context), 180)
        for measure, value in TODAY.items()
    ]
    runs = [
        series(table, measure, [Occasion(value, earlier)] * 2 + [Occasion(value, context)], (0, 180, 360))
        for measure, value in TODAY.items()
    ]
    together = profile(table, [one for one in placed if isinstance(one, Standing)])
    assert isinstance(together, Profile)
    return [
        *(
            (one.percentile, one.interval_95, one.label, one.usual_range)
            for one in placed
            if isinstance(one, Standing)
        ),
        *((one.limits_value, one.reliable, one.expected) for one in moved if isinstance(one, Change)),
        *(one.comparisons for one in runs if isinstance(one, Series)),
        together.chances_percent,
    ]


PLAIN = answers(TABLE)


# --- what must not matter ---


@settings(QUICK, max_examples=25)
@given(st.randoms(use_true_random=False), st.floats(20, 89.9))
def test_the_order_of_rows_and_strata_changes_nothing(chance: random.Random, age: float) -> None:
    files = dict(FILES)
    for name in ("retest.csv", "correlations.csv"):
        head, *lines = lines_of(name)
        chance.shuffle(lines)
        files[name] = written([head, *lines])
    head, *lines = lines_of("table.csv")
    groups: dict[tuple[str, ...], list[list[str]]] = {}
    for line in lines:  # ages stay in order within measure, sex and device class
        groups.setdefault(tuple(line[:3]), []).append(line)
    order = list(groups.values())
    chance.shuffle(order)
    files["table.csv"] = written([head, *(line for group in order for line in group)])
    assert answers(read_files(sealed(files)), age) == answers(TABLE, age)


@settings(QUICK, max_examples=25)
@given(st.randoms(use_true_random=False))
def test_other_device_classes_and_other_sexes_change_nothing(chance: random.Random) -> None:
    def others(rows: tuple[Any, ...]) -> list[Any]:
        return [replace(row, device_class="t10", mean=row.mean + 1.0) for row in rows]

    women = [replace(row, sex="female", mean=row.mean + 0.7) for row in TABLE.rows]
    rows = [*TABLE.rows, *others(TABLE.rows), *women]
    retest = [
        *TABLE.retest,
        *(replace(row, device_class="t10", r=0.4) for row in TABLE.retest),
        *(replace(row, sex="female", r=0.4) for row in TABLE.retest),
    ]
    chance.shuffle(retest)
    groups = [rows[k : k + 4] for k in range(0, len(rows), 4)]
    chance.shuffle(groups)
    more = replace(TABLE, rows=tuple(row for group in groups for row in group), retest=tuple(retest))
    assert answers(more) == PLAIN
    assert answers(more, sex="male") == PLAIN
    assert answers(more, sex="female") != PLAIN


@QUICK
@given(
    st.floats(1e-3, 1e3),
    st.sampled_from(["circles.preferred.lag", "wander.preferred.delay"]),
    st.floats(-100, 500),
)
def test_the_unit_of_a_plain_scale_changes_nothing(unit: float, measure: str, value: float) -> None:
    rows = tuple(replace(row, mean=row.mean * unit, sd=row.sd * unit) for row in TABLE.rows)
    one, other = (
        standing(table, measure, x, ByHand(70))
        for table, x in ((TABLE, value), (replace(TABLE, rows=rows), value * unit))
    )
    assert isinstance(one, Standing) and isinstance(other, Standing)
    assert other.percentile == pytest.approx(one.percentile, rel=1e-9, abs=1e-12)
    assert np.multiply(one.usual_range, unit) == pytest.approx(other.usual_range, rel=1e-9)


@QUICK
@given(st.floats(1e-3, 1e3), st.floats(0.5, 60), st.floats(0.5, 60))
def test_the_unit_of_a_log_scale_changes_nothing(unit: float, before: float, after: float) -> None:
    measure = "brisk.preferred.scatter"
    rows = tuple(replace(row, mean=row.mean + np.log(unit)) for row in TABLE.rows)
    one, other = (
        change(table, measure, Occasion(before * c, ByHand(69.5)), Occasion(after * c, ByHand(70)), 180)
        for table, c in ((TABLE, 1.0), (replace(TABLE, rows=rows), unit))
    )
    assert isinstance(one, Change) and isinstance(other, Change)
    assert (other.z_before, other.z_after) == pytest.approx((one.z_before, one.z_after), abs=1e-9)
    assert np.multiply(one.limits_value, unit) == pytest.approx(other.limits_value, rel=1e-9)


# --- malformed folders ---

NASTY = [
    "",
    "1e-300",
    "1e-12",
    "1000000000",
    "-1000000000",
    "100",
    "NaN",
    "nan",
    "inf",
    "-inf",
    "1e999",
    "-1",
    "0",
    "1e308",
    "-1e308",
    "9" * 400,
    "1,5",
    "1_000",
    "0x10",
    " 5",
    "5 ",
    "１２",
    "text",
    '"',
    "\n",
    "=1+1",
    "any",
    "none",
    "\ufeff",
    "𝟙",
    "a" * 5000,
    "true",
    "2026-13-40",
]
VALUES = [
    None,
    True,
    False,
    0,
    -1,
    1,
    10**30,
    10**400,
    1.5,
    1e308,
    "",
    "NaN",
    "1",
    [],
    {},
    [[]],
    {"": 0},
    ["en", 1],
    {"steady": 1e308},
    {"steady": None},
    {"steady": True},
    "2026-02-30",
    "20260101",
    "x" * 10_000,
]


def no_number(files: dict[str, bytes]) -> None:
    """A list of faults in plain sentences, or a table that answers with finite numbers or a reason."""
    try:
        table = read_files(files)
    except TableFaults as found:
        assert found.faults
        assert all(
            fault_sentence(fault).endswith(".") and "\n" not in fault_sentence(fault)
            for fault in found.faults
        )
        return
    for measure, value in TODAY.items():
        one = standing(table, measure, value, ByHand(70.0, device_class="simulated"))
        assert isinstance(one, Refusal) or np.all(
            np.isfinite(
                [one.z, one.percentile, *one.interval_95, *one.z_interval_95, one.z_star, *one.usual_range]
            )
        )
        two = change(
            table,
            measure,
            Occasion(value, ByHand(69.5, device_class="simulated")),
            Occasion(value, ByHand(70.0, device_class="simulated")),
            180,
        )
        assert isinstance(two, Refusal) or np.all(
            np.isfinite([two.z_after, two.expected, *two.limits, *two.limits_value, two.percent_more_extreme])
        )


def wrong_cells(data: st.DataObject) -> None:
    files = dict(FILES)
    name = data.draw(st.sampled_from(CSVS))
    lines = lines_of(name)
    for _ in range(data.draw(st.integers(1, 4))):
        row = data.draw(st.integers(0, len(lines) - 1))
        column = data.draw(st.integers(0, len(lines[row]) - 1))
        lines[row][column] = data.draw(st.sampled_from(NASTY))
    files[name] = written(lines)
    no_number(sealed(files))


@settings(QUICK, max_examples=250)
@given(st.data())
def test_no_wrong_cell_gives_a_traceback(data: st.DataObject) -> None:
    wrong_cells(data)


@pytest.mark.long
@MANY
@given(st.data())
def test_no_wrong_cell_of_thousands_gives_a_traceback(data: st.DataObject) -> None:
    wrong_cells(data)


Damage = Callable[[list[list[str]], random.Random], list[list[str]]]
DAMAGES: dict[str, Damage] = {
    "row missing": lambda lines, chance: lines[: (k := chance.randrange(len(lines)))] + lines[k + 1 :],
    "row doubled": lambda lines, chance: [*lines, chance.choice(lines)],
    "rows turned": lambda lines, chance: [lines[0], *reversed(lines[1:])],
    "column missing": lambda lines, chance: [line[: (k := 1)] + line[k + 1 :] for line in lines],
    "column doubled": lambda lines, chance: [[*line, line[-1]] for line in lines],
    "column unknown": lambda lines, chance: [[*line, "x"] for line in lines],
    "columns turned": lambda lines, chance: [line[::-1] for line in lines],
    "cells short": lambda lines, chance: [*lines, lines[-1][:2]],
    "header only": lambda lines, chance: lines[:1],
    "nothing": lambda lines, chance: [],
    "blank lines": lambda lines, chance: [*lines, [], []],
}


@pytest.mark.parametrize("name", CSVS)
@pytest.mark.parametrize("damage", DAMAGES)
def test_no_damaged_file_gives_a_traceback(name: str, damage: str) -> None:
    for seed in range(3):
        files = {**FILES, name: written(DAMAGES[damage](lines_of(name), random.Random(seed)))}
        no_number(sealed(files))


@pytest.mark.parametrize("name", CSVS)
@pytest.mark.parametrize(
    "write",
    [
        lambda text: text.encode("utf-16"),
        lambda text: text.encode("utf-32"),
        lambda text: text.encode()[:-7],
        lambda text: text.replace("\n", "\r").encode(),
        lambda text: text.replace(",", ";").encode(),
        lambda text: text.replace(".", ",").encode(),
        lambda text: ("# note\n" + text).encode(),
        lambda text: text.encode() + b"\x00",
        lambda text: text.encode() + b"\xe4\xf6",
        lambda text: b"\xef\xbb\xbf\xef\xbb\xbf" + text.encode(),
    ],
    ids=[
        "utf-16",
        "utf-32",
        "cut",
        "lone returns",
        "semicolons",
        "decimal commas",
        "comment",
        "nul",
        "latin-1",
        "two marks",
    ],
)
def test_no_file_written_otherwise_gives_a_traceback(name: str, write: Callable[[str], bytes]) -> None:
    no_number(sealed({**FILES, name: write(FILES[name].decode())}))
    with pytest.raises(TableFaults):
        read_files({**FILES, name: write(FILES[name].decode())})  # the hash in any case


def wrong_statements(data: st.DataObject) -> None:
    package = json.loads(FILES["datapackage.json"])
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(
            st.sampled_from([package, package.get("reference_table"), *package["resources"]])
            if isinstance(package.get("resources"), list)
            else st.just(package)
        )
        if not isinstance(place, dict) or not place:
            continue
        key = data.draw(st.sampled_from(sorted(place)))
        wrong = deepcopy(data.draw(st.sampled_from([*VALUES, "drop"])))
        if wrong == "drop":
            del place[key]
        else:
            place[key] = wrong
    no_number({**FILES, "datapackage.json": json.dumps(package).encode()})


@settings(QUICK, max_examples=200)
@given(st.data())
def test_no_wrong_statement_of_the_descriptor_gives_a_traceback(data: st.DataObject) -> None:
    wrong_statements(data)


@pytest.mark.long
@MANY
@given(st.data())
def test_no_wrong_statement_of_thousands_gives_a_traceback(data: st.DataObject) -> None:
    wrong_statements(data)


@settings(QUICK, max_examples=150)
@given(st.sampled_from([*CSVS, "datapackage.json"]), st.binary(max_size=300))
def test_no_bytes_give_a_traceback(name: str, data: bytes) -> None:
    files = {**FILES, name: data}
    with pytest.raises(TableFaults):
        read_files(files)
    if name in CSVS:
        no_number(sealed(files))


def test_a_fullwidth_digit_is_no_number() -> None:
    lines = lines_of("table.csv")
    lines[1][5] = "１２０"
    with pytest.raises(TableFaults, match="whole number"):
        read_files(sealed({**FILES, "table.csv": written(lines)}))
