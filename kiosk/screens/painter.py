"""Drawing in millimetres: adds instructions to a canvas once; later only colours and translations change.

Origin at the window's centre (the field's centre), y up. Solid edges lie on whole pixels; round ones are
alpha pictures at the calibrated size; curves are drawn by Pillow at three times the size and averaged. A
Color that a method returns is the instruction that tints what was drawn.
"""

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from kivy.graphics import Canvas, ClearBuffers, ClearColor, Color, Mesh, Rectangle, ScissorPop, ScissorPush
from kivy.graphics.texture import Texture
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from kiosk.figures.marks import Box, Points, around, unbroken
from kiosk.screens import alpha
from kiosk.screens.text import Lettering
from kiosk.screens.theme import Theme, TypeStyle, margin_mm, rgb
from kiosk.touch.calibration import Calibration

Align = Literal["left", "centre", "right"]
HATCH_LINE_MM: Final = 0.6
HATCH_PITCH_MM: Final = 1.8 * 2**0.5
_RING_STEPS: Final = 120
_SHIFT: Final = {"left": 0.0, "centre": 0.5, "right": 1.0}
FINER: Final = 3


@dataclass(frozen=True)
class TouchPanel:
    """The window on the touch panel in mm: origin at its centre, y up; and its margin."""

    calibration: Calibration

    @property
    def box(self) -> Box:
        """The whole window."""
        calibration = self.calibration
        return around(0.0, 0.0, calibration.window_width_px / calibration.px_per_mm_x,
                      calibration.window_height_px / calibration.px_per_mm_y)

    @property
    def margin(self) -> float:
        """Free edge around staff screens, and below the person's buttons."""
        return margin_mm(self.box.width)

    @property
    def stop(self) -> float:
        """Free edge around Stop: centred in the rail beside the field, at most the margin."""
        return min((self.box.width - 150.0) / 2 - 28.0, 2 * self.margin) / 2

    def px(self, x: float, y: float) -> tuple[float, float]:
        """A point in window pixels."""
        x_px, y_px = self.calibration.to_px(x, y)
        return float(x_px), float(y_px)

    def size_px(self, width: float, height: float) -> tuple[float, float]:
        """Lengths across and up in pixels."""
        return self.calibration.length_px_x(width), self.calibration.length_px_y(height)


def texture_of(alpha_picture: alpha.Floats) -> Texture:
    rows, columns = alpha_picture.shape
    pixels = np.full((rows, columns, 4), 255, dtype=np.uint8)
    pixels[..., 3] = np.rint(alpha_picture * 255)
    return texture_of_pixels(pixels)


def texture_of_pixels(pixels: NDArray[np.uint8]) -> Texture:
    """RGBA pixels of shape (rows from the bottom, columns, 4) as a texture."""
    rows, columns = pixels.shape[:2]
    texture = Texture.create(size=(columns, rows), colorfmt="rgba")
    texture.blit_buffer(np.ascontiguousarray(pixels).tobytes(), colorfmt="rgba", bufferfmt="ubyte")
    return texture


