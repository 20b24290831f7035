"""The composition root: the only place that makes clocks, ids and random numbers.

It puts the packages together for the demo and for the kiosk itself.
"""

import os
import secrets
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from kiosk.app.conclusion import Conclusion
from kiosk.app.context import Context, demo_table
from kiosk.app.leaflet import leaflet_of
from kiosk.app.store_access import FileStoreAccess
from kiosk.app.store_opening import Machine, SignIn, memory_store, open_or_set_up
from kiosk.app.supervisor import keep_running
from kiosk.base.settings import PACKAGE
from kiosk.cli.progress import with_progress
from kiosk.demo.files import check_writable, write_demo
from kiosk.demo.simulated_visits import (
    FRAME_S,
    PANEL,
    RANGES,
    DemoStage,
    NoWindow,
    SimulatedPerson,
    VirtualClock,
    demo_person,
    simulated_device,
    sit_through,
)
from kiosk.deployment.service_notice import service_notice
from kiosk.i18n.language import SOURCE_TAG, Language, load_language
from kiosk.pursuit.battery import load_battery
from kiosk.storage.ids import IdSource
from kiosk.storage.pin_file import PinInMemory
from kiosk.touch.calibration import Calibration
from kiosk.touch.capture import Playback
from kiosk.visits.archive import Archive
from kiosk.visits.person import Person
from norms import age_on

if TYPE_CHECKING:
    from kiosk.app.startup import Wanted


def run_demo(out: Path, *, seed: int, visits: int, language_tag: str, window: bool,
             store: tuple[Path, SignIn] | None, tell_code: Callable[[str], None],
             page_tag: str = SOURCE_TAG) -> None:
    """Simulated visits of one person, 180 days apart: the last page, the findings, every trial as files.

    language_tag: of the person's screens; page_tag: of the page.

    store: an encrypted file to keep them in, made where there is none; then tell_code gets its recovery code.
    """
    check_writable(out)
    clock = VirtualClock()
    new_id = IdSource(clock.now_utc, np.random.default_rng([seed, 1]))
    device, record, calibration = simulated_device(new_id)
    context = Context(
        battery=load_battery(),
        archive=_demo_archive(store, Machine(clock.now_utc, new_id, secrets.token_bytes), tell_code),
        reference=demo_table(),
        device=device,
        calibration=calibration,
        calibration_record=record,
        language=load_language(language_tag),
        new_id=new_id,
        now_utc=clock.now_utc,
    )
    person, readers = demo_person(new_id), load_language(page_tag)
    context.furnish(person)
    stage = demo_stage(calibration, clock) if window else NoWindow()
    simulated = SimulatedPerson(seed, age_on(person.birth_date, clock.now_utc().date()).years, calibration)
    conclusions = []
    for number in with_progress(range(1, visits + 1), visits, load_language(SOURCE_TAG), _now_utc):
        simulated.comes(number, number == visits)
        conclusions.append(demo_visit(context, person, simulated, stage, clock, number, readers))
    visit = conclusions[-1].findings.visit
    write_demo(out, conclusions, context.archive,
               leaflet_of(context.archive, visit, context.language, context.place, {}).pdf)


def demo_visit(context: Context, person: Person, simulated: SimulatedPerson, stage: DemoStage,
               clock: VirtualClock, number: int, readers: Language) -> Conclusion:
    """One simulated visit (from 1), from welcome to a page in its readers' language."""
    clock.begin_visit(number)
    visit = context.begin(person, "demo")
    capture = Playback(clock.now_ns, RANGES, PANEL)
    runner = context.runner(visit, capture, stage, clock.now_ns, 1 / FRAME_S)
    sit_through(runner, stage, clock, capture, simulated)
    return context.finish(visit, runner.course, readers)


def demo_stage(calibration: Calibration, clock: VirtualClock) -> DemoStage:
    """The real screens on the virtual clock, in a window; none where nothing can draw or show one."""
    from kiosk.screens.window import can_draw, draws_offscreen, has_display

    offscreen = draws_offscreen(os.environ)
    if not can_draw() or not (offscreen or has_display(os.environ)):
        return NoWindow()
    from kiosk.screens.stage import Stage

    return Stage(calibration, clock.now_s, offscreen=offscreen)


def run_kiosk(wanted: "Wanted", store: Path | None, copies: Path | None, sign_in: SignIn | None,
              tell_code: Callable[[str], None]) -> int:
    """The kiosk itself, until whoever started it has gone; without a store it keeps everything in memory.

    copies: the folder of backups, beside the store where none is named. sign_in: opens the store before
    anybody stands at the screen; without it the screen asks.
    """
    from kiosk.app.startup import Behind, frames

    this = machine()
    behind = Behind(archive=memory_store(this), pins=PinInMemory())
    if store is not None:
        store_access = FileStoreAccess(store, this, _awake_or_not_s, copies)
        if sign_in is not None:
            store_access.enter(open_or_set_up(store, sign_in, this, tell_code))
        behind = Behind(store_access)
    notice = service_notice(os.environ)
    for rest_s in frames(wanted, behind, time.monotonic_ns, _now_utc, this.new_id):
        notice.frame(time.monotonic_ns())
        time.sleep(rest_s)
    return 0


def supervise(arguments: Sequence[str], passphrase: str | None) -> int:
    """Run the kiosk as a child that is started again, locked, where it crashes; its exit code."""
    command = [sys.executable, "-P", "-m", "kiosk", "start", "--unsupervised", *arguments]
    given = None if passphrase is None else f"{passphrase}\n".encode()
    environment = {**os.environ, "PYTHONPATH": str(PACKAGE.parent), "SDL_NO_SIGNAL_HANDLERS": "1"}

    def run() -> int:
        with subprocess.Popen(command, stdin=subprocess.PIPE, env=environment) as child:
            stop_with(child)
            if child.stdin is not None:
                with suppress(BrokenPipeError):
                    child.stdin.write(given or b"")
                    child.stdin.close()
            return child.wait()

    return keep_running(run, time.monotonic)


def stop_with(child: "subprocess.Popen[bytes]") -> None:
    """When this process is told to end, the child is told too, and ended where it does not within 2 s."""
    def end(number: int, _frame: object) -> None:
        child.terminate()
        with suppress(subprocess.TimeoutExpired):
            child.wait(2.0)
        child.kill()
        raise SystemExit(128 + number)

    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, end)


def machine() -> Machine:
    """The clock, the ids and the chance of this machine."""
    return Machine(_now_utc, _ids(), secrets.token_bytes)


def _demo_archive(
    store: tuple[Path, SignIn] | None, simulated: Machine, tell_code: Callable[[str], None]
) -> Archive:
    if store is None:
        return memory_store(simulated)
    return open_or_set_up(*store, simulated, tell_code).store


def _awake_or_not_s() -> float:
    """Seconds that run on while the machine sleeps, where it has such a clock."""
    clock = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if clock is None else time.clock_gettime(clock)


def _now_utc() -> datetime:
    return datetime.now(UTC)


def _ids() -> IdSource:
    return IdSource(_now_utc, np.random.default_rng(secrets.randbits(128)))
