"""The bill of materials and the licence list: valid to outside readers, whole, and of these very parts.

Outside: the schema of CycloneDX 1.6 and the list of SPDX licences, both as cyclonedx-python-lib and
license-expression carry them.
"""

import json
import re
from importlib.metadata import PackageNotFoundError, version

import pytest
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from license_expression import get_spdx_licensing

from kiosk import __version__
from kiosk.base.system_packages import SYSTEM_PACKAGES
from kiosk.i18n.fonts import FONT_FILES
from tests.bill_of_materials import (
    BILL,
    DEBIAN,
    IN_WORDS,
    INSTALLED_FOR_A_KIOSK,
    LIST,
    WINDOWS_ONLY,
    bill_text,
    list_text,
)
from tests.lock import RUN_LOCK, blocks

WRITTEN = json.loads(BILL.read_text("utf-8"))
PARTS = WRITTEN["components"]
AGAIN = "out of date: run python -m tests.bill_of_materials"


def test_both_files_are_what_the_command_writes_today() -> None:
    assert BILL.read_text("utf-8") == bill_text(), AGAIN
    assert LIST.read_text("utf-8") == list_text(), AGAIN


def test_the_bill_follows_the_schema_of_cyclonedx() -> None:
    found = JsonStrictValidator(SchemaVersion.V1_6).validate_str(BILL.read_text("utf-8"))
    assert found is None, str(found)[:300]
    broken = {**WRITTEN, "components": [{"name": "no type"}]}
    assert JsonStrictValidator(SchemaVersion.V1_6).validate_str(json.dumps(broken)) is not None


@pytest.mark.parametrize("part", [WRITTEN["metadata"]["component"], *PARTS], ids=lambda part: part["bom-ref"])
def test_every_licence_is_an_expression_that_spdx_knows(part: dict[str, list[dict[str, str]]]) -> None:
    (told,) = part["licenses"]
    known = re.sub(r"LicenseRef-[\w.-]+", "MIT", told["expression"])  # a name of our own, as SPDX allows
    assert get_spdx_licensing().validate(known).errors == []


def test_every_locked_wheel_is_named_with_its_version() -> None:
    pins = {block.split()[0].replace("==", "@") for block in blocks(RUN_LOCK.read_text("utf-8"))}
    wheels = {part["purl"].removeprefix("pkg:pypi/") for part in PARTS if "pypi" in part.get("purl", "")}
    assert wheels == pins
    assert WRITTEN["metadata"]["component"]["version"] == __version__


def test_every_font_file_is_named_with_its_hash() -> None:
    named = {file["name"] for part in PARTS for file in part.get("components", ())}
    assert named == {path.name for path in FONT_FILES.glob("*.ttf")}


def test_every_system_package_that_set_up_installs_for_a_kiosk_is_named_and_no_other() -> None:
    installed = {one.name for one in SYSTEM_PACKAGES if one.use in INSTALLED_FOR_A_KIOSK}
    assert {part["name"] for part in PARTS if "pkg:deb" in part.get("purl", "")} == installed == set(DEBIAN)


def test_dependencies_lead_from_the_program_to_every_part() -> None:
    """But for what Windows alone needs of the packages that are not installed here."""
    leads = {told["ref"]: told["dependsOn"] for told in WRITTEN["dependencies"]}
    reached, waiting = set[str](), ["pursuit-kiosk"]
    while waiting:
        ref = waiting.pop()
        if ref not in reached:
            reached.add(ref)
            waiting += leads.get(ref, [])
    missed = {part["name"] for part in PARTS if part["bom-ref"] not in reached}
    assert missed <= set(WINDOWS_ONLY)


@pytest.mark.parametrize("name", WINDOWS_ONLY)
def test_only_what_is_not_installed_has_a_licence_told_without_its_metadata(name: str) -> None:
    with pytest.raises(PackageNotFoundError):
        version(name)
    assert name not in IN_WORDS
