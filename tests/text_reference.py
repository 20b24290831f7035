"""A line of text set by others: its order by python-bidi, its glyphs by uharfbuzz, its ink by hb-raster.

Nothing of ours takes part but the font's file. python-bidi gives the line as it is seen, from left to right;
as every letter of a line may come once only (spaces apart), where each came from is plain. Brackets are
turned by HarfBuzz in a run that goes from right to left.
"""

import numpy as np
import uharfbuzz
from bidi import get_display

from kiosk.i18n.fonts import font_file

# Lines with mixed directions; no letter comes twice, so that the order can be told.
MIXED = (
    "45 %", "(4–8)", "123", "27-KD", "K-0418", "12:30", "بعد 123 يوم", "من 45 % كله", "لوح (4–8) متر",
    "وسم \u200e27-KD\u200e هنا", "رمز \u200eK-0418\u200e", "قيمة: 5.3 سن", "(UTC+01:23) ساعة", "لا [Low] دون",
)  # fmt: skip
DEVANAGARI = ("डिस्क पर", "प्रयास 45 %", "(4–8) मील", "क्षण 123", "27-KD शृंखला", "हाथ: 5.3 Hz")
CHINESE = ("请把手指放在圆盘上。", "45 %", "（4–8）毫米", "标签 27-KD", "落后 302 毫秒")
SCRIPTS = {"arabic": ("rtl", MIXED), "devanagari": ("ltr", DEVANAGARI), "chinese": ("ltr", CHINESE)}
LINES = [(script, line) for script, (_, lines) in SCRIPTS.items() for line in lines]


def seen_order(text, reading):
    """Places in the text, as they stand from left to right; marks that draw nothing are left out."""
    shown = get_display(text, base_dir="R" if reading == "rtl" else "L")
    letters = [letter for letter in text if letter not in " \u200e\u200f"]
    if len(set(letters)) != len(letters):
        raise ValueError(f"text: no letter may come twice, got {text!r}")
    places = {letter: place for place, letter in enumerate(text) if letter != " "}
    return [places.get(letter, -1) for letter in shown if letter not in "\u200e\u200f"]


def runs(text, reading):
    """Stretches of the text that run one way, from left to right; a space goes with what stands before it."""
    found = []
    for place in seen_order(text, reading):
        if place < 0:
            found.append([-1])
        elif found and found[-1] != [-1] and abs(place - found[-1][-1]) == 1 and _goes_on(found[-1], place):
            found[-1].append(place)
        else:
            found.append([place])
    return [(" ", "ltr") if run == [-1] else _piece(text, run, reading) for run in found]


def glyphs(script, weight, text, reading):
    """Glyph numbers and where they stand, em, from left to right; and the width."""
    face = uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(font_file(script, weight))))
    font, x, placed = uharfbuzz.Font(face), 0.0, []
    for piece, way in runs(text, reading):
        buffer = uharfbuzz.Buffer()
        buffer.add_str(piece)
        buffer.guess_segment_properties()
        buffer.direction = way
        uharfbuzz.shape(font, buffer)
        for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            at = x + position.x_offset / face.upem, position.y_offset / face.upem
            placed.append((info.codepoint, *at))
            x += position.x_advance / face.upem
    return placed, x


def ink(script, weight, text, reading, px_per_em):
    """The line as 8-bit ink, cropped to what is drawn, rows from the top."""
    face = uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(font_file(script, weight))))
    font, raster, scale = uharfbuzz.Font(face), uharfbuzz.RasterDraw(), px_per_em / face.upem
    for number, x_em, y_em in glyphs(script, weight, text, reading)[0]:
        raster.transform = (scale, 0, 0, scale, x_em * px_per_em, y_em * px_per_em)
        raster.draw_glyph(font, number)
    image = raster.render()
    extents = image.extents
    rows = np.frombuffer(bytes(image.buffer), np.uint8).reshape(extents.height, -1)[:, : extents.width]
    return cropped(rows[::-1])


def cropped(picture):
    """Without the empty rows and columns around."""
    rows, columns = np.flatnonzero(picture.max(axis=1) > 40), np.flatnonzero(picture.max(axis=0) > 40)
    return picture[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1].astype(float)


def alike(one, other):
    """How far two pictures of a line are the same, -1 to 1: correlation after making them one size."""
    from PIL import Image, ImageFilter

    size = max(one.shape[1], other.shape[1]), max(one.shape[0], other.shape[0])
    blurred = [
        np.asarray(Image.fromarray(picture).resize(size).convert("L").filter(ImageFilter.GaussianBlur(1.0)))
        for picture in (one, other)
    ]
    return float(np.corrcoef(blurred[0].ravel(), blurred[1].ravel())[0, 1])


def _goes_on(run, place):
    return len(run) == 1 or place - run[-1] == run[-1] - run[-2]


def _piece(text, run, reading):
    """A letter by itself runs as the line is read, else it would have joined its neighbours."""
    turned = run[1] < run[0] if len(run) > 1 else reading == "rtl"
    return "".join(text[place] for place in sorted(run)), "rtl" if turned else "ltr"