@dataclass(frozen=True, eq=False)
class Painter:
    """Draws on one panel, in one theme, with one language's letters."""

    panel: TouchPanel
    theme: Theme
    letters: Lettering
    _textures: dict[Hashable, Texture]

    def role(self, name: str) -> str:
        """The colour of a role, or the colour itself where it is one."""
        return name if name.startswith("#") else str(getattr(self.theme, name))

    def colour(self, canvas: Canvas, role: str, opacity: float = 1.0) -> Color:
        ink = Color(*rgb(self.role(role)), opacity)
        canvas.add(ink)
        return ink

    def box(self, canvas: Canvas, box: Box, role: str) -> Color:
        """A filled rectangle, at least one pixel thick."""
        ink = self.colour(canvas, role)
        left, bottom, _, _ = self.edges_px(box)
        width, height = self.panel.size_px(box.width, box.height)
        canvas.add(Rectangle(pos=(left, bottom), size=(max(round(width), 1), max(round(height), 1))))
        return ink

    def rounded(self, canvas: Canvas, box: Box, radius: float, role: str) -> Color:
        """A filled rectangle with round corners."""
        ink = self.colour(canvas, role)
        left, bottom, right, top = edges = self.edges_px(box)
        radius = self._whole(radius)
        across, up = self._corners(canvas, edges, ("disc", radius), alpha.disc(radius), radius)
        canvas.add(Rectangle(pos=(left + across, bottom), size=(right - left - 2 * across, top - bottom)))
        for x in (left, right - across):
            canvas.add(Rectangle(pos=(x, bottom + up), size=(across, top - bottom - 2 * up)))
        return ink

    def cleared(self, canvas: Canvas, box: Box, radius: float, role: str, outside: str) -> None:
        """A large filled rectangle with round corners, wiped rather than painted: a fifth of the time.

        The corners are painted over with the colour outside.
        """
        left, bottom, right, top = self.edges_px(box)
        canvas.add(ScissorPush(x=left, y=bottom, width=right - left, height=top - bottom))
        canvas.add(ClearColor(*rgb(self.role(role)), 1.0))
        canvas.add(ClearBuffers(clear_color=True))
        canvas.add(ScissorPop())
        self.round_off(canvas, box, radius, outside)

    def round_off(self, canvas: Canvas, box: Box, radius: float, outside: str) -> None:
        """Paint the corners of a box over with the colour outside."""
        self.colour(canvas, outside)
        radius = self._whole(radius)
        around_disc = alpha.without(lambda x, y: x * 0.0 - 1.0, alpha.disc(radius))
        self._corners(canvas, self.edges_px(box), ("corner", radius), around_disc, radius)

    def outline(self, canvas: Canvas, box: Box, radius: float, width: float, role: str) -> Color:
        """The inside edge of a rounded rectangle."""
        ink = self.colour(canvas, role)
        left, bottom, right, top = edges = self.edges_px(box)
        radius, width = self._whole(radius), self._whole(width)
        ring = alpha.ring(radius - width, radius)
        across, up = self._corners(canvas, edges, ("ring", radius, width), ring, radius)
        thick_x, thick_y = (max(round(length), 1) for length in self.panel.size_px(width, width))
        for y in (bottom, top - thick_y):
            canvas.add(Rectangle(pos=(left + across, y), size=(right - left - 2 * across, thick_y)))
        for x in (left, right - thick_x):
            canvas.add(Rectangle(pos=(x, bottom + up), size=(thick_x, top - bottom - 2 * up)))
        return ink

    def shape(self, canvas: Canvas, x: float, y: float, half: tuple[float, float], key: Hashable,
              shape: alpha.Distance, role: str) -> Color:
        """Any shape about (x, y), inside the half width and half height given; key names its picture."""
        ink = self.colour(canvas, role)
        texture = self.texture(key, half, shape)
        canvas.add(self.about(x, y, texture))
        return ink

    def picture(self, canvas: Canvas, box: Box, layers: Mapping[str, alpha.Distance]) -> None:
        """Shapes of several colours about the middle of a box, as one picture: one thing to draw a frame."""
        if not layers:
            return
        half = (box.width / 2, box.height / 2)
        covers = [alpha.picture(self.panel.calibration, *half, shape)[..., np.newaxis]
                  for shape in layers.values()]
        opaque = np.maximum(np.sum(covers, axis=0), 1e-9)
        inks = [cover * np.array(rgb(self.role(role))) for role, cover in zip(layers, covers, strict=True)]
        pixels = np.rint(np.dstack([np.sum(inks, axis=0) / opaque, np.minimum(opaque, 1.0)]) * 255)
        canvas.add(Color(1, 1, 1, 1))
        canvas.add(self.about(box.x, box.y, texture_of_pixels(pixels.astype(np.uint8))))

    def disc(self, canvas: Canvas, x: float, y: float, radius: float, role: str) -> Color:
        """A filled circle."""
        return self.shape(canvas, x, y, (radius, radius), ("disc", radius), alpha.disc(radius), role)

    def ring(self, canvas: Canvas, x: float, y: float, inner: float, outer: float, role: str) -> Color:
        return self.shape(canvas, x, y, (outer, outer), ("ring", outer, outer - inner),
                          alpha.ring(inner, outer), role)

    def hatch(self, canvas: Canvas, box: Box, role: str, width: float = HATCH_LINE_MM,
              pitch: float = HATCH_PITCH_MM) -> Color:
        """Lines at 45 degrees within a box; the pitch is from line to line along an edge."""
        half = (box.width / 2, box.height / 2)
        return self.shape(canvas, box.x, box.y, half, ("hatch", *half, width, pitch),
                          alpha.hatch(*half, width, pitch), role)

    def circle_line(self, canvas: Canvas, radius: float, width: float, role: str) -> Color:
        """A thin large ring about the field's centre, as a strip: only its own pixels are painted."""
        ink = self.colour(canvas, role)
        per_mm = self.panel.calibration.px_per_mm_x
        half = np.ceil(width * per_mm / 2) + 1
        across = (np.arange(-half, half) + 0.5) / per_mm
        profile = np.clip(0.5 + (width / 2 - np.abs(across)) * per_mm, 0, 1)
        turn = np.linspace(0, 2 * np.pi, _RING_STEPS + 1)
        points = []
        for angle in turn:
            for side, u in ((-half, 0.0), (half, 1.0)):
                x_px, y_px = self.panel.px((radius + side / per_mm) * np.cos(angle),
                                           (radius + side / per_mm) * np.sin(angle))
                points += [x_px, y_px, u, 0.5]
        canvas.add(Mesh(vertices=points, indices=list(range(2 * len(turn))), mode="triangle_strip",
                        texture=texture_of(np.vstack([profile, profile]))))
        return ink

    def stamped(self, cover: alpha.Floats, text: str, style: TypeStyle,
                baseline: float) -> tuple[alpha.Floats, Box]:
        """An alpha picture with one line of words upon it, centred across; and the box of the words.

        The baseline is mm above the picture's middle, as is the box.
        """
        line = self.letters.picture(text, style)
        rows, columns = line.alpha.shape
        bottom = cover.shape[0] // 2 + round(self.panel.size_px(0.0, baseline)[1]) + line.bottom_px
        left = cover.shape[1] // 2 - round(line.advance_px / 2) + line.left_px
        place = np.s_[max(bottom, 0):bottom + rows, max(left, 0):left + columns]
        stamped = cover.copy()
        shown = stamped[place].shape
        stamped[place] = np.maximum(stamped[place], line.alpha[:shown[0], :shown[1]])
        calibration = self.panel.calibration
        box = Box((left - cover.shape[1] / 2) / calibration.px_per_mm_x, (bottom - cover.shape[0] / 2) /
                  calibration.px_per_mm_y, columns / calibration.px_per_mm_x, rows / calibration.px_per_mm_y)
        return stamped, box

    def words(self, canvas: Canvas, text: str, style: TypeStyle, x: float, baseline: float, role: str,
              align: Align = "centre") -> tuple[Color, Box]:
        """One line of text; its colour and the box of its ink, descenders included."""
        ink = self.colour(canvas, role)
        line = self.letters.picture(text, style)
        ratio = self.panel.calibration.px_per_mm_x / self.panel.calibration.px_per_mm_y
        x_px, y_px = self.panel.px(x, baseline)
        left = round(x_px - _SHIFT[align] * line.advance_px * ratio) + line.left_px * ratio
        bottom = round(y_px) + line.bottom_px
        rows, columns = line.alpha.shape
        size = (columns * ratio, rows)
        canvas.add(Rectangle(pos=(left, bottom), size=size, texture=texture_of(line.alpha)))
        return ink, self._box_of_px(left + 1, bottom + 1, columns * ratio - 2, rows - 2)

    def texture(self, key: Hashable, half: tuple[float, float], shape: alpha.Distance) -> Texture:
        """The picture of a shape, made once."""
        if key not in self._textures:
            self._textures[key] = texture_of(alpha.picture(self.panel.calibration, *half, shape))
        return self._textures[key]

    def pixels(self, canvas: Canvas, box: Box, rgb: NDArray[np.uint8], *, sharp: bool = False) -> None:
        """RGB pixels, rows from the bottom, spread over a box; sharp: every one a square of its own."""
        texture = texture_of_pixels(np.dstack([rgb, np.full(rgb.shape[:2], 255, dtype=np.uint8)]))
        if sharp:
            texture.mag_filter = texture.min_filter = "nearest"
        left, bottom, right, top = self.edges_px(box)
        canvas.add(Color(1, 1, 1, 1))
        canvas.add(Rectangle(pos=(left, bottom), size=(right - left, top - bottom), texture=texture))

    def edges_px(self, box: Box) -> tuple[int, int, int, int]:
        """Left, bottom, right, top in whole pixels."""
        left, bottom = self.panel.px(box.left, box.bottom)
        right, top = self.panel.px(box.right, box.top)
        return round(left), round(bottom), round(right), round(top)

    def about(self, x: float, y: float, texture: Texture) -> Rectangle:
        """A picture centred on a place."""
        x_px, y_px = self.panel.px(x, y)
        pos = (round(x_px) - texture.width / 2, round(y_px) - texture.height / 2)
        return Rectangle(pos=pos, size=texture.size, texture=texture)

    def _corners(self, canvas: Canvas, edges: tuple[int, int, int, int], key: Hashable, shape: alpha.Distance,
                 radius: float) -> tuple[int, int]:
        """The four quarters of a round picture in the corners; their size across and up."""
        left, bottom, right, top = edges
        texture = self.texture(key, (radius, radius), shape)
        half_x, half_y = texture.width // 2, texture.height // 2
        across, up = half_x - 1, half_y - 1  # one pixel of air around the picture is left out
        for x, from_x in ((left, 1), (right - across, half_x)):
            for y, from_y in ((bottom, 1), (top - up, half_y)):
                canvas.add(Rectangle(pos=(x, y), size=(across, up),
                                     texture=texture.get_region(from_x, from_y, across, up)))
        return across, up

    def _whole(self, length: float) -> float:
        """The nearest length of a whole number of pixels, at least one."""
        per_mm = self.panel.calibration.px_per_mm_x
        return max(round(length * per_mm), 1) / per_mm

    def _box_of_px(self, left: float, bottom: float, width: float, height: float) -> Box:
        calibration = self.panel.calibration
        return Box((left - calibration.window_width_px / 2) / calibration.px_per_mm_x,
                   (bottom - calibration.window_height_px / 2) / calibration.px_per_mm_y,
                   width / calibration.px_per_mm_x, height / calibration.px_per_mm_y)


