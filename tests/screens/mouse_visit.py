"""A process of its own: the window as `start` opens it, and a mouse in the system's queue of events."""

import sys

from kiosk.i18n.language import load_language
from kiosk.pursuit.battery import load_battery
from kiosk.screens.input import TouchStream
from kiosk.screens.stage import Stage
from kiosk.touch.calibration import PANEL_A
from kiosk.visits.actions import CourseAction
from kiosk.visits.course import Course


class Queue:
    """The system window with events of our own in its queue."""

    def __init__(self, system):
        self._system, self.events = system, []

    def __getattr__(self, name):
        return getattr(self._system, name)

    def poll(self):
        return self.events.pop(0) if self.events else self._system.poll()


def main() -> None:
    stage = Stage(PANEL_A, lambda: 0.0, offscreen=True, touch_device="mouse,disable_multitouch")
    stage.on_action = lambda action: print("said", action)
    stage.show(Course(load_battery(), form="A", preferred_hand="right").step, load_language("en"))
    stage.draw()
    window = stage._window
    window._win = queue = Queue(window._win)
    stream = TouchStream(window, lambda: 1)
    stream.start()
    x, y = stage.button_centre(CourseAction.BEGIN)
    x, y = round(x), 799 - round(y)
    queue.events += [("mousemotion", x, y), ("mousebuttondown", x, y, "left"), ("mousemotion", x + 1, y),
                     ("mousemotion", x + 2, y), ("mousebuttonup", x + 2, y, "left"), ("quit",)]
    for _ in range(4):
        stage.draw()
    print("touches", [(touch.x_raw - x, touch.contact) for touch in stream.drain()])
    print("open", window.size)


if __name__ == "__main__":
    sys.exit(main())
