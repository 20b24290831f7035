"""The site check in words: what only the operating system can close, and how it stands on this machine."""

from typing import Final

from kiosk.i18n.language import Language
from kiosk.i18n.message import N_, Messages

WAYS_OUT: Final[Messages] = {
    "virtual_terminals": N_("Ctrl+Alt+F1 to F12 lead to a log-in (Xorg: Option DontVTSwitch true)"),
    "consoles": N_("A log-in waits on the other consoles (systemd: NAutoVTs=0, getty masked)"),
    "server_kill_key": N_("Ctrl+Alt+Backspace ends the display server (Xorg: Option DontZap true)"),
    "magic_keys": N_("Alt+SysRq reaches the kernel (sysctl: kernel.sysrq = 0)"),
    "screen_blanking": N_("The display goes dark by itself (Xorg: BlankTime, StandbyTime and OffTime 0)"),
    "autologin": N_("After a restart someone must log in (autologin of the kiosk's user)"),
    "window_manager": N_("A desktop around the kiosk has keys and gestures of its own"),
    "own_user": N_("The kiosk runs as the administrator (give it a user of its own)"),
    "spool_kept": N_("The print server keeps printed pages (cupsd.conf: PreserveJobFiles No)"),
    "usb_storage": N_("Storage that is plugged in may be opened (block usb-storage)"),
}
STATES: Final[Messages] = {
    "closed": N_("closed: %(way)s"),
    "open": N_("OPEN: %(way)s"),
    "not_known": N_("not known: %(way)s"),
}
CHANGES: Final[Messages] = {
    "made": N_("Written: %(file)s"),
    "undone": N_("Taken away: %(file)s"),
    "left": N_("Left as it is, not written by this command: %(file)s"),
}
BUNDLE_STEPS: Final[Messages] = {
    "wheels": N_("Fetching the libraries for %(name)s"),
    "debs": N_("Fetching the system's packages for %(name)s"),
    "package": N_("Making the package of version %(name)s"),
}


def way_out(code: str, language: Language) -> str:
    """What is open where it is not closed."""
    return language.say_message(WAYS_OUT[code])


def finding_line(code: str, state: str, language: Language) -> str:
    """One line of `check --site`."""
    words = way_out(code, language)
    return language.say_one_of(STATES, state, "state", way=words)


def change_line(path: str, outcome: str, language: Language) -> str:
    """One line of `check --fix` and `check --undo`; ValueError for an unknown outcome."""
    return language.say_one_of(CHANGES, outcome, "outcome", file=path)


def bundle_step(code: str, name: str, language: Language) -> str:
    """What making a bundle is busy with; ValueError for an unknown step."""
    return language.say_one_of(BUNDLE_STEPS, code, "step", name=name)


def version_lines(current: str, on_trial: bool, returned_from: str, language: Language) -> tuple[str, ...]:
    """Which version runs here, as `update` tells it; current: empty where none is installed."""
    say = language.say
    if not current:
        return (say("No version is installed here; this one runs from its own folder."),)
    running = say("Version %(version)s runs, on trial.", version=current) if on_trial else say(
        "Version %(version)s runs.", version=current)
    returned = say("Version %(version)s was left.", version=returned_from)
    return (running, returned) if returned_from else (running,)
