"""Which lines of a sample count, and what no sample may hold.

Left out, by name and with their number: lines without agreed research use, of another purpose, of another
device class than the one asked for, later reference visits of one person, and visits whose values are those
of another to the last digit. Faults: two kinds of what a table has one of, a line that stands twice, a person
whose sex or age contradicts itself, a value that its measure cannot have, and a `scaled` that is not the
value on the measure's scale.
"""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from norms.build.sample_lines import Columns, LineFaults
from norms.table.scale import Floats, to_scale
from norms.table.table import Measure

Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]
AGES_APART_YEARS = 1.1  # a coarse birth date may round an age by a year
LEAST_COPIED = 3
LEAST_SHARE = 1e-4  # of its highest value: the lowest that a value above 0 is taken to have
SAME = 1e-9  # on the scale: the same number, but for the last digits
_WORDS_OF_SCALE = {
    "identity": "the value itself", "lms": "the value itself", "log": "the natural logarithm of the value",
    "logit": "the logit of the value, counted over the looks of its window",
}  # fmt: skip


class MeasureLines(NamedTuple):
    """Lines of one measure: row in the file, value in the unit, and what the file says is on the scale."""

    row: Ints
    value: Floats
    scaled: Floats
    trial_variance: Floats


def left_out(columns: Columns, device_class: str | None) -> tuple[dict[str, int], Bools]:
    """Lines left out by reason, and which lines stay."""
    keep = np.ones(len(columns.row), bool)
    counted: dict[str, int] = {}
    reasons = [
        ("research use not agreed", ~_is(columns, "research_use", "yes")),
        (
            "purpose neither reference nor retest",
            ~(_is(columns, "purpose", "reference") | _is(columns, "purpose", "retest")),
        ),
    ]
    if device_class is not None:
        other = ~_is(columns, "device_class", device_class)
        reasons.append((f"device class other than {device_class}", other))
    for why, holds in reasons:
        _leave(why, holds, keep, counted)
    _leave("later reference visit of a person", _later_reference(columns, keep), keep, counted)
    _leave("copy of another visit, every value the same", _copies(columns, keep), keep, counted)
    return counted, keep


def line_faults(columns: Columns, one_of_a_kind: Iterable[str], faults: LineFaults) -> None:
    """Two kinds of what a table has one of; a person, visit and measure that stand twice; no line at all."""
    if not len(columns.row):
        faults.add(None, None, "holds no line of purpose reference or retest with research use")
        return
    for name in one_of_a_kind:
        cells = columns.cells[name]
        other = np.flatnonzero(cells != cells[0])
        if len(other):
            found = columns.of(np.arange(len(cells)) == other[0]).first(name)
            faults.add(
                int(columns.row[other[0]]),
                name,
                f"must be {columns.first(name)} as in row "
                f"{columns.row[0]}: {len(other)} of {len(cells)} lines are not",
                found,
            )
    key = _combined_key(columns, "person", "visit", "measure")
    _, first, place = np.unique(key, return_index=True, return_inverse=True)
    double = np.flatnonzero(first[place] != np.arange(len(key)))
    for line in double:
        faults.add(int(columns.row[line]), "person, visit, measure", "must be unique, stands twice",
                   columns.texts["person"][columns.cells["person"][line]])


def person_faults(columns: Columns, faults: LineFaults) -> None:
    """A person has one sex, one age at a visit, and grows older by the days between visits."""
    if not len(columns.row):
        return
    person, age = columns.whole("person"), columns.number("age_years")
    _, first, place = np.unique(person, return_index=True, return_inverse=True)
    begin = first[place]
    sex = columns.whole("sex")
    born = age - columns.number("day") / 365.25
    for name, wrong, rule in (
        ("sex", sex != sex[begin], "must be the same in all lines of a person"),
        (
            "age_years",
            np.abs(born - born[begin]) > AGES_APART_YEARS,
            "must grow with the days since the person's first visit",
        ),
    ):
        for line in np.flatnonzero(wrong):
            faults.add(int(columns.row[line]), name, rule, columns.texts["person"][person[line]])


