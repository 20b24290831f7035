"""Reference tables for another kiosk: the same fingerprint here and there, and nothing changed on the way."""

import zipfile

import pytest

from kiosk.base.errors import Refused
from kiosk.base.settings import demo_norms_folder
from kiosk.storage.engine import open_memory
from kiosk.storage.site_pack import load_pack, pack_of, read_pack, write_pack
from norms import pack_folder, read_folder
from tests.storage.examples import store_on


@pytest.fixture
def store():
    store, folder = store_on(open_memory()), demo_norms_folder()
    table = read_folder(folder)
    store.add_reference_table(table.sha256, table.name, table.version, table.status, pack_folder(folder))
    return store


def test_what_is_loaded_is_what_was_packed_with_the_same_fingerprint(store, tmp_path):
    pack, file = pack_of(store.ledger), tmp_path / "pack.zip"
    write_pack(pack, file)
    other = store_on(open_memory(), seed=2)
    found = read_pack(file)
    assert found.fingerprint == pack.fingerprint and len(pack.fingerprint) == 24
    assert (load_pack(other.ledger, found), load_pack(other.ledger, found)) == (1, 0)
    assert pack_of(other.ledger) == pack
    write_pack(pack_of(other.ledger), tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == file.read_bytes()


def test_a_pack_with_another_table_under_the_hash_is_refused(store, tmp_path):
    (facts, folder), = pack_of(store.ledger).tables
    with zipfile.ZipFile(tmp_path / "pack.zip", "w") as archive:
        archive.writestr("pack.json", '{"format":1,"tables":[{"sha256":"%s","name":"x"}]}' % ("0" * 64))
        archive.writestr("0" * 64 + ".zip", folder)
    with pytest.raises(Refused, match="site_pack_changed"):
        read_pack(tmp_path / "pack.zip")
    assert facts["sha256"] != "0" * 64


def test_what_is_no_pack_is_refused(tmp_path):
    (tmp_path / "a").write_bytes(b"no zip")
    for name in ("a", "b"):
        with pytest.raises(Refused, match="site_pack_unreadable"):
            read_pack(tmp_path / name)
