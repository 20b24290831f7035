"""README, handbook and the other documents are true: each of their commands is run, or at least understood.

The commands of one document are run one after the other in a folder of their own, with a store that holds one
simulated visit, the recordings of a demo, and tables. What stands for something of the reader's (VISIT, CODE,
BACKUP) is replaced, and passphrases come from files.
"""

import csv
import json
import re
import shlex
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from kiosk.app.store_opening import SignIn, open_store
from kiosk.cli.commands import COMMANDS
from kiosk.cli.composition import machine
from kiosk.cli.main import main, parse
from kiosk.storage.backup import backups_in
from tests.cli.test_export_sample import keep
from tests.cli.test_export_sample import person as volunteer
from tests.documents import (
    DECISIONS,
    DEVELOPERS,
    DOCUMENTS,
    HANDBOOK,
    README,
    ROOT,
    SAFETY,
    arguments,
    commands,
)
from tests.norms.sample_people import SIX, as_csv, even_ages
from tests.norms.sample_people import lines as sample_lines

# Why a command is not run here; it must still be one that the command line understands.
NOT_RUN = {
    "python3 kiosk": "opens the kiosk on a display; tests/outside does it",
    "python3 tests": "runs this very test",
    "kiosk check": "its answer depends on the machine; tests/deployment/test_machine_check.py",
    "kiosk bundle": "fetches packages; tests/deployment/test_debian_package.py",
    "kiosk update": "needs an installed kiosk; tests/deployment/test_update.py",
    "kiosk sync": "needs a server; tests/storage/test_sync_by_command.py",
    "kiosk server login": "needs a server; tests/storage/test_sync_by_command.py",
    "kiosk trust key": "asks for a passphrase; tests/storage/test_sync_by_command.py",
    "kiosk trust show": "needs keys of both; tests/storage/test_sync_by_command.py",
    "kiosk trust sign": "needs keys of both; tests/storage/test_sync_by_command.py",
    "kiosk trust load": "needs keys of both; tests/storage/test_sync_by_command.py",
    "kiosk languages check": "draws every screen; tests/i18n/test_languages_command.py",
    "kiosk languages preview": "draws every screen; tests/i18n/test_preview.py",
    "kiosk languages speak": "needs espeak-ng; tests/i18n/test_speech.py",
    "kiosk languages approve": "needs a complete translation; tests/i18n/test_languages_command.py",
}
SIGNED_IN = {
    "report", "leaflet", "staff", "audit", "clock", "backup", "restore", "upgrade", "export", "person",
    "site-pack", "passport",
}  # fmt: skip
MORE = {
    "staff add": ("--new-passphrase-file", "other-words"),
    "staff passphrase": ("--new-passphrase-file", "words"),
    "staff recover": ("--new-passphrase-file", "words", "--code-file", "code"),
}
WORDS = "a lamp beside the harbour wall\n"


