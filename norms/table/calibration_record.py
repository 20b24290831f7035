"""The key figures of a calibrated table, as they stand in its datapackage.json and as they are read back.

All shares are of 100 people. A `Share` is the mean over the worlds with the range that holds 95 of 100 of
them. z here is that of the table, below 0 = poorer; changes are toward poorer, in SD of the reference group.

Decision norms-13.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from norms.table.datapackage import MOST, is_number
from norms.table.reasons import Fault, TableFaults

HEALTHY, FIRST_LOW, STABLE_LOW = "healthy", "first_low", "stable_low"
PEOPLE = (HEALTHY, FIRST_LOW, STABLE_LOW)
LOW_Z = -2.0
CHANGES_SD = (0.5, 1.0, 1.5)
PLACE = "reference_table.calibration"


@dataclass(frozen=True)
class Share:
    """Mean over the worlds, and the ends of the range of 95 in 100 of them."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True)
class StandingCalibration:
    """One age row: how many healthy people are called low; how often the 95 % interval of z holds the true
    z, as the lowest and the highest over the z tried."""

    age_from: float
    age_to: float
    n_mean: float
    df_sd: float
    called_low: Share
    covered_from: float
    covered_to: float


@dataclass(frozen=True)
class PeopleCalibration:
    """Unchanged people of one kind: called poorer, called better; and called poorer after each change."""

    people: str
    poorer: Share
    better: Share
    power: tuple[Share, ...]


@dataclass(frozen=True)
class ChangeCalibration:
    """One retest study. `people`: none where it is too small to judge by."""

    sex: str
    n: int
    r: float
    earlier_visits: int
    people: tuple[PeopleCalibration, ...]


@dataclass(frozen=True)
class MeasureCalibration:
    """One measure for one sex and device class: the row with the fewest people behind it and the one with
    the most, how many rows answer, and its retest studies."""

    measure: str
    sex: str
    device_class: str
    rows: int
    rows_answering: int
    standings: tuple[StandingCalibration, ...]
    changes: tuple[ChangeCalibration, ...]


@dataclass(frozen=True)
class Calibration:
    """The figures of a table: `of` holds the hashes of the files they belong to."""

    seed: int
    worlds: int
    date: str
    changes_sd: tuple[float, ...]
    of: Mapping[str, str]
    rows: tuple[MeasureCalibration, ...]


def as_json(found: Calibration) -> dict[str, object]:
    """As it stands in datapackage.json."""
    return asdict(found)


def from_json(said: object) -> Calibration:
    """Read back; TableFaults where it is not what `norms calibrate` writes."""
    try:
        return _calibration(_object(said))
    except (KeyError, TypeError, ValueError) as error:
        raise TableFaults([Fault("datapackage.json", None, PLACE, "must be as norms calibrate writes it",
                                 f"{type(error).__name__} {error}")]) from None


def calibration_faults(reference: Mapping[str, object], hashes: Mapping[str, str]) -> list[Fault]:
    """What is wrong with the stored figures: their form, or that a file is no longer the one they are of."""
    if reference.get("calibration") is None:
        return []
    try:
        found = from_json(reference["calibration"])
    except TableFaults as wrong:
        return list(wrong.faults)
    return [Fault("datapackage.json", None, PLACE, "must be of the files as they are: calibrate again", name)
            for name in sorted(found.of.keys() | hashes.keys()) if found.of.get(name) != hashes.get(name)]


def _calibration(said: Mapping[str, object]) -> Calibration:
    of = {str(name): str(digest) for name, digest in _object(said["of"]).items()}
    changes_sd = tuple(map(_number, _list(said["changes_sd"])))
    rows = tuple(_worth(_object(one)) for one in _list(said["rows"]))
    if any(len(people.power) != len(changes_sd) for worth in rows for change in worth.changes
           for people in change.people):
        raise ValueError("power, must be given for each change")
    return Calibration(_whole(said["seed"]), _whole(said["worlds"]), _text(said["date"]), changes_sd, of,
                       rows)


def _worth(said: Mapping[str, object]) -> MeasureCalibration:
    return MeasureCalibration(_text(said["measure"]), _text(said["sex"]), _text(said["device_class"]),
                 _whole(said["rows"]), _whole(said["rows_answering"]),
                 tuple(_standing(_object(one)) for one in _list(said["standings"])),
                 tuple(_change(_object(one)) for one in _list(said["changes"])))


def _standing(said: Mapping[str, object]) -> StandingCalibration:
    def at(key: str) -> float:
        return _number(said[key])

    return StandingCalibration(at("age_from"), at("age_to"), at("n_mean"), at("df_sd"),
                         _share(said["called_low"]), at("covered_from"), at("covered_to"))


def _change(said: Mapping[str, object]) -> ChangeCalibration:
    people = tuple(_people(_object(one)) for one in _list(said["people"]))
    return ChangeCalibration(_text(said["sex"]), _whole(said["n"]), _number(said["r"]),
                       _whole(said["earlier_visits"]), people)


def _people(said: Mapping[str, object]) -> PeopleCalibration:
    if said["people"] not in PEOPLE:
        raise ValueError(f"people {said['people']}")
    return PeopleCalibration(_text(said["people"]), _share(said["poorer"]), _share(said["better"]),
                       tuple(map(_share, _list(said["power"]))))


def _share(said: object) -> Share:
    parts = _object(said)
    share = Share(_number(parts["mean"]), _number(parts["low"]), _number(parts["high"]))
    if not 0 <= share.low <= share.high <= 100 or not 0 <= share.mean <= 100:
        raise ValueError(f"share {share}")
    return share


def _object(said: object) -> Mapping[str, object]:
    if not isinstance(said, dict):
        raise TypeError("an object is missing")
    return said


def _list(said: object) -> list[object]:
    if not isinstance(said, (list, tuple)):
        raise TypeError("a list is missing")
    return list(said)


def _text(said: object) -> str:
    if not isinstance(said, str):
        raise TypeError("a text is missing")
    return said


def _number(said: object) -> float:
    if not isinstance(said, (int, float)) or not is_number(said):
        raise TypeError(f"a number within {MOST} of 0 is missing")
    return float(said)


def _whole(said: object) -> int:
    if not isinstance(said, int) or not is_number(said):
        raise TypeError(f"a whole number within {MOST} of 0 is missing")
    return said
