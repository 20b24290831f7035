"""The handbook for researchers is true: its reader reads a container, its table is what its command makes."""

import re
from pathlib import Path

import numpy as np

from kiosk.pursuit.battery import load_battery
from kiosk.pursuit.simulated_hand import Hand, move
from kiosk.storage.trial_container import Packed, pack
from tests.benchmarks import sensitivity
from tests.storage.examples import Examples

PAGE = (Path(__file__).resolve().parents[1] / "kiosk" / "handbook" / "researcher.md").read_text("utf-8")


def reader() -> str:
    between = PAGE.partition("<!-- reader: begin -->")[2].partition("<!-- reader: end -->")[0]
    found = re.search(r"```python\n(.*)```", between, re.DOTALL)
    assert found is not None
    return found[1]


def test_the_reader_is_short_and_needs_the_standard_library_only() -> None:
    lines = reader().strip().splitlines()
    assert len(lines) <= 25
    assert [line for line in lines if "import" in line] == ["import array, json, sys, zlib"]


def test_the_reader_of_the_page_reads_what_was_packed() -> None:
    """A whole trial at 120 touches a second, with fractions in it and flips; every value bit for bit."""
    raw = Examples().trial().record.raw
    assert raw is not None
    plan = load_battery().plan("wander", "preferred", 1)
    samples = move(Hand(delay_s=0.1, lifts_per_min=9.0), plan, np.random.default_rng(1))
    moved = type(raw)(np.round(samples.t_s * 1e9).astype(np.int64) + 2**53, samples.x_mm * 37.7,
                      np.round(samples.y_mm * 40), samples.contact, raw.ranges, raw.window)
    flips = np.arange(400) / 60.0
    read: dict = {}
    exec(reader(), read)
    header, columns = read["read_container"](pack(Packed(moved, 12345, flips, {"input_fuzz": 0.5})))
    assert header["set_off_ns"] == 12345 and header["facts"] == {"input_fuzz": 0.5}
    assert columns["t_ns"] == moved.t_ns.tolist() and columns["contact"] == moved.contact.astype(int).tolist()
    assert columns["x_raw"] == moved.x_raw.tolist() and columns["y_raw"] == moved.y_raw.tolist()
    assert columns["flip_t_s"] == flips.tolist()


def test_the_table_of_what_moves_which_score_is_what_its_command_gives() -> None:
    between = PAGE.partition(sensitivity.FROM)[2].partition(sensitivity.TO)[0]
    assert sensitivity.FROM + between + sensitivity.TO == sensitivity.page()


def test_the_table_shows_what_each_change_must_move() -> None:
    rows = {cells[1].strip(): cells[2:-1] for line in PAGE.splitlines()
            if line.startswith("| `") and len(cells := line.split("|")) == 9}
    moved = {name: dict(zip(sensitivity.CHANGES, map(str.strip, cells), strict=True))
             for name, cells in rows.items()}
    assert float(moved["`circles.preferred.lag`"]["20 ms more delay"]) > 1
    assert abs(float(moved["`steady.preferred.scatter`"]["20 ms more delay"])) < 0.1
    assert float(moved["`steady.preferred.scatter`"]["20 % more noise"]) > 1.5
    assert moved["`steady.preferred.tremor_hz`: seen"]["5 Hz shake, 0.5 mm"] == "6 of 6"