@pytest.fixture(scope="module")
def clinic(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What a reader may have: a store with one simulated visit, a demo's recordings, samples and tables."""
    folder = tmp_path_factory.mktemp("clinic")
    with pytest.MonkeyPatch.context() as here:  # as a reader who types there
        here.chdir(folder)
        Path("words").write_text(WORDS)
        Path("other-words").write_text("another lamp on another wall\n")
        kept = ("--store", "clinic.store", "--passphrase-file", "words")
        told: list[str] = []
        here.setattr("builtins.print", lambda *said, **_: told.extend(map(str, said)))
        assert main(["demo", "--no-window", "--visits", "1", "--out", "demo-out", *kept]) == 0
        assert main(["staff", "set-up", "--store", "other.store", "--passphrase-file", "words"]) == 0
        store = open_store(Path("clinic.store"), SignIn(WORDS.strip()), machine()).store
        keep(store, volunteer(store, 11), 0, "reference")
    Path(folder, "code").write_text(told[0].rpartition(" ")[2] + "\n")
    shutil.copy(folder / "demo-out/findings.json", folder / "kept-findings.json")
    shutil.copy(folder / "demo-out/trials/v1-02-steady-preferred-1.csv", folder / "trial.csv")
    shutil.copytree(ROOT / "demo_norms", folder / "demo_norms")
    (folder / "people.csv").write_bytes(as_csv(sample_lines(even_ages(240), measures=SIX)))
    z = np.random.default_rng(5).standard_normal((60, 2))
    with (folder / "pairs.csv").open("w") as file:
        csv.writer(file).writerows([("person", "first", "second"),
                                    *((f"P{n}", 5 + a, 5 + a + b / 3) for n, (a, b) in enumerate(z))])
    with (folder / "PAIRS.csv").open("w") as file:
        csv.writer(file).writerows([
            ("person", "measure", "age_years", "sex", "first_on", "table_value", "other_value"),
            *((f"P{n}", SIX[0], 50.0, "not_asked", ("table", "other")[n % 2], 6 * np.exp(0.3 * a),
               6 * np.exp(0.3 * a + 0.05 * b)) for n, (a, b) in enumerate(z))])
    return folder


def test_there_is_a_handbook_for_every_reader() -> None:
    readers = {"clinician", "site_lead", "clinic_it", "translator", "researcher"}
    assert {path.stem for path in HANDBOOK} >= readers
    readme = README.read_text("utf-8")
    assert all(f"(kiosk/handbook/{path.name})" in readme for path in HANDBOOK)


@pytest.mark.parametrize(("path", "most_bytes"), [(README, 9_000), (DEVELOPERS, 12_000), (SAFETY, 8_000)],
                         ids=lambda one: getattr(one, "name", ""))
def test_a_document_is_read_in_ten_minutes(path: Path, most_bytes: int) -> None:
    assert len(path.read_bytes()) <= most_bytes


@pytest.mark.parametrize("path", [*DOCUMENTS, *DECISIONS], ids=lambda path: path.name)
def test_links_and_paths_lead_somewhere(path: Path) -> None:
    text = path.read_text("utf-8")
    links = [link for link in re.findall(r"\]\(([^)#]+)\)", text) if "//" not in link]
    assert [link for link in links if not (path.parent / link).exists()] == []
    named = re.findall(r"`((?:kiosk|norms|tests|locales|demo_norms)/[\w./*-]*)`", text)
    there = [name for name in named if "*" not in name and not name.startswith("locales/pl/")]  # pl: example
    assert [name for name in there if not (ROOT / name).exists()] == []


@pytest.mark.parametrize("path", [*DOCUMENTS, *DECISIONS], ids=lambda path: path.name)
def test_no_machine_and_no_host_is_named(path: Path) -> None:
    text = path.read_text("utf-8").replace("records.clinic.example", "")
    hosts, paths = r"\w+://\S+|\b\w+\.(?:com|org|net|io)\b", r"(?<![\w.])/(?:tmp|work|home|root)/\S*"
    assert re.findall(f"{hosts}|{paths}", text) == []


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: path.name)
def test_commands_named_in_a_sentence_exist(path: Path) -> None:
    below = {command.name: {one.name for one in command.commands} for command in COMMANDS}
    for words in re.findall(r"`(?:python3 )?kiosk ([a-z][^`]*)`", path.read_text("utf-8")):
        first, *rest = words.split()
        assert first in below, words
        if below[first] and rest and not rest[0].startswith(("-", "...")):
            assert set(rest[0].split("|")) <= below[first], words


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: path.name)
def test_the_commands_of_a_document_run(
    path: Path, clinic: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shutil.copytree(clinic, tmp_path, dirs_exist_ok=True)
    shutil.copytree(ROOT / "locales", tmp_path / "locales")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PURSUIT_LOCALES", str(tmp_path / "locales"))
    for command in commands(path):
        given = arguments(command)
        if given:
            parse(given)
        if _reason(command) is None:
            assert given is not None, f"{command}: neither run nor said why not"
            told = main(_ready(given)), capsys.readouterr().err
            assert told[0] == 0, f"{command}: {told[1]}"


def test_every_reason_not_to_run_a_command_is_needed() -> None:
    written = [command for path in DOCUMENTS for command in commands(path)]
    assert [start for start in NOT_RUN if not any(_starts(command, start) for command in written)] == []


def _reason(command: str) -> str | None:
    return next((why for start, why in NOT_RUN.items() if _starts(command, start)), None)


def _starts(command: str, start: str) -> bool:
    """`python3 kiosk` alone opens the kiosk; any other start may be followed by more."""
    if start == "python3 kiosk":
        return command in ("python3 kiosk", "kiosk", "kiosk start") or command.startswith("kiosk start ")
    return shlex.split(command)[: len(start.split())] == start.split()


def _ready(given: list[str]) -> list[str]:
    """As they are run here: names replaced, passphrases from files, numbers small, no window."""
    words = [_REPLACED[word]() if word in _REPLACED else word for word in given]
    if words[0] == "demo":
        words += ["--no-window", "--visits", "1"]
    if words[:2] in (["norms", "build"], ["norms", "verify"]):
        words[2] = "people.csv"
    if words[:2] == ["norms", "calibrate"]:
        words += ["--worlds", "100"]
    if words[:2] == ["staff", "set-up"]:
        words[words.index("--store") + 1] = "first.store"
    if words[0] in SIGNED_IN and "--store" in words:
        words += ["--passphrase-file", "words", *MORE.get(" ".join(words[:2]), ())]
    return words


def _visit() -> str:
    """The id of the visit in clinic.store."""
    visits = json.loads(Path("kept-findings.json").read_text("utf-8"))["visits"]
    return str(visits[-1]["visit"]["id"])


_REPLACED: dict[str, Callable[[], str]] = {
    "VISIT": _visit,
    "CODE": lambda: "K-0412-7",  # kiosk.demo.simulated_visits.demo_person
    "BACKUP": lambda: str(backups_in(Path("backups"))[-1].folder),
    "FOLDER": lambda: "demo_norms",
    "C": lambda: "another",
}
