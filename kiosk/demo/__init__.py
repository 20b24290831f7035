"""Simulated visits, pictures of every screen, and previews of a language."""
