"""Ctrl-C reaches every process: the one that was called says so, those that it started end quietly."""

import signal


def end_quietly() -> None:
    """For a process that another one started and waits for: end on Ctrl-C without a word."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)
