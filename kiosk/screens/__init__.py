"""Screens: the only room that knows Kivy. Millimetres become pixels here through the calibration."""
