"""Write the bill of materials and the licence list anew: `python -m tests.bill_of_materials`.

kiosk/base/bill_of_materials.json (CycloneDX 1.6) and kiosk/base/licences.md name what a kiosk is made of: the
wheels of kiosk/requirements.txt, the shipped fonts, and the Debian packages that set-up installs. Licences of
wheels come from their own metadata, so this is run where they are installed; only what no metadata tells is
told here. The same parts give the same bytes: there is no time and no chance in them.
"""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from importlib.metadata import PackageNotFoundError, metadata, requires
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from kiosk import __version__
from kiosk.base.system_packages import SYSTEM_PACKAGES, Use
from kiosk.i18n.fonts import FONT_FILES
from tests.cut_fonts import SOURCES
from tests.lock import ROOT, RUN_LOCK, blocks

BILL = ROOT / "kiosk" / "base" / "bill_of_materials.json"
LIST = ROOT / "kiosk" / "base" / "licences.md"
INSTALLED_FOR_A_KIOSK = (Use.SET_UP, Use.WINDOW, Use.KIOSK)

# What the metadata of a wheel say in words of their own, as SPDX names it; read in the wheel's licence files.
IN_WORDS = {
    "docutils": "BSD-2-Clause AND 0BSD AND GPL-3.0-or-later AND LicenseRef-public-domain",
    "pypdfium2": "BSD-3-Clause AND Apache-2.0 AND LicenseRef-PDFium-and-its-dependencies",
    "reportlab": "BSD-3-Clause",
    "scipy": "BSD-3-Clause AND BSD-3-Clause-Open-MPI AND LGPL-2.1-or-later"
    " AND GPL-3.0-or-later WITH GCC-exception-3.1",
    "sqlcipher3": "Zlib",
    "uharfbuzz": "Apache-2.0",
}
# Wheels for Windows alone, not installed here; read in their metadata (pypiwin32 says nothing: it is empty).
WINDOWS_ONLY = {
    "kivy-deps-angle": "MIT",
    "kivy-deps-glew": "MIT",
    "kivy-deps-sdl2": "Zlib",
    "pypiwin32": "PSF-2.0",
    "pywin32": "PSF-2.0",
}
# As /usr/share/doc/NAME/copyright of Debian 12 tells, of the part that is used.
DEBIAN = {
    "cups-client": "Apache-2.0",
    "libasound2": "LGPL-2.1-or-later",
    "libegl1": "MIT",
    "libfribidi0": "LGPL-2.1-or-later",
    "libgl1": "MIT",
    "libxi6": "MIT-open-group",
    "libxrandr2": "HPND-sell-variant",
    "python3-venv": "PSF-2.0",
}


def bill() -> dict[str, Any]:
    """The bill of materials as CycloneDX 1.6 has it."""
    parts = [*_wheels(), *_fonts(), *_system_packages()]
    itself = {
        "type": "application", "bom-ref": "pursuit-kiosk", "name": "pursuit-kiosk", "version": __version__,
        "licenses": _expression("BSD-3-Clause"),
    }  # fmt: skip
    told = json.dumps([itself, parts], sort_keys=True)
    return {
        "$schema": "http://cyclonedx.org/schema/bom-1.6.schema.json",
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "serialNumber": f"urn:uuid:{uuid5(NAMESPACE_URL, told)}",
        "version": 1,
        "metadata": {"component": itself},
        "components": parts,
        "dependencies": _dependencies(parts),
    }


def bill_text() -> str:
    """The bill of materials as its file holds it."""
    return json.dumps(bill(), indent=1, ensure_ascii=False) + "\n"


def list_text() -> str:
    """The licence list, for people: a table for each kind of part."""
    rows = {kind: [_row(part) for part in bill()["components"] if _kind(part) == kind] for kind in _HEADINGS}
    tables = (
        f"## {heading}\n| part | version | licence |\n|---|---|---|\n" + "\n".join(rows[kind])
        for kind, heading in _HEADINGS.items()
    )
    return _INTRODUCTION.format(version=__version__) + "\n" + "\n\n".join(tables) + "\n"


_INTRODUCTION = """# Licences of all parts
Made by `python -m tests.bill_of_materials`, from the same facts as `bill_of_materials.json` beside it.
The program itself, version {version}: BSD-3-Clause. The names are those of SPDX.
"""
_HEADINGS = {
    "wheel": "Wheels, with their licence texts in NAME.dist-info of the environment",
    "font": "Fonts, with their licence texts in kiosk/i18n/font_files",
    "system": "Packages of Debian 12, with their licence texts in /usr/share/doc/NAME/copyright",
}


