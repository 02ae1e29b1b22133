"""Talking to one unit over HTTP: reading, writing, credentials and event streams."""
