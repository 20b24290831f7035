"""The command `norms build`: a sample file in, a table folder with its checks out, or what is still missing.

Beside the files of the table FOLDER/checks/ holds sheet.txt, checks.json (unrounded) and the pictures.
"""

import argparse
import json
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from norms.build.bootstrap import REFITS
from norms.build.build import Built, build_table
from norms.build.pictures import sample_pictures
from norms.build.provenance import ProvenanceSheet, sheet_of, sheet_text, verdict_lines
from norms.build.sample import Progress, Sample, read_sample
from norms.build.template import QUESTIONS, Template, read_template, template
from norms.cli.arguments import age_edges
from norms.cli.formatting import table_lines
from norms.cli.output import as_json
from norms.table.folder import write_folder
from norms.table.reasons import Fault, TableFaults

CHECKS = "checks"
OnSheet = Callable[[ProvenanceSheet, Path], None]


def run_build(
    asked: argparse.Namespace, now: datetime, progress: Progress, on_sheet: OnSheet | None = None
) -> int:
    """Build, write and judge; 1 where the verdict is not yet. `on_sheet` gets the sheet and its folder."""
    if asked.questions is not None:
        write_questions(asked.questions)
        print(f"Answer what you can in {asked.questions.name}, then give it with --template.")
        return 0
    said = _said(asked)
    if asked.out.exists() and not asked.out.is_dir():
        raise TableFaults([Fault(asked.out.name, None, None, "must be a folder")])
    filled = template(said, now.strftime("%Y-%m-%dT%H:%M:%SZ"))
    with asked.sample.open("rb") as file:
        sample = read_sample(asked.sample.name, file, asked.device_class, progress)
    built = build_table(sample, filled, asked.seed, progress)
    if built.table is not None:
        _write(asked.out, built, sample, filled, asked.seed, on_sheet)
        print("\n".join(table_lines(built.table)))
    print("\n".join(verdict_lines(built.verdict, filled.warn_n if built.files else filled.floor_n)))
    return 0 if built.files else 1


def write_questions(path: Path) -> None:
    """The template file that asks for what a sample cannot say."""
    path.write_text(json.dumps(QUESTIONS, indent=1, ensure_ascii=False) + "\n", "utf-8")


def _said(asked: argparse.Namespace) -> Mapping[str, object]:
    said = read_template(asked.template.read_bytes()) if asked.template else {}
    said |= {"name": asked.name} if asked.name else {}
    said |= {"bands": age_edges(asked.bands)} if asked.bands else {}
    said |= {"method": asked.method} if asked.method else {}
    if asked.status:
        reference = said.get("reference_table", {})
        said["reference_table"] = {
            **(reference if isinstance(reference, dict) else {}),
            "status": asked.status,
        }
    return said


def _write(
    out: Path, built: Built, sample: Sample, filled: Template, seed: int, on_sheet: OnSheet | None
) -> None:
    if built.table is None:
        raise TypeError("built, must hold a table to write, got none")
    write_folder(out, built.files)
    sheet = sheet_of(built.verdict, sample, built.table, _made(filled, seed))
    checks = out / CHECKS
    checks.mkdir(exist_ok=True)
    (checks / "sheet.txt").write_text(sheet_text(sheet), "utf-8")
    (checks / "checks.json").write_text(
        json.dumps(as_json(built.verdict), indent=1, allow_nan=False) + "\n", "utf-8"
    )
    for name, picture in sample_pictures(sample, built.book, built.table).items():
        (checks / name).write_text(picture, "utf-8")
    if on_sheet is not None:
        on_sheet(sheet, checks)


def _made(filled: Template, seed: int) -> tuple[str, ...]:
    if filled.method == "bands":
        return (f"raw age bands {', '.join(f'{edge:g}' for edge in filled.bands)}",)
    through = (
        "through age bands " + ", ".join(f"{edge:g}" for edge in filled.bands)
        if filled.method == "smoothed_bands"
        else "to every person at their age"
    )
    return (
        f"mean and log SD smooth in age, fitted {through}; rows of one year",
        f"as how many people a row is good: {REFITS} refits to people drawn anew, seed {seed}",
    )