def values_on_scale(
    measure: Measure, domain: tuple[float, float], looks: float, lines: MeasureLines, faults: LineFaults
) -> Floats:
    """The values of a measure's lines on its scale, computed from the values alone; what is wrong is added.

    `scaled` of a line may differ from it by what rounding the value to the measure's decimals does.
    """
    scaled = to_scale(lines.value, measure.scale, looks, measure.whole)
    low, high = domain
    possible = (lines.value >= low) & (lines.value <= high) & np.isfinite(scaled)
    above_0 = measure.scale in ("log", "lms")
    ends = f"above 0, to {high:g}" if above_0 else f"from {low:g} to {high:g}"
    for line in np.flatnonzero(~possible):
        faults.add(int(lines.row[line]), "value", f"must be {ends} {measure.unit} for {measure.score}",
                   float(lines.value[line]))  # fmt: skip
    step = 0.5 * 10.0**-measure.decimals
    beside = [to_scale(lines.value + way * step, measure.scale, looks, measure.whole) for way in (-1, 1)]
    reach = np.fmax(np.abs(beside[0] - scaled), np.abs(beside[1] - scaled))
    wrong = possible & ~(np.abs(lines.scaled - scaled) <= np.fmax(reach, SAME * np.fmax(1, np.abs(scaled))))
    for line in np.flatnonzero(wrong):
        faults.add(
            int(lines.row[line]), "scaled", f"must be {_WORDS_OF_SCALE[measure.scale]} ({measure.score})",
            float(lines.scaled[line]),
        )  # fmt: skip
    most = _largest_variance(measure, domain, looks)
    for line in np.flatnonzero(lines.trial_variance > most):
        faults.add(int(lines.row[line]), "trial_variance", f"must be {most:.4g} or less for {measure.score}",
                   float(lines.trial_variance[line]))  # fmt: skip
    return np.where(np.abs(lines.scaled - scaled) <= SAME, lines.scaled, scaled)


def _largest_variance(measure: Measure, domain: tuple[float, float], looks: float) -> float:
    """Sample variance of two trials at the two ends of what the measure can be, on its scale."""
    low, high = domain
    low = max(low, LEAST_SHARE * high) if measure.scale in ("log", "lms") else low
    ends = to_scale([low, high], measure.scale, looks, measure.whole)
    return float((ends[1] - ends[0]) ** 2 / 2)


def _is(columns: Columns, name: str, text: str) -> Bools:
    texts = columns.texts[name]
    return np.asarray(columns.cells[name] == (texts.index(text) if text in texts else -1))


def _leave(why: str, holds: Bools, keep: Bools, counted: dict[str, int]) -> None:
    lines = int((holds & keep).sum())
    if lines:
        counted[why] = lines
    keep &= ~holds


def _later_reference(columns: Columns, keep: Bools) -> Bools:
    """Lines of a reference visit whose person has an earlier one."""
    reference = _is(columns, "purpose", "reference") & keep
    person, visit = columns.whole("person"), columns.whole("visit")
    earliest = np.full(int(person.max(initial=-1)) + 1, np.iinfo(np.int64).max)
    np.minimum.at(earliest, person[reference], visit[reference])
    return reference & (visit > earliest[person] if len(person) else reference)


def _copies(columns: Columns, keep: Bools) -> Bools:
    """Lines of a visit all of whose values, three or more, stand at another visit too, to the last bit."""
    key, count = _combined_key(columns, "person", "visit"), len(columns.row)
    if not keep.any():
        return np.zeros(count, bool)
    _, place = np.unique(key[keep], return_inverse=True)
    mixed = _hash_values(columns.whole("measure")[keep], columns.number("scaled")[keep])
    sums = np.zeros(int(place.max()) + 1, np.uint64)
    np.add.at(sums, place, mixed)
    lines = np.bincount(place)
    _, first, same = np.unique(sums, return_index=True, return_inverse=True)
    copied = (first[same] != np.arange(len(sums))) & (lines >= LEAST_COPIED) & (lines == lines[first[same]])
    found = np.zeros(count, bool)
    found[keep] = copied[place]
    return found


def _hash_values(measure: Ints, scaled: npt.NDArray[np.float64]) -> npt.NDArray[np.uint64]:
    """Measure and value as one number of 64 bits that looks like chance."""
    with np.errstate(over="ignore"):
        bits = (measure.astype(np.uint64) + np.uint64(1)) * np.uint64(0x9E3779B97F4A7C15)
        bits = bits + np.ascontiguousarray(scaled).view(np.uint64)
        bits = (bits ^ (bits >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        bits = (bits ^ (bits >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return np.asarray(bits ^ (bits >> np.uint64(31)))


def _combined_key(columns: Columns, *names: str) -> Ints:
    """One number for the cells of several columns together."""
    key = np.zeros(len(columns.row), np.int64)
    for name in names:
        cells = columns.whole(name)
        key = key * (int(cells.max(initial=0)) + 1) + cells
    return key
