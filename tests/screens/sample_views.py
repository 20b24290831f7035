"""One of every kind of view of the staff's part, with invented words and people, in a sample language."""

from dataclasses import dataclass, replace

import numpy as np

from kiosk.staff.actions import Key
from kiosk.staff.intake import IntakeAction
from kiosk.staff.printing import PaperAction
from kiosk.staff.ready import ReadyAction
from kiosk.visits.actions import Action
from kiosk.wording.page_parts import PaperPixels
from kiosk.wording.staff_parts import (
    CardView,
    Choices,
    ChoiceView,
    Control,
    CrossView,
    Figure,
    FigureView,
    Head,
    ListRow,
    ListView,
    NoticeView,
    ObservationView,
    Option,
    PadView,
    PageView,
    ReplayPath,
    ReplayView,
    TextView,
    TickView,
)

WHO = "K-0412-7 \u00b7 1954-05"
QR = tuple(tuple((row * column + row) % 3 == 0 for column in range(29)) for row in range(29))


def views(say):
    """Every kind of view by name; `say` turns English into the sample's language."""
    return {
        "intake": intake(say),
        "pad_code": code_pad(say),
        "pad_pin": pin_pad(say),
        "pad_long_prompt": replace(
            code_pad(say), prompt=say("Second identifier, such as a room or record number"), note=""
        ),
        "today": today(say),
        "nobody": ListView(
            Head(say("Today")), (), (), (main(say, "new", "New person"),), "", say("Nobody yet today.")
        ),
        "ready": ready(say),
        "hand_over": NoticeView(say("Please give me to the person."), "", (), None, say("Staff")),
        "not_printed": not_printed(say),
        "observations": observations(say),
        "page": page_view(say),
        "device": figures(say),
        "card_width": card(say, "width", 503.0, 317.0),
        "card_height": card(say, "height", 317.0, 503.0),
        "cross": CrossView(
            Head(say("Touch check")),
            say("Touch the middle of the cross."),
            60.0,
            45.0,
            2,
            5,
            (second(say, "back", "Back"),),
        ),
        "why": why(say),
        "replay": replay(say),
    }


@dataclass(frozen=True)
class SampleAction(Action):
    """What a sample's control reports; screens hand it on unread."""

    name: str


REAL = {"hand_over": ReadyAction.HAND_OVER, "same": IntakeAction.SAME, "print": PaperAction.PRINT}


def as_action(name):
    """The staff's own action where a test goes by it, a key, or a sample's."""
    if name in REAL:
        return REAL[name]
    return Key(name[4:]) if name.startswith("key ") else SampleAction(name)


def main(say, action, words, **more):
    return Control(as_action(action), say(words), "main", **more)


def second(say, action, words, **more):
    return Control(as_action(action), say(words), "second", **more)


def intake(say):
    answers = ("Not asked", "None", "Less than 1 hour ago", "1 to 2 hours ago", "2 to 4 hours ago")
    later = ("More than 4 hours ago", "Not today", "Not known")
    options = tuple(
        Option(as_action(f"set dose {number}"), say(words), chosen=number == 4, available=number != 7)
        for number, words in enumerate(answers + later)
    )
    return ChoiceView(
        Head(say("Last dose"), WHO),
        (Choices(say("Medicine that affects movement"), options, say("Ask for the time it was taken.")),),
        (
            Control(as_action("back"), say("Back"), "quiet"),
            second(say, "same", "Same as last time", available=False),
            main(say, "next", "Next"),
        ),
        say("The battery is at 28 percent. Plug in or charge first."),
        "3 / 9",
    )


def code_pad(say):
    alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
    rows = [tuple(Option(Key(one), one) for one in alphabet[at : at + 10]) for at in range(0, 37, 10)]
    rows[-1] += (Option(as_action("erase"), say("Erase")),)
    return PadView(
        Head(say("Find a person")),
        say("Code with its check character"),
        "K-0412-7",
        tuple(rows),
        (Control(as_action("back"), say("Back"), "quiet"), main(say, "find", "Find", available=False)),
        say("This code does not exist. Check each character."),
    )


