"""Simulations: `kiosk demo` (visits, or the demo's reference table) and `kiosk pictures` (every screen)."""

import argparse

from kiosk.cli.composition import run_demo
from kiosk.cli.opening import say_recovery_code, signed_in
from kiosk.i18n.language import Language


def demo(chosen: argparse.Namespace, language: Language) -> int:
    if chosen.norms is not None:
        from kiosk.demo.reference_sample import write_demo_norms
        from kiosk.pursuit.battery import load_battery

        write_demo_norms(chosen.norms, chosen.seed, load_battery())
        return 0
    store = None if chosen.store is None else (chosen.store, signed_in(chosen, language))
    run_demo(chosen.out, seed=chosen.seed, visits=chosen.visits, language_tag=chosen.language,
             page_tag=chosen.page_language, window=not chosen.no_window, store=store,
             tell_code=lambda code: say_recovery_code(code, language))
    print(language.say("Page, findings and trials are in %(folder)s.", folder=chosen.out))
    return 0


def pictures(chosen: argparse.Namespace, language: Language) -> int:
    """In the languages, themes and panels asked for."""
    from kiosk.demo.picture_book import write_pictures

    count = write_pictures(chosen.out, *(getattr(chosen, name).split(",")
                                         for name in ("languages", "themes", "panels")))
    print(language.say("%(n)d pictures are in %(folder)s.", n=count, folder=chosen.out))
    return 0
