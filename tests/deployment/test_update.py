"""A signed update: what is refused, in one sentence and with nothing changed; what is switched, and back."""

import json
import shutil
import subprocess
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from zipfile import ZIP_STORED, ZipFile

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import load_pem_public_key

from kiosk.base.errors import Refused
from kiosk.deployment import update as steps
from kiosk.deployment.installed_versions import Installation
from kiosk.deployment.signed_update import (
    SIGNATURE,
    Target,
    came_by_update,
    new_key,
    read_update,
    sign_update,
)
from kiosk.deployment.update import Opener, go_back, install_update
from kiosk.deployment.version_folder import MANIFEST, Architecture, make_version, python_minor
from kiosk.i18n.language import load_language
from kiosk.wording.reasons import sentence
from tests.deployment.test_debian_package import wheel

HERE = Target("0.1.0", "amd64")


@dataclass
class FakeService:
    """Target's side: every program run gives a whole demo visit, unless the test says otherwise."""

    told: list[str] = field(default_factory=list)
    codes: dict[str, int] = field(default_factory=dict)
    page: bytes = b"%PDF-1.4 ... %%EOF\n"
    on_upgrade: Callable[[Path], None] = lambda store: None

    def stop(self) -> None:
        self.told.append("stop")

    def start(self) -> None:
        self.told.append("start")

    def give(self, place: Path) -> None:
        assert place.exists()

    def run(self, command: Sequence[str], home: Path, given: str) -> int:
        assert command[1:4] == ["-P", "-m", "kiosk"]
        name, words = command[4], list(command)
        self.told.append(name)
        if name == "demo":
            out = Path(words[-1])
            out.mkdir(parents=True)
            (out / "report.pdf").write_bytes(self.page)
            (out / "findings.json").write_text("{}")
        else:
            assert given == "the site's passphrase\n"
            self.on_upgrade(Path(words[words.index("--store") + 1]))
        return self.codes.get(name, 0)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Installation:
    """0.1.0 runs, brought by the Debian package; it has a store."""
    monkeypatch.setattr(steps, "SYSTEM_PYTHON", "/bin/true")
    made = Installation(tmp_path / "root")
    made.folder("0.1.0").mkdir(parents=True)
    made.package_installed("0.1.0")
    made.store().parent.mkdir(parents=True)
    made.store().write_text("visits")
    made.store().with_name("kiosk.store.keys").write_text("keys")
    return made


@pytest.fixture
def keys(tmp_path: Path) -> tuple[Path, Path]:
    """The maker's key and the one the machine knows."""
    return tmp_path / "maker", new_key(tmp_path / "maker")


def made_update(folder: Path, private: Path, version: str = "0.2.0", layout: int = 1,
                architecture: Architecture = Architecture.X86_64) -> Path:
    place = folder / f"version of {version}"
    thing = wheel(folder / "wheels", {"thing.py": b"x = 1\n" * 99})
    make_version(place, [thing], version, architecture, layout)
    file = folder / f"{version}.update"
    sign_update(place, private, file)
    shutil.rmtree(place)
    return file


def everything(root: Path) -> dict[str, str]:
    return {str(path.relative_to(root)): str(path.readlink()) if path.is_symlink() else
            path.read_text("latin-1") if path.is_file() else "" for path in sorted(root.rglob("*"))}


def refused(code: str, file: Path, public: Path, here: Installation, service: FakeService,
            opener: Opener | None = None) -> None:
    """The update is refused by one sentence, and all that is installed stands as it stood."""
    before = everything(here.root)
    with pytest.raises(Refused) as refusal:
        install_update(file, public, here, HERE, service, opener)
    assert refusal.value.code == code
    said = sentence(code, refusal.value.values, load_language("en"))
    assert said.endswith(".") and "\n" not in said
    assert everything(here.root) == before and service.told.count("stop") <= service.told.count("start")


def test_a_signed_update_is_unpacked_proved_switched_and_on_trial(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path]) -> None:
    service = FakeService()
    assert install_update(made_update(tmp_path, keys[0]), keys[1], here, HERE, service, None) == "0.2.0"
    assert service.told == ["demo", "stop", "start"]
    assert here.current() == "0.2.0" and here.on_trial() is not None
    assert came_by_update(here.folder("0.2.0")) and (here.folder("0.2.0") / "bin/python3").is_symlink()
    assert here.store().read_text() == "visits"
    go_back(here, service)
    assert here.current() == "0.1.0" and here.store().read_text() == "visits"
    with pytest.raises(Refused, match="no_version_before"):
        go_back(here, service)


