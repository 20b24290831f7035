"""`check`, `bundle` and `update`: a machine closed, an installation made, a version replaced."""

from argparse import Namespace
from collections.abc import Sequence

from kiosk import __version__
from kiosk.app.store_opening import asked_passphrase
from kiosk.base.errors import Refused, WrongUsage
from kiosk.base.settings import root_folder
from kiosk.deployment.bundle import make_bundle, own_architecture
from kiosk.deployment.installed_versions import Installation
from kiosk.deployment.machine_check import Machine, State, site_findings
from kiosk.deployment.machine_fixes import Done, Outcome, fix, undo
from kiosk.deployment.signed_update import Target, new_key
from kiosk.deployment.update import Opener, SystemService, go_back, install_update, is_administrator
from kiosk.i18n.language import Language
from kiosk.storage.tables import SCHEMA_REVISION
from kiosk.wording.site_words import bundle_step, change_line, finding_line, version_lines


def check(chosen: Namespace, language: Language) -> int:
    """Every way out that the kiosk itself cannot close, or the changes that close or open them again."""
    machine = Machine(chosen.root)
    if chosen.undo:
        return _say_changes(undo(machine), language)
    if chosen.fix:
        _say_changes(fix(machine), language)
    found = site_findings(machine)
    for one in found:
        print(finding_line(one.code, one.state.value, language))
    return 1 if any(one.state is State.OPEN for one in found) else 0


def _say_changes(done: Sequence[Done], language: Language) -> int:
    """Every change; 1 where one was left."""
    for one in done:
        print(change_line(f"/{one.change.path}", one.outcome.value, language))
    return 1 if any(one.outcome is Outcome.LEFT for one in done) else 0


def bundle(chosen: Namespace, language: Language) -> int:
    """All that a machine without a network needs, in one folder."""
    checkout = root_folder()
    if checkout is None:
        raise Refused("no_checkout")
    made = make_bundle(checkout, chosen.out, chosen.signing_key, SCHEMA_REVISION,
                       lambda step: print(bundle_step(step.code, step.name, language), flush=True))
    print(language.say("The bundle is in %(folder)s; its package is %(file)s.", folder=chosen.out,
                       file=made.name))
    return 0


def update(chosen: Namespace, language: Language) -> int:
    """A later version from its file, the one before, a new key for updates, or which version runs."""
    if sum((chosen.back, chosen.new_key is not None, chosen.file is not None)) > 1:
        raise WrongUsage("update_one_thing", {})
    if chosen.new_key is not None:
        print(language.say("Keep %(key)s secret; %(public)s goes to the machines.", key=chosen.new_key,
                           public=new_key(chosen.new_key)))
        return 0
    here = Installation()
    if chosen.back or chosen.file is not None:
        _switch(chosen, here, language)
    for line in version_lines(here.current(), here.on_trial() is not None, here.remembered().returned_from,
                              language):
        print(line)
    return 0


def _switch(chosen: Namespace, here: Installation, language: Language) -> None:
    if not is_administrator():
        raise Refused("needs_root")
    if chosen.back:
        go_back(here, SystemService())
        return
    opener = None
    if chosen.passphrase_file is not None:
        words = asked_passphrase(chosen.passphrase_file, language.say("Passphrase: "))
        opener = Opener(chosen.name, words)
    target = Target(here.current() or __version__, own_architecture().debian)
    install_update(chosen.file, chosen.key, here, target, SystemService(), opener)
