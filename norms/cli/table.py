"""The commands on a table folder as it stands: `norms check` and `norms show`."""

import argparse

from norms.cli.formatting import table_lines
from norms.cli.output import write_pictures
from norms.cli.verify import statement_lines
from norms.cli.worth import worth_lines
from norms.table.folder import read_folder


def run_check(asked: argparse.Namespace) -> int:
    """Read a folder; every fault is raised together as TableFaults."""
    table = read_folder(asked.folder)
    print(f"{table.name}: no fault found in {len(table.measures)} measures and {len(table.rows)} rows.")
    return 0


def run_show(asked: argparse.Namespace) -> int:
    """Print what a table holds and what it is worth; where asked, write its pictures."""
    table = read_folder(asked.folder)
    print("\n".join([*table_lines(table), *worth_lines(table), *statement_lines(table)]))
    if asked.pictures:
        from norms.build.pictures import table_pictures
        write_pictures({asked.pictures / name: text for name, text in table_pictures(table).items()})
    return 0