def test_the_signature_is_that_of_the_manifest_s_bytes(tmp_path: Path, keys: tuple[Path, Path]) -> None:
    """Checked with the library's own verification, on the bytes in the file."""
    with ZipFile(made_update(tmp_path, keys[0])) as archive:
        content, signature = archive.read(MANIFEST), archive.read(SIGNATURE)
    key = load_pem_public_key(keys[1].read_bytes())
    key.verify(signature, content)  # type: ignore[union-attr,call-arg]
    assert len(signature) == 64


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl (openssl)")
def test_another_program_finds_the_signature_good(tmp_path: Path, keys: tuple[Path, Path]) -> None:
    with ZipFile(made_update(tmp_path, keys[0])) as archive:
        for name in (MANIFEST, SIGNATURE):
            (tmp_path / name).write_bytes(archive.read(name))
    command = ["openssl", "pkeyutl", "-verify", "-pubin", "-inkey", keys[1], "-rawin", "-in",
               tmp_path / MANIFEST, "-sigfile", tmp_path / SIGNATURE]
    assert subprocess.run(command, capture_output=True).returncode == 0
    (tmp_path / MANIFEST).write_bytes((tmp_path / MANIFEST).read_bytes() + b" ")
    assert subprocess.run(command, capture_output=True).returncode != 0


def test_the_same_version_and_key_give_the_same_file(tmp_path: Path, keys: tuple[Path, Path]) -> None:
    one, another = (made_update(tmp_path / folder, keys[0]) for folder in ("a", "b"))
    assert one.read_bytes() == another.read_bytes()


def test_a_wrong_key_a_missing_key_and_a_key_of_another_kind_are_refused(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path]) -> None:
    file = made_update(tmp_path, keys[0])
    refused("update_not_signed", file, new_key(tmp_path / "another"), here, FakeService())
    refused("key_unreadable", file, tmp_path / "nowhere.pub", here, FakeService())
    refused("key_unreadable", file, keys[0], here, FakeService())


def test_every_cut_and_every_changed_part_of_the_file_is_refused(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path]) -> None:
    file = made_update(tmp_path, keys[0])
    whole, cut = file.read_bytes(), tmp_path / "cut.update"
    for length in (0, 1, 100, len(whole) // 2, len(whole) - 1):
        cut.write_bytes(whole[:length])
        refused("update_unreadable", cut, keys[1], here, FakeService())
    with ZipFile(file) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    thing = next(name for name in members if name.endswith("thing.py"))
    manifest = json.loads(members[MANIFEST])
    newer = json.dumps({**manifest, "version": "9.0.0"}).encode()
    for code, changed in (
            ("update_changed", {**members, thing: b"x = 2\n"}),
            ("update_changed", {name: content for name, content in members.items() if name != thing}),
            ("update_changed", {**members, "lib/more.py": b""}),
            ("update_not_signed", {**members, MANIFEST: newer}),
            ("update_not_signed", {**members, SIGNATURE: bytes(64)}),
            ("update_unreadable", {name: content for name, content in members.items() if name != SIGNATURE})):
        with ZipFile(cut, "w", ZIP_STORED) as archive:
            for name, content in changed.items():
                archive.writestr(name, content)
        refused(code, cut, keys[1], here, FakeService())


def test_a_signed_member_that_leads_out_of_the_folder_is_refused(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path]) -> None:
    """Even the maker's own key does not write outside a version."""
    manifest = json.dumps({"format": 1, "version": "0.2.0", "python": python_minor(), "architecture": "amd64",
                           "store_layout": 1, "files": {"../../outside": "0"}}).encode()
    private = tmp_path / "maker"
    file = tmp_path / "bad.update"
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    key = load_pem_private_key(private.read_bytes(), None)
    assert isinstance(key, Ed25519PrivateKey)
    with ZipFile(file, "w") as archive:
        archive.writestr(MANIFEST, manifest)
        archive.writestr(SIGNATURE, key.sign(manifest))
        archive.writestr("../../outside", b"")
    refused("update_unreadable", file, keys[1], here, FakeService())


