"""A bare toolkit scene of the trial's drawing: field, path, a disc with a ring on a circle. CPU ms a frame.

    python tests/benchmarks/bare_scene.py [FRAMES]
"""

import os
import sys
import time

os.environ |= {"KIVY_NO_ARGS": "1", "KIVY_NO_CONSOLELOG": "1", "KIVY_NO_CONFIG": "1", "KIVY_NO_FILELOG": "1"}
os.environ |= {"SDL_VIDEODRIVER": "offscreen", "KCFG_GRAPHICS_MAXFPS": "0", "KCFG_GRAPHICS_MULTISAMPLES": "0"}

from kivy.config import Config

Config.set("graphics", "width", "1280")
Config.set("graphics", "height", "800")
from math import cos, pi, sin  # noqa: E402

from kivy.base import EventLoop, runTouchApp  # noqa: E402
from kivy.core.window import Window  # noqa: E402
from kivy.graphics import (  # noqa: E402
    Color,
    PopMatrix,
    PushMatrix,
    RoundedRectangle,
    SmoothEllipse,
    SmoothLine,
    Translate,
)
from kivy.graphics.opengl import glFinish  # noqa: E402
from kivy.uix.widget import Widget  # noqa: E402

PX = 5.88
scene = Widget()
with scene.canvas:
    Color(0.04, 0.07, 0.09)
    RoundedRectangle(pos=(640 - 75 * PX, 400 - 62.5 * PX), size=(150 * PX, 125 * PX), radius=[8 * PX])
    Color(0.49, 0.57, 0.60)
    SmoothLine(circle=(640, 400, 40 * PX), width=0.6 * PX)
    PushMatrix()
    move = Translate(640, 400)
    Color(0.95, 0.71, 0.27)
    SmoothEllipse(pos=(-12 * PX, -12 * PX), size=(24 * PX, 24 * PX))
    Color(1, 1, 1)
    SmoothLine(circle=(0, 0, 16 * PX), width=2 * PX)
    PopMatrix()
runTouchApp(scene, embedded=True)
frames = int(sys.argv[1]) if len(sys.argv) > 1 else 400
for number in range(-50, frames):
    if number == 0:
        since = time.process_time()
    turn = 2 * pi * number / 240
    move.xy = 640 + 40 * PX * sin(turn), 400 + 40 * PX * cos(turn)
    EventLoop.idle()
    Window.mainloop()
    glFinish()
print((time.process_time() - since) / frames * 1000)
