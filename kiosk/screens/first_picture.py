"""The first picture: the kiosk's mark on its ground, before anything large is loaded. Pixels.

It says nothing, so that it needs neither a language nor letters, and it is gone with the first screen. Only
what opens a window is imported here. Decision screens-10.
"""

from contextlib import suppress
from typing import TYPE_CHECKING, Final

from PIL import Image, ImageDraw

from kiosk.base.errors import Refused
from kiosk.screens.window import MOUSE, open_window

if TYPE_CHECKING:
    from kivy.graphics.texture import Texture

GROUND: Final = (22, 35, 42)  # the dark theme's ground and target, held equal to it by a test
MARK: Final = (242, 181, 68)
PIP: Final = (10, 19, 23)
ACROSS: Final = 141           # a disc of 24 mm on a panel of 5.88 pixels a millimetre
PIP_ACROSS: Final = 24
FINER: Final = 4              # drawn larger and made smaller, for smooth edges


def show_first_picture(width_px: int, height_px: int, *, offscreen: bool = False) -> None:
    """Open the window and draw one frame."""
    window = open_window(width_px, height_px, offscreen, fullscreen=not offscreen,
                         touch_device="" if offscreen else MOUSE)
    from kivy.base import EventLoop
    from kivy.graphics import Color, Rectangle
    from kivy.uix.widget import Widget

    mark = Widget()
    with mark.canvas:
        Color(1, 1, 1, 1)
        Rectangle(texture=_mark(), size=(ACROSS, ACROSS),
                  pos=((window.width - ACROSS) // 2, (window.height - ACROSS) // 2))
    window.clearcolor = (*(part / 255 for part in GROUND), 1.0)
    window.add_widget(mark)
    EventLoop.idle()


def show_at_once() -> None:
    """On the display, full screen; where that cannot be, the kiosk says so when it comes to its window."""
    with suppress(Refused):
        show_first_picture(1280, 800)


def _mark() -> "Texture":
    """The disc with its pip."""
    from kivy.graphics.texture import Texture

    size = ACROSS * FINER
    picture = Image.new("RGB", (size, size), GROUND)
    painter = ImageDraw.Draw(picture)
    painter.ellipse((0, 0, size - 1, size - 1), MARK)
    inner = (ACROSS - PIP_ACROSS) * FINER // 2
    painter.ellipse((inner, inner, size - 1 - inner, size - 1 - inner), PIP)
    smooth = picture.resize((ACROSS, ACROSS), Image.Resampling.BOX)
    texture = Texture.create(size=(ACROSS, ACROSS), colorfmt="rgb")
    texture.blit_buffer(smooth.tobytes(), colorfmt="rgb", bufferfmt="ubyte")
    return texture