@pytest.mark.parametrize(("code", "version", "architecture"), [
    ("update_not_newer", "0.1.0", Architecture.X86_64),
    ("update_not_newer", "0.0.9", Architecture.X86_64),
    ("update_not_newer", "0.2.0rc1", Architecture.X86_64),
    ("update_for_other_machine", "0.2.0", Architecture.AARCH64)])
def test_older_same_and_foreign_versions_are_refused(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path], code: str, version: str,
        architecture: Architecture) -> None:
    refused(code, made_update(tmp_path, keys[0], version, 1, architecture), keys[1], here, FakeService())


@pytest.mark.parametrize("service", [
    FakeService(codes={"demo": 1}), FakeService(codes={"demo": -9}), FakeService(page=b""),
    FakeService(page=b"%PDF-1.4 cut")], ids=["refuses", "killed", "no page", "half a page"])
def test_a_version_that_does_not_come_through_a_demo_visit_never_runs(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path], service: FakeService) -> None:
    refused("update_proves_nothing", made_update(tmp_path, keys[0]), keys[1], here, service)
    assert "stop" not in service.told  # the kiosk that runs is not disturbed


def test_a_new_layout_is_made_on_a_copy_and_both_stores_are_kept_on_the_way_back(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path]) -> None:
    service = FakeService(on_upgrade=lambda store: store.write_text("visits in layout 2") and None)
    file, opener = made_update(tmp_path, keys[0], layout=2), Opener("site", "the site's passphrase")
    refused("update_changes_store", file, keys[1], here, FakeService())
    install_update(file, keys[1], here, HERE, service, opener)
    assert service.told == ["demo", "stop", "upgrade", "audit", "start"]
    store = here.store()
    assert store.read_text() == "visits in layout 2"
    assert store.with_name("kiosk.store.before-0.2.0").read_text() == "visits"
    assert sorted(path.name for path in store.parent.iterdir()) == [
        "kiosk.store", "kiosk.store.before-0.2.0", "kiosk.store.keys"]
    store.write_text("visits in layout 2, and one more")
    go_back(here, service)
    assert store.read_text() == "visits"
    assert store.with_name("kiosk.store.of-0.2.0").read_text() == "visits in layout 2, and one more"


@pytest.mark.parametrize("step", ["upgrade", "audit"])
def test_a_store_that_cannot_be_changed_is_left_as_it_was(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path], step: str) -> None:
    service = FakeService(codes={step: 1}, on_upgrade=lambda store: store.write_text("half changed") and None)
    refused("update_store_not_changed", made_update(tmp_path, keys[0], layout=2), keys[1], here, service,
            Opener("site", "the site's passphrase"))
    assert service.told[-1] == "start"


def test_a_second_update_keeps_the_one_before_and_the_package_s_and_removes_what_is_older(
        tmp_path: Path, here: Installation, keys: tuple[Path, Path]) -> None:
    for version in ("0.2.0", "0.3.0", "0.10.0"):
        machine = Target(here.current(), "amd64")
        install_update(made_update(tmp_path, keys[0], version), keys[1], here, machine, FakeService(), None)
    kept = {path.name for path in here.folder("0.1.0").parent.iterdir()}
    assert kept == {"0.1.0", "0.3.0", "0.10.0"}  # the package's own is the package's to remove


def test_a_key_is_never_written_over_and_the_private_one_is_the_maker_s_alone(tmp_path: Path) -> None:
    public = new_key(tmp_path / "key")
    assert (tmp_path / "key").stat().st_mode & 0o777 == 0o600
    before = (tmp_path / "key").read_bytes()
    with pytest.raises(Refused, match="cannot_write"):
        new_key(tmp_path / "key")
    assert (tmp_path / "key").read_bytes() == before and b"PUBLIC KEY" in public.read_bytes()


def test_an_update_read_names_what_it_brings(tmp_path: Path, keys: tuple[Path, Path]) -> None:
    manifest = read_update(made_update(tmp_path, keys[0], layout=3), keys[1]).manifest
    assert (manifest.version, manifest.architecture, manifest.store_layout) == ("0.2.0", "amd64", 3)
