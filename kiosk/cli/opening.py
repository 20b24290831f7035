"""Opening the store that a command names, with the passphrase of whoever runs the command.

A passphrase comes from the first line of a file or is asked for on the terminal, never from an option.
"""

import argparse

from kiosk.app.store_opening import Opened, SignIn, asked_passphrase, open_store
from kiosk.cli.composition import machine
from kiosk.i18n.language import Language


def signed_in(chosen: argparse.Namespace, language: Language) -> SignIn:
    """The account and passphrase that open the store."""
    return SignIn(asked_passphrase(chosen.passphrase_file, language.say("Passphrase: ")), chosen.name)


def opened(chosen: argparse.Namespace, language: Language, *, read_only: bool = False) -> Opened:
    """The store, its keys and the account."""
    return open_store(chosen.store, signed_in(chosen, language), machine(), read_only=read_only)


def say_recovery_code(code: str, language: Language) -> None:
    """The recovery code of a new store, or the new one after a recovery; it is kept nowhere."""
    print(language.say("Recovery code, told this once: %(code)s", code=code), flush=True)