def painter_for(panel: TouchPanel, theme: Theme, script: str, direction: str) -> Painter:
    return Painter(panel, theme, Lettering(script, direction, panel.calibration.px_per_mm_y), {})


def stroke(painter: Painter, canvas: Canvas, box: Box, points: Points, width_mm: float, role: str) -> None:
    """A line through points (n, 2), mm about the box's lower left corner."""
    pixels = _to_px(painter, box, points)
    image = Image.new("L", _size(painter, box))
    draw = ImageDraw.Draw(image)
    thick = max(round(width_mm * painter.panel.calibration.px_per_mm_x * FINER), FINER)
    for run in _runs(pixels):
        draw.line([tuple(place) for place in run], fill=255, width=thick, joint="curve")
    _add(painter, canvas, box, image, role)


def under(painter: Painter, canvas: Canvas, box: Box, points: Points, floor_mm: float, role: str,
          opacity: float = 1.0) -> None:
    """The area between a curve and a level below it."""
    image = Image.new("L", _size(painter, box))
    draw = ImageDraw.Draw(image)
    for run in _runs(points):
        ends = np.array([[run[-1, 0], floor_mm], [run[0, 0], floor_mm]])
        shape = _to_px(painter, box, np.vstack([run, ends]))
        draw.polygon([tuple(place) for place in shape], fill=255)
    _add(painter, canvas, box, image, role, opacity)


