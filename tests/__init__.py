"""Checks of the whole project."""