def pin_pad(say):
    digits = [tuple(Option(as_action(f"key {one}"), one) for one in row) for row in ("123", "456", "789")]
    digits.append((Option(as_action("key 0"), "0"), Option(as_action("erase"), say("Erase"))))
    names = tuple(
        Option(as_action(f"name {one}"), one, chosen=one == "M. Orla")
        for one in ("M. Orla", "T. Besk", "A. Venn")
    )
    return PadView(
        Head(say("Good morning."), "08:25 \u00b7 84 %"),
        say("Who is working? Your PIN, please."),
        "\u2022\u2022\u2022\u2022",
        tuple(digits),
        (Control(as_action("back"), say("Back"), "quiet"), main(say, "next", "Unlock")),
        say("That PIN is not right. Try again."),
        names,
    )


def today(say):
    people = (("K-0412-7", "1954-05", "Ready"), ("M-1180-3", "1941", "In progress"))
    people += (("R-0077-C", "1962-11-03", "Not printed"), ("B-3301-X", "1938-02-17", "Not reviewed"))
    people += (("T-0009-2", "1949", "Reviewed"),)
    rows = tuple(ListRow(as_action(f"open {code}"), (code, born, say(state))) for code, born, state in people)
    return ListView(
        Head(say("Today"), "25 Nov 2026 \u00b7 08:25"),
        (say("Code"), say("Born"), say("State")),
        rows,
        (
            Control(as_action("lock"), say("Lock"), "quiet"),
            second(say, "site", "Site"),
            second(say, "find", "Find"),
            main(say, "new", "New person"),
        ),
        say("Two people look alike. Check the birth date."),
    )


def ready(say):
    ticks = ("Right person?", "Hands", "Glass wiped and dry", "Seated, screen seen", "Power")
    options = tuple(
        Option(as_action(f"tick {number}"), say(words), chosen=number < 3)
        for number, words in enumerate(ticks)
    )
    return TickView(
        Head(say("Ready?"), WHO),
        say("K-0412-7, born May 1954. Is this the person in front of you?"),
        options,
        (
            second(say, "back", "Back"),
            main(say, "hand_over", "Yes, hand over", available=False, hold_s=0.6),
        ),
    )


def not_printed(say):
    return NoticeView(
        say("The printer did not answer."),
        say("Nothing is waiting in it. Save, or try again."),
        (second(say, "later", "Later"), second(say, "save", "Save"), main(say, "print", "Try again")),
        Head(say("Print"), WHO),
    )


def observations(say):
    tiles = (("Whole visit", 0), ("Steady", 1), ("Steady", 2), ("Steady", 3), ("Other hand", 1))
    tiles += (("Other hand", 2), ("Brisk", 1), ("Brisk", 2), ("Brisk", 3), ("Wander", 1), ("Wander", 2))
    chips = ("Talked", "Interrupted", "Pain", "Helped by touch", "Told where to go", "Wrong hand")
    chips += ("Glove or nail", "Glass wet")
    pain = ("None", "Mild", "Enough to matter", "Not asked")
    return ObservationView(
        Head(say("Anything to note?"), WHO),
        "",
        tuple(
            Option(as_action(f"trial {block}{number}"), f"{say(block)} {number}".replace(" 0", ""),
                   number == 3)
            for block, number in tiles
        ),
        tuple(Option(as_action(f"note {word}"), say(word), word == "Talked") for word in chips),
        (
            Choices(
                say("Pain now"),
                tuple(Option(as_action(f"set pain {w}"), say(w), w == "Not asked") for w in pain),
            ),
            Choices(
                say("Hands used as asked?"),
                (Option(as_action("hands yes"), say("Yes"), True), Option(as_action("no"), say("No"))),
            ),
        ),
        (second(say, "nothing", "Nothing to note"), main(say, "next", "Next")),
    )