def _wheels() -> Iterator[dict[str, Any]]:
    for block in blocks(RUN_LOCK.read_text("utf-8")):
        pinned = re.match(r"([a-z0-9.-]+)==([^ ;]+)(?: ; ([^\\\n]+?))? *\\", block)
        if pinned is None:
            raise ValueError(f"a pin must be NAME==VERSION with hashes, is {block[:60]!r}")
        name, version, only_where = pinned.groups()
        part = {
            "type": "library", "bom-ref": f"pkg:pypi/{name}@{version}", "name": name, "version": version,
            "licenses": _expression(licence_of_wheel(name)), "purl": f"pkg:pypi/{name}@{version}",
        }  # fmt: skip
        where = [{"name": "pursuit-kiosk:only-where", "value": only_where}] if only_where else []
        yield {**part, "properties": where} if where else part


def licence_of_wheel(name: str) -> str:
    """The SPDX expression of a wheel's licence, from its metadata where they hold one."""
    if name in WINDOWS_ONLY:
        return WINDOWS_ONLY[name]
    told = metadata(name)
    return IN_WORDS.get(name) or told["License-Expression"] or told["License"]


def _fonts() -> Iterator[dict[str, Any]]:
    for family, source in json.loads((FONT_FILES / SOURCES).read_text("utf-8")).items():
        files = [
            {"type": "file", "name": name, "hashes": [{"alg": "SHA-256", "content": content}]}
            for name, content in source["files"].items()
        ]
        yield {
            "type": "data", "bom-ref": f"font:{family}",
            "name": source["source"], "version": source["version"],
            "description": f"static fonts cut from {source['source_file']}",
            "licenses": _expression(source["licence"]), "copyright": source["copyright"], "components": files,
        }  # fmt: skip


def _system_packages() -> Iterator[dict[str, Any]]:
    for package in SYSTEM_PACKAGES:
        if package.use in INSTALLED_FOR_A_KIOSK:
            purl = f"pkg:deb/debian/{package.name}?distro=debian-12"
            yield {
                "type": "library", "bom-ref": purl, "name": package.name, "description": package.needed_for,
                "licenses": _expression(DEBIAN[package.name]), "purl": purl,
            }  # fmt: skip


def _dependencies(parts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    refs: dict[str, list[str]] = {}
    for part in parts:
        refs.setdefault(part["name"], []).append(part["bom-ref"])
    of_itself = [ref for name in _declared() for ref in refs.get(name, ())]
    of_itself += [part["bom-ref"] for part in parts if _kind(part) != "wheel"]
    told = [{"ref": "pursuit-kiosk", "dependsOn": sorted(of_itself)}]
    for part in parts:
        if _kind(part) == "wheel" and (needed := _needed_by(part["name"], refs)):
            told.append({"ref": part["bom-ref"], "dependsOn": needed})
    return told


def _declared() -> Iterator[str]:
    """What pyproject.toml declares to run with, and what the extras asked for bring."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    for asked in map(Requirement, project["dependencies"]):
        yield canonicalize_name(asked.name)
        for extra in asked.extras:
            brought = (Requirement(one) for one in requires(asked.name) or ())
            yield from (canonicalize_name(one.name) for one in brought if f'"{extra}"' in str(one.marker))


def _needed_by(name: str, refs: Mapping[str, list[str]]) -> list[str]:
    """What a wheel needs of the others, on any system; extras that nobody asked for are left out."""
    try:
        asked = [Requirement(one) for one in requires(name) or ()]
    except PackageNotFoundError:
        return []
    plain = {canonicalize_name(one.name) for one in asked if "extra" not in str(one.marker)}
    return sorted(ref for one in plain for ref in refs.get(one, ()))


def _kind(part: Mapping[str, Any]) -> str:
    if part["type"] == "data":
        return "font"
    return "wheel" if part["purl"].startswith("pkg:pypi/") else "system"


def _row(part: Mapping[str, Any]) -> str:
    version, (licence,) = part.get("version", "of the system"), part["licenses"]
    return f"| {part['name']} | {version} | {licence['expression']} |"


def _expression(spdx: str) -> list[dict[str, str]]:
    return [{"expression": spdx}]


def main() -> None:
    """Write both files."""
    for path, text in ((BILL, bill_text()), (LIST, list_text())):
        path.write_text(text, "utf-8", newline="\n")


if __name__ == "__main__":
    main()
