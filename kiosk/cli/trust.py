"""Signing keys and the site's trust list (`kiosk trust`), and the logins of the clinic's server."""

import argparse
import base64

from kiosk.app.store_opening import asked_passphrase
from kiosk.base.errors import Refused
from kiosk.cli.composition import machine
from kiosk.cli.opening import opened
from kiosk.i18n.language import Language
from kiosk.storage.accounts import require
from kiosk.storage.key_file import write_private
from kiosk.storage.server import address_from, clear_removed, open_server, set_login
from kiosk.storage.sync import own_public_key, trust
from kiosk.storage.trust_list import (
    fingerprint,
    new_key_file,
    open_key_file,
    public_key,
    read_list,
    signed_list,
)

PASSWORD_BYTES = 20


def _say_key(name: str, public: str, language: Language) -> None:
    print(language.say("%(name)s: key %(key)s, fingerprint %(fingerprint)s", name=name, key=public,
                       fingerprint=fingerprint(public)))


def _key_passphrase(chosen: argparse.Namespace, language: Language) -> str:
    return asked_passphrase(chosen.key_passphrase_file, language.say("Passphrase of the key: "))


def new_key(chosen: argparse.Namespace, language: Language) -> int:
    if chosen.key is None:
        raise Refused("signing_key_needed")
    key = new_key_file(chosen.key, _key_passphrase(chosen, language), machine().random_bytes)
    _say_key(chosen.key.name, public_key(key), language)
    return 0


def show(chosen: argparse.Namespace, language: Language) -> int:
    ledger = opened(chosen, language, read_only=True).store.ledger
    _say_key(ledger.kiosk_id, own_public_key(ledger), language)
    return 0


def sign(chosen: argparse.Namespace, language: Language) -> int:
    if chosen.key is None:
        raise Refused("signing_key_needed")
    key = open_key_file(chosen.key, _key_passphrase(chosen, language))
    before = read_list(chosen.file) if chosen.file.exists() else None
    kiosks = [(name, public) for name, public in chosen.kiosk]
    made = signed_list(key, before, kiosks, chosen.eraser, chosen.without, chosen.most_erased)
    write_private(chosen.file, made.as_text())
    _say_key(chosen.file.name, made.site, language)
    for name, public in (*made.kiosks, *((language.say("eraser"), one) for one in made.erasers)):
        _say_key(name, public, language)
    return 0


def load(chosen: argparse.Namespace, language: Language) -> int:
    found = read_list(chosen.file)
    this = opened(chosen, language)
    require(this.account, "site_lead")
    trust(this.store.ledger, found, chosen.fingerprint)
    for name, public in (*found.kiosks, *((language.say("eraser"), one) for one in found.erasers)):
        _say_key(name, public, language)
    return 0


def server_login(chosen: argparse.Namespace, language: Language) -> int:
    """A login with a new random password, written to a file only; the same again gives it another."""
    password = base64.b32encode(machine().random_bytes(PASSWORD_BYTES)).decode()
    set_login(open_server(address_from(chosen.server)), chosen.login, password, chosen.kiosk, chosen.clinic)
    write_private(chosen.password_out, password + "\n")
    print(language.say("%(login)s has a new password, in %(file)s.", login=chosen.login,
                       file=chosen.password_out))
    return 0


def server_clear(chosen: argparse.Namespace, language: Language) -> int:
    clear_removed(open_server(address_from(chosen.server)))
    print(language.say("The server's tables were written anew; its log keeps what was erased until it is "
                       "rotated."))
    return 0