def page_view(say):
    rows, columns = 297, 210
    grey = np.full((rows, columns, 3), 255, dtype=np.uint8)
    grey[20:24, 20:190] = 30
    grey[60:200:8, 20:190] = 120
    return PageView(
        Head(say("Page"), WHO),
        "7F-KD",
        (say("Printer: Room 4. Take the page marked 7F-KD."), say("Not yet reviewed.")),
        (say("2 of 6 scores are low for age 72."), say("1 of 6 is reliably poorer than at visit 2.")),
        "7F-KD",
        (
            Control(as_action("results"), say("Results"), "quiet"),
            second(say, "save", "Save"),
            second(say, "copy", "Copy line"),
            second(say, "sign", "Sign"),
            main(say, "print", "Print"),
        ),
        "",
        PaperPixels(210.0, 297.0, columns, rows, grey.tobytes()),
        QR,
    )


def figures(say):
    lines = (
        ("Touch samples a second", "118", "Pass", "pass"),
        ("Longest gap", "31 ms", "Pass", "pass"),
        ("Frames dropped", "4 %", "Warn", "warn"),
        ("Input filter", "2 px", "Refuse", "refuse"),
        ("Glass calibrated", "24 Nov", "Pass", "pass"),
        ("Free space", "12 GB", "Pass", "pass"),
        ("Clock", "08:25", "Pass", "pass"),
        ("Power", "84 %", "Pass", "pass"),
    )
    rows = tuple(Figure(say(name), value, say(words), verdict) for name, value, words, verdict in lines)
    rows += (Figure("", say("All touches are shifted the same way, by 5.1 mm on average."),
                    say("Fit for visits, with a note."), "warn"),)
    return FigureView(
        Head(say("Device check")),
        say("Fit to be used, with a note."),
        rows,
        (second(say, "start_check", "Check again"), main(say, "next", "Done")),
    )


def card(say, axis, length, other):
    return CardView(
        Head(say("Size of the glass")),
        say("Lay a bank card on the outline. Make the strong edges meet the card's edges."),
        axis,
        length,
        other,
        (
            Control(as_action("back"), say("Back"), "quiet"),
            Control(as_action("narrower 10"), "\u2212\u2212"),
            Control(as_action("narrower 1"), "\u2212"),
            Control(as_action("wider 1"), "+"),
            Control(as_action("wider 10"), "++"),
            main(say, "next", "It fits"),
        ),
    )


def why(say):
    text = say(
        "Percentile 7 means that about 7 in 100 people of this reference group score lower. It is the share "
        "of people, not the share of the task done right."
    )
    return TextView(
        Head(say("Why?"), WHO),
        (text, say("The interval comes from the size of the reference group only.")),
        (main(say, "back", "Back"),),
        say("The reference group is small (n 38): the ranges are wide."),
        (Choices(say("Role"), (Option(as_action("role a"), say("Clinician"), True),
                               Option(as_action("role b"), say("Nurse")))),),
    )


def replay(say):
    turn = np.linspace(0, 4 * np.pi, 16 * 60)
    disc = 40.0 * np.column_stack([np.sin(turn), np.cos(turn)])
    late = 40.0 * np.column_stack([np.sin(turn - 0.2), np.cos(turn - 0.2)])
    wide = 1.15 * late
    wide[100:140] = np.nan
    t_s = np.arange(len(turn)) / 60.0
    trials = ("Steady 1", "Steady 2", "Brisk 1", "Wander 1")
    return ReplayView(
        Head(say("First and latest visit"), WHO),
        (
            ReplayPath(say("Visit 1, 25 May 2026"), t_s, disc, late),
            ReplayPath(say("Visit 3, 25 Nov 2026"), t_s, disc, wide),
        ),
        tuple(Option(as_action(f"trial {one}"), say(one), one == "Steady 1") for one in trials),
        (second(say, "play", "Play again"), main(say, "back", "Back")),
    )
