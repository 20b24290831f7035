"""Keeping data: the only room that knows SQLAlchemy."""
