"""Screens: the only room that knows Kivy. Millimetres become pixels here through the calibration.

    stage     one window: shows a Step's screen, draws frames, reports what the person does
    window    Kivy's environment, fixed before its first import; refused without a display
    person, in_field, results   the screens;  parts, buttons, target, hand, scale   what they are made of
    pen, text, alpha            drawing in mm;  theme, layout, fade                 pure
    touch_stream                the toolkit's touches as a Capture;  fingertip      a finger from outside
    pictures                    every screen as a PNG

Kivy reads its environment when it is first imported anywhere, so this room fixes it before that.
"""

from kiosk.screens.environment import fix_environment

fix_environment()
