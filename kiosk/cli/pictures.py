"""`kiosk pictures`: every screen as a picture, in the languages, themes and panels asked for."""

import argparse
from pathlib import Path

from kiosk.i18n.language import Language


def picture_options(parser: argparse.ArgumentParser) -> None:
    """Folder, languages, themes, panels."""
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    parser.add_argument("--languages", default="en", metavar="TAG,TAG")
    parser.add_argument("--themes", default="dark,light", metavar="dark,light")
    parser.add_argument("--panels", default="A,B", metavar="A,B")
    parser.set_defaults(run=_pictures)


def _pictures(chosen: argparse.Namespace, language: Language) -> int:
    from kiosk.demo.picture_book import write_pictures

    count = write_pictures(chosen.out, *(getattr(chosen, name).split(",")
                                         for name in ("languages", "themes", "panels")))
    print(language.say("%(n)d pictures are in %(folder)s.", n=count, folder=chosen.out))
    return 0
