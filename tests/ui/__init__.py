"""Tests of the window, with a screen or without."""
