"""What can be seen on the kiosk's window: buttons by their fill, a running trial by its field.

Pictures are (rows, columns, 3) from the top left; places are pixels (x, y) from the top left.
"""

import numpy as np
from scipy import ndimage

WHITE, INK, CREAM = (255, 255, 255), (20, 35, 42), (247, 242, 230)
STAFF_GROUND, FIELD = (233, 228, 216), (10, 19, 23)
CHOSEN, STAFF_LINE = (11, 70, 91), (107, 120, 124)
DOT_DONE, DOT_OPEN, DOTS_FROM_PX = (191, 203, 203), (124, 146, 154), 200
OUTLINE = DOT_OPEN
CLOCK = (slice(0, 110), slice(1100, None))


def changed(one, other):
    """Whether two pictures differ, the clock in the corner of the staff's screens set aside."""
    differ = np.any(one != other, axis=2)
    differ[CLOCK] = False
    return int(np.count_nonzero(differ)) > 40


def filled(picture, colour, least_px=(60, 60), most_px=(1300, 200), *, only_edges=False):
    """Middles of the filled boxes of a colour (or of those of which only the edge has it), row by row."""
    labels, _ = ndimage.label(np.all(picture == np.array(colour), axis=2))
    middles = []
    for rows, columns in ndimage.find_objects(labels):
        size = (columns.stop - columns.start, rows.stop - rows.start)
        full = (np.mean(labels[rows, columns] > 0) > 0.5) != only_edges
        fits = (low <= length <= high for low, length, high in zip(least_px, size, most_px, strict=True))
        if full and all(fits):
            middles.append(((columns.start + columns.stop) // 2, (rows.start + rows.stop) // 2))
    return sorted(middles, key=in_reading_order)


def in_reading_order(place):
    """Row by row from the top, each from the left."""
    return round(place[1] / 30), place[0]


def choices(picture):
    """The staff's choices above the foot, those not chosen."""
    return [place for place in filled(picture, WHITE) if place[1] < 630]


def chosen(picture):
    """The staff's choices that stand chosen."""
    return [place for place in filled(picture, CHOSEN) if place[1] < 630]


def foot(picture):
    """The white buttons of the staff's foot, from the left."""
    return [place for place in filled(picture, WHITE) if place[1] >= 630]


def quiet(picture):
    """The buttons of the staff's foot that are only an outline, from the left."""
    white, edges = foot(picture), filled(picture, STAFF_LINE, only_edges=True)
    beside = [one for one in edges if one[1] >= 560]  # the foot may have two rows
    return [one for one in beside if all(np.hypot(*np.subtract(one, other)) > 20 for other in white)]


def staff_main(picture):
    """The staff's main button where it can be pressed."""
    return [place for place in filled(picture, INK) if place[1] >= 630]


def person_main(picture):
    """The person's main button where it can be pressed."""
    return filled(picture, CREAM, (300, 110), (1300, 190))


def is_staff(picture):
    """Whether the staff's part is on the window."""
    return share(picture, STAFF_GROUND) > 0.3


def is_trial(picture):
    """Whether the field is shown without the hand of the demonstration."""
    return share(picture, FIELD) > 0.3 and share(picture, CREAM) < 0.03


def is_waiting(picture):
    """Whether a trial waits for the finger: its field with words, and no hand, which is one large patch."""
    field = np.all(picture[:, 210:1070] == np.array(CREAM), axis=2)
    labels, _ = ndimage.label(field)
    largest = int(np.bincount(labels.ravel())[1:].max(initial=0))
    return is_trial(picture) and np.mean(field) > 0.003 and largest < 3000


def is_demonstration(picture):
    """Whether the field is shown with a hand in it."""
    return share(picture, FIELD) > 0.2 and share(picture, CREAM) >= 0.03


def trial_shown(picture):
    """The number of the trial, from 0, by the progress dots beside the field: that with the bright ring."""
    colours = (CREAM, DOT_DONE, DOT_OPEN)
    bright = np.any([np.all(picture == np.array(colour), axis=2) for colour in colours], axis=0)
    bright[:DOTS_FROM_PX, :] = False
    bright[:, 185:1095] = False
    labels, _ = ndimage.label(ndimage.binary_closing(bright, iterations=4))
    dots = []
    for rows, columns in ndimage.find_objects(labels):
        cream = np.all(picture[rows, columns] == np.array(CREAM), axis=2).any()
        if rows.stop - rows.start > 15:
            dots.append((rows.start, bool(cream)))
    return [cream for _, cream in sorted(dots)].index(True)


def three_choices(picture):
    """Whether the person is asked to rest, go on or end: three outlines side by side at one height."""
    row = np.all(picture[675] == np.array(OUTLINE), axis=1)
    return int(np.count_nonzero(np.diff(row.astype(int)) == 1)) >= 6


def share(picture, colour):
    """How much of the window has a colour, 0 to 1."""
    return float(np.mean(np.all(picture == np.array(colour), axis=2)))
