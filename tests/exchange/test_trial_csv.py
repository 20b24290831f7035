"""Recordings as CSV: what is written reads back exactly, and every fault of a file is named at once."""

import io
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest

from kiosk.base.errors import FaultyFile
from kiosk.cli.main import main
from kiosk.exchange.trial_csv import read_samples, write_samples, write_target
from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.samples import Samples

HEADER = "t_s,x_mm,y_mm,contact\n"
GOOD = HEADER + "0.0,1.5,-2,1\n0.5,1.6,-2.25,1\n1.0,1e1,0,0\n"


def read(tmp_path, content):
    file = tmp_path / "hand.csv"
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_samples(file)


def faults(tmp_path, content):
    with pytest.raises(FaultyFile) as refusal:
        read(tmp_path, content)
    assert refusal.value.exit_code == 1
    return [(fault.row, fault.column, fault.rule, fault.value) for fault in refusal.value.faults]


def test_numbers_read_back_exactly(tmp_path):
    rng = np.random.default_rng(1)
    samples = Samples(np.sort(rng.uniform(-1, 19, 500)), rng.normal(0, 40, 500), rng.normal(0, 1e-7, 500),
                      rng.uniform(size=500) > 0.2)
    out = io.StringIO()
    write_samples(samples, out)
    back = read(tmp_path, out.getvalue())
    for name in ("t_s", "x_mm", "y_mm", "contact"):
        assert np.array_equal(getattr(back, name), getattr(samples, name)), name
    again = io.StringIO()
    write_samples(back, again)
    assert again.getvalue() == out.getvalue()


def test_a_general_csv_reader_reads_the_same_table(tmp_path):
    """pandas; its shortest decimals read back exactly too."""
    out = io.StringIO()
    write_samples(read(tmp_path, GOOD), out)
    table = pd.read_csv(io.StringIO(out.getvalue()), float_precision="round_trip")
    assert list(table.columns) == ["t_s", "x_mm", "y_mm", "contact"]
    assert table.contact.tolist() == [1, 1, 0]
    assert table.x_mm.tolist() == [1.5, 1.6, 10.0]


@pytest.mark.parametrize("variant", [
    GOOD, "\ufeff" + GOOD, GOOD.replace("\n", "\r\n"), GOOD + "\n\n", GOOD.replace(",", ", "),
    GOOD.replace(",1\n", ",1.0\n"),
    "contact,y_mm,x_mm,t_s\n1,-2,1.5,0\n1,-2.25,1.6,0.5\n0,0,10,1\n",
    GOOD.replace("1.5", '"1.5"')])
def test_harmless_variants_read_the_same(tmp_path, variant):
    samples = read(tmp_path, variant)
    assert samples.t_s.tolist() == [0.0, 0.5, 1.0]
    assert samples.x_mm.tolist() == [1.5, 1.6, 10.0]
    assert samples.y_mm.tolist() == [-2.0, -2.25, 0.0]
    assert samples.contact.tolist() == [True, True, False]


@pytest.mark.parametrize(("content", "expected"), [
    ("", (None, None, "is_empty", "0 bytes")),
    (" \n\n", (None, None, "is_empty", "3 bytes")),
    (b"\xef\xbb\xbf\n", (None, None, "is_empty", "4 bytes")),
    (HEADER, (None, None, "must_have_two_samples", "0")),
    (HEADER + "0,1,2,1\n", (None, None, "must_have_two_samples", "1")),
    (GOOD.encode("utf-16"), (None, None, "must_be_utf8_text", "byte 0 at 3")),
    (b"\x89PNG\r\n\x1a\n" + bytes(range(1, 256)), (None, None, "must_be_utf8_text", "byte 137 at 0")),
    (b"\x7fELF" + bytes(20), (None, None, "must_be_utf8_text", "byte 0 at 4")),
    (GOOD.replace("y_mm,", ""), (1, "y_mm", "column_missing", "t_s,x_mm,contact")),
    (GOOD.replace("contact", "contact,force"), (1, "force", "column_unknown", "force")),
    (GOOD.replace("y_mm", "y_mm,x_mm"), (1, "x_mm", "column_twice", "x_mm")),
    (GOOD.replace("1.6", "left"), (3, "x_mm", "must_be_a_number", "left")),
    (GOOD.replace("1.6", ""), (3, "x_mm", "must_be_a_number", None)),
    (GOOD.replace("1.6", "\x1b[31m" + "9" * 80), (3, "x_mm", "must_be_a_number", "�[31m" + "9" * 55 + "…")),
    (GOOD.replace("1.6", "1_6"), (3, "x_mm", "must_be_a_number", "1_6")),
    (GOOD.replace("1.6", "NaN"), (3, "x_mm", "must_be_finite", "NaN")),
    (GOOD.replace("-2.25", "-inf"), (3, "y_mm", "must_be_finite", "-inf")),
    (GOOD.replace("0.5,", "1e999,"), (3, "t_s", "must_be_finite", "1e999")),
    (GOOD.replace("1e1", "1e200"), (4, "x_mm", "must_be_within_a_million", "1e200")),
    (GOOD.replace("0.5,", "-0.5,"), (3, "t_s", "must_not_run_backwards", "-0.5")),
    (GOOD.replace("-2,1", "-2,7"), (2, "contact", "must_be_0_or_1", "7")),
    (GOOD.replace("-2,1", "-2,yes"), (2, "contact", "must_be_a_number", "yes")),
    (GOOD.replace("1.5,-2", "1,5,-2"), (2, None, "must_have_as_many_fields_as_the_header", "5")),
    (GOOD + "2.0,1\n", (5, None, "must_have_as_many_fields_as_the_header", "2")),
    (GOOD + '2.0,"1', (5, None, "must_be_comma_separated", "unexpected end of data")),
])
def test_a_fault_names_row_column_rule_and_value(tmp_path, content, expected):
    assert faults(tmp_path, content) == [expected]


