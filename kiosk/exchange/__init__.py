"""Formats that other systems read: a trial as CSV."""