def _to_px(painter: Painter, box: Box, points: Points) -> Points:
    """Pixels of the finer picture, rows from the top."""
    calibration = painter.panel.calibration
    scale = np.array([calibration.px_per_mm_x, calibration.px_per_mm_y]) * FINER
    placed: Points = np.clip(points, (0.0, 0.0), (box.width, box.height)) * scale
    placed[:, 1] = _size(painter, box)[1] - placed[:, 1]
    return placed


def _size(painter: Painter, box: Box) -> tuple[int, int]:
    width, height = painter.panel.size_px(box.width, box.height)
    return max(round(width), 1) * FINER, max(round(height), 1) * FINER


def _runs(points: Points) -> Iterator[Points]:
    """Runs of two points and more without NaN."""
    return (run for run in unbroken(points) if len(run) > 1)


def _add(painter: Painter, canvas: Canvas, box: Box, image: Image.Image, role: str,
         opacity: float = 1.0) -> None:
    size = image.width // FINER, image.height // FINER
    cover = np.asarray(image.resize(size, Image.Resampling.BOX), dtype=np.float64)[::-1] / 255
    painter.colour(canvas, role, opacity)
    left, bottom, _, _ = painter.edges_px(box)
    canvas.add(Rectangle(pos=(left, bottom), size=size, texture=texture_of(cover)))
