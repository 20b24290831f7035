"""The site's part: the tablet measured by card, crosses, check and latency; reference groups; language.

Outline in pixels, crosses in millimetres, latency in frames of the camera. What was found stands on
`figures` until it is kept or left.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from kiosk.base.errors import Refused
from kiosk.touch.card_calibration import CARD_HEIGHT_MM, CARD_WIDTH_MM, CardReading, from_card
from kiosk.touch.cross_check import CROSSES_MM, check_crosses
from kiosk.touch.device_check import DeviceCheck
from kiosk.touch.latency import from_video
from kiosk.visits.desk_pad import DIGITS, on, typed
from kiosk.visits.desk_state import DeskState, Handler, Moved
from kiosk.visits.site_work import SiteWork, TableRow
from norms import Refusal

START_PX_PER_MM: Final = (4.0, 7.0)  # both rounds start wrong, from below and from above, and are fitted anew
LEAST_PX: Final = 20.0
ROUNDS: Final = 2
STEPS_PX: Final = (1, 10, 100)


def tables_told(state: DeskState, tables: Sequence[TableRow]) -> DeskState:
    """The reference tables that are there, and the folders that may be loaded."""
    return replace(on(state, "tables"), tables=tuple(tables))


def device_checked(state: DeskState, found: DeviceCheck | Refusal) -> DeskState:
    """The recording of a device check has been judged, or why it could not be."""
    site = replace(state.site, checking=False)
    if isinstance(found, Refusal):
        return replace(state, site=site, refusal=found)
    return replace(on(state, "figures"), site=replace(site, check=found), figures="check")


def kept(state: DeskState, **known: Any) -> DeskState:
    """The figures are in the archive."""
    return replace(on(state, "tablet"), site=replace(state.site, **known))


def _site(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "today"), ("today",)
    if verb == "site" and rest in ("tables", "staff"):
        return state, (rest,)
    screens: Final = {"tablet": "tablet", "languages": "languages", "own": "own", "backup": "backup"}
    return (on(state, screens[rest]), ()) if verb == "site" and rest in screens else (state, ())  # type: ignore[arg-type]


def _tablet(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "site"), ()
    if verb != "tablet":
        return state, ()
    if rest == "card":
        return replace(on(state, "card"), site=_new_round(replace(state.site, rounds=()))), ()
    if rest == "crosses":
        return replace(on(state, "crosses"), site=replace(state.site, touches_mm=())), ("watch_crosses",)
    if rest == "check":
        return replace(on(state, "device_check"), site=replace(state.site, checking=False)), ()
    if rest == "latency":
        return replace(on(state, "latency"), site=replace(state.site, camera_hz=None, frames=())), ()
    return state, ()


def _new_round(site: SiteWork) -> SiteWork:
    px_per_mm = START_PX_PER_MM[len(site.rounds) % ROUNDS]
    return replace(site, axis="width", outline_px=(CARD_WIDTH_MM * px_per_mm, CARD_HEIGHT_MM * px_per_mm))


def _card(state: DeskState, verb: str, rest: str) -> Moved:
    site = state.site
    if verb == "back":
        return on(state, "tablet"), ()
    if verb in ("wider", "narrower") and rest.isdecimal():
        return replace(state, site=_resized(site, int(rest) * (1 if verb == "wider" else -1))), ()
    if verb != "next":
        return state, ()
    if site.axis == "width":
        return replace(state, site=replace(site, axis="height"), refusal=None), ()
    site = replace(site, rounds=(*site.rounds, CardReading(*site.outline_px)))
    if len(site.rounds) < ROUNDS:
        return replace(state, site=_new_round(site)), ()
    return _measured(state, site), ()


def _resized(site: SiteWork, by_px: int) -> SiteWork:
    at, most = (0, site.window_px[0]) if site.axis == "width" else (1, site.window_px[1])
    outline = list(site.outline_px)
    outline[at] = min(max(outline[at] + by_px, LEAST_PX), float(most))
    return replace(site, outline_px=(outline[0], outline[1]))


def _measured(state: DeskState, site: SiteWork) -> DeskState:
    try:
        measured = from_card(site.rounds, site.window_px)
    except Refused as refusal:
        again = _new_round(replace(site, rounds=()))
        return replace(state, site=again, refusal=Refusal(refusal.code, refusal.values))
    return replace(on(state, "figures"), site=replace(site, measured=measured), figures="calibration")


def _crosses(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "tablet"), ()
    if verb != "cross":
        return state, ()
    x_mm, y_mm = (float(part) for part in rest.split())
    site = replace(state.site, touches_mm=(*state.site.touches_mm, (x_mm, y_mm)))
    if len(site.touches_mm) < len(CROSSES_MM):
        return replace(state, site=site), ()
    site = replace(site, crosses=check_crosses(site.touches_mm))
    return replace(on(state, "figures"), site=site, figures="crosses"), ()


def _device_check(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "tablet"), ()
    if verb == "start_check" and not state.site.checking:
        return replace(state, site=replace(state.site, checking=True), refusal=None), ("begin_check",)
    return state, ()


def _latency(state: DeskState, verb: str, rest: str) -> Moved:
    site = state.site
    if verb == "back":
        return on(state, "tablet"), ()
    if verb == "next" and state.entered:
        number = float(state.entered)
        taken = replace(site, frames=(*site.frames, number)) if site.camera_hz else (
            replace(site, camera_hz=number))
        return replace(state, site=taken, entered="", refusal=None), ()
    if verb == "done" and site.camera_hz:
        return _latency_found(state, site.frames, site.camera_hz), ()
    return typed(state, verb, rest, DIGITS, 4), ()


def _latency_found(state: DeskState, frames: tuple[float, ...], camera_hz: float) -> DeskState:
    try:
        latency = from_video(frames, camera_hz)
    except Refused as refusal:
        return replace(state, refusal=Refusal(refusal.code, refusal.values))
    return replace(on(state, "figures"), site=replace(state.site, latency=latency), figures="latency")


def _figures(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "next":
        return state, (f"keep {state.figures}",)
    return (on(state, "tablet"), ()) if verb == "back" else (state, ())


def _tables(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "site"), ()
    if verb == "table" and any(row.folder == rest and not row.in_use for row in state.tables):
        return replace(state, table_wanted=rest), ("load_table",)
    return state, ()


def _languages(state: DeskState, verb: str, rest: str) -> Moved:
    if verb == "back":
        return on(state, "site"), ()
    tag = rest.removeprefix("language ")
    if verb == "set" and tag in state.languages:
        return replace(state, language=tag), ("language",)
    return state, ()


def _refused(state: DeskState, verb: str, rest: str) -> Moved:
    if verb != "back":
        return state, ()
    return on(state, state.back_to), ("today",) if state.back_to == "today" else ()


HANDLERS: Final[Mapping[str, Handler]] = {
    "site": _site, "tablet": _tablet, "card": _card, "crosses": _crosses, "device_check": _device_check,
    "latency": _latency, "figures": _figures, "tables": _tables, "languages": _languages,
    "refused": _refused,
}
