"""Where the files that come with the program lie.

In a source tree `resources/` and `migrations/` stand beside `fleet/`; in the wheel they lie inside
it. Everything that needs one of them asks here, so the difference is known in one place.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def resources() -> Path:
    """Return the folder of shipped data: schemas, checklists, demo house, layouts, fonts."""
    return _shipped_folder("resources")


def migrations() -> Path:
    """Return the folder of the inventory's Alembic scripts."""
    return _shipped_folder("migrations")


def _shipped_folder(name: str) -> Path:
    in_wheel = _PACKAGE / name
    return in_wheel if in_wheel.is_dir() else _PACKAGE.parent / name
