"""The pursuit kiosk: from a moving fingertip to one printed page. Imports nothing (see bootstrap)."""

__version__ = "0.1.0"