def test_all_faults_are_told_together_in_the_order_of_rows(tmp_path):
    content = HEADER + "0,a,2,1\n1,2,inf,9\n0.5,1,1,1\n2,1\n3,1,1,0\n"
    assert faults(tmp_path, content) == [
        (2, "x_mm", "must_be_a_number", "a"), (3, "y_mm", "must_be_finite", "inf"),
        (3, "contact", "must_be_0_or_1", "9"), (4, "t_s", "must_not_run_backwards", "0.5"),
        (5, None, "must_have_as_many_fields_as_the_header", "2")]


def test_every_missing_and_unknown_column_is_named(tmp_path):
    found = faults(tmp_path, "time,x,y,contact\n1,2,3,1\n")
    assert [(column, rule) for _, column, rule, _ in found] == [
        ("t_s", "column_missing"), ("x_mm", "column_missing"), ("y_mm", "column_missing"),
        ("time", "column_unknown"), ("x", "column_unknown"), ("y", "column_unknown")]


def test_another_kind_of_file_is_told_in_one_fault(tmp_path):
    assert faults(tmp_path, "time;x;y\n1;2;3\n") == [
        (1, None, "must_have_the_columns_of_a_recording", "time;x;y")]


def test_equal_times_are_not_backwards(tmp_path):
    assert read(tmp_path, GOOD.replace("0.5,", "0.0,")).t_s.tolist() == [0.0, 0.0, 1.0]


def test_what_is_not_there_or_is_a_folder_cannot_be_read(tmp_path):
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(FaultyFile) as refusal:
            read_samples(path)
        assert [fault.rule for fault in refusal.value.faults] == ["cannot_be_read"]


@pytest.mark.parametrize("rate_hz", [60, 100, 240])
def test_the_target_runs_from_setting_off_to_the_end_of_the_run_on(rate_hz):
    plan = load_battery().plan("wander", "preferred", 2, form="B")
    out = io.StringIO()
    write_target(plan, rate_hz, out)
    table = pd.read_csv(io.StringIO(out.getvalue()), float_precision="round_trip")
    assert list(table.columns) == ["t_s", "x_mm", "y_mm"]
    assert len(table) == 23 * rate_hz + 1
    assert np.array_equal(table.t_s, np.arange(len(table)) / rate_hz)
    x_mm, y_mm = plan.position(table.t_s.to_numpy())
    assert np.array_equal(table.x_mm, x_mm)
    assert np.array_equal(table.y_mm, y_mm)


@pytest.mark.parametrize("content", [
    b"", b"a,b\n1,2\n", GOOD.replace("1.6", "NaN").encode(), GOOD.replace("-2,1", "-2,7").encode(),
    GOOD.replace("0.5,", "-0.5,").encode(), (HEADER + "0,1,2,1\n").encode(), GOOD.encode("utf-16"),
    bytes(range(256)), GOOD.replace("1.6", "left").encode()])
def test_kiosk_score_refuses_a_faulty_file_in_plain_sentences(tmp_path, capsys, content):
    file = tmp_path / "hand.csv"
    file.write_bytes(content)
    code = main(["score", str(file), "--block", "steady", "--hand", "preferred", "--trial", "1", "--json"])
    told = capsys.readouterr()
    assert (code, told.out) == (1, "")
    lines = told.err.splitlines()
    assert lines and all("hand.csv" in line and line.endswith(".") for line in lines)
    assert "Traceback" not in told.err


def test_nothing_heavy_is_loaded_to_read_a_recording():
    script = "import sys, kiosk.exchange.trial_csv; print({'pandas', 'scipy', 'kivy'} & set(sys.modules))"
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "set()"
