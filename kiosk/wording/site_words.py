"""The site check in words: what only the operating system can close, and how it stands on this machine."""

from collections.abc import Callable, Mapping
from typing import Final

from kiosk.i18n.language import Language

WAYS_OUT: Final[Mapping[str, Callable[[Callable[..., str]], str]]] = {
    "virtual_terminals": lambda say: say(
        "Ctrl+Alt+F1 to F12 lead to a log-in (Xorg: Option DontVTSwitch true)"),
    "server_kill_key": lambda say: say(
        "Ctrl+Alt+Backspace ends the display server (Xorg: Option DontZap true)"),
    "magic_keys": lambda say: say("Alt+SysRq reaches the kernel (sysctl: kernel.sysrq = 0)"),
    "screen_blanking": lambda say: say(
        "The display goes dark by itself (Xorg: BlankTime, StandbyTime and OffTime 0)"),
    "autologin": lambda say: say("After a restart someone must log in (autologin of the kiosk's user)"),
    "window_manager": lambda say: say("A desktop around the kiosk has keys and gestures of its own"),
    "own_user": lambda say: say("The kiosk runs as the administrator (give it a user of its own)"),
    "spool_kept": lambda say: say("The print server keeps printed pages (cupsd.conf: PreserveJobFiles No)"),
    "usb_storage": lambda say: say("Storage that is plugged in may be opened (block usb-storage)"),
}


def way_out(code: str, language: Language) -> str:
    """What is open where it is not closed."""
    return WAYS_OUT[code](language.say)


def finding_line(code: str, state: str, language: Language) -> str:
    """One line of `check --site`."""
    words = way_out(code, language)
    if state == "closed":
        return language.say("closed: %(way)s", way=words)
    if state == "open":
        return language.say("OPEN: %(way)s", way=words)
    return language.say("not known: %(way)s", way=words)
