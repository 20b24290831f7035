"""The first picture: the mark on its ground, wordless, at once; and gone with the first screen."""

import json
import subprocess
import sys

import numpy as np

from kiosk.screens.theme import DARK, rgb

PROGRAM = """
import json, sys
from kiosk.screens.first_picture import show_first_picture
show_first_picture(1280, 800, offscreen=True)
loaded = sorted({name.partition(".")[0] for name in sys.modules})
ours = sorted(name for name in sys.modules if name.startswith("kiosk."))
from kivy.core.window import Window
from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels
Window.dispatch("on_draw")
pixels = glReadPixels(0, 0, 1280, 800, GL_RGBA, GL_UNSIGNED_BYTE)
place = lambda x, y: list(pixels[4 * (1280 * y + x):][:3])
seen = {"pip": place(640, 400), "disc": place(640, 440), "ground": place(100, 100)}
from kiosk.touch.calibration import PANEL_A
from kiosk.screens.stage import Stage
stage = Stage(PANEL_A, lambda: 0.0, offscreen=True)
children = len(Window.children)
print(json.dumps([loaded, ours, seen, children]))
"""


def test_it_shows_the_mark_before_anything_large_is_loaded_and_the_stage_begins_empty():
    ran = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, text=True, check=True)
    loaded, ours, seen, children = json.loads(ran.stdout)
    assert not {"numpy", "scipy", "pandas", "reportlab", "sqlalchemy", "babel"} & set(loaded)
    assert ours == ["kiosk.base", "kiosk.base.errors", "kiosk.base.system_packages", "kiosk.screens",
                    "kiosk.screens.first_picture", "kiosk.screens.window"]
    for part, role in (("pip", DARK.pip), ("disc", DARK.target), ("ground", DARK.ground)):
        assert np.allclose(seen[part], [round(255 * one) for one in rgb(role)], atol=1), part
    assert children == 0
