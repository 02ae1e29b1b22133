"""Where the inventory lies when nobody says otherwise."""

from pathlib import Path

import platformdirs


def default_folder() -> Path:
    """Return the platform's data folder of this program; it needn't be there yet."""
    return platformdirs.user_data_path("walkdown", appauthor=False)
