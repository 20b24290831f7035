"""Errors, settings and set-up: what every other package may use. Standard library only."""
