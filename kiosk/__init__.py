"""The pursuit kiosk: from a moving fingertip to one printed page. Imports nothing (see bootstrap)."""
