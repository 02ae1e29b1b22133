"""Asking a campaign that another process runs to pause or to stop.

One program writes to the inventory, so the one that asks leaves a word in a file beside it; the one that
runs the campaign looks for it between units, and takes it away.
"""

import contextlib
from enum import StrEnum
from pathlib import Path

FILE_NAME = "campaign-request"
LONGEST_BYTES = 100


class Request(StrEnum):
    """What a campaign is asked to do once its running units have an end."""

    PAUSE = "pause"
    STOP = "stop"


def ask(folder: Path, number: int, request: Request) -> None:
    """Leave a word for whoever runs a campaign.

    Raises:
        OSError: the folder can't be written to.
    """
    draft = folder / f"{FILE_NAME}.new"
    draft.write_text(f"{number} {request.value}\n", encoding="utf-8")
    draft.replace(folder / FILE_NAME)


def asked(folder: Path, number: int) -> Request | None:
    """Return what a campaign is asked to do, or None."""
    try:
        with (folder / FILE_NAME).open("rb") as file:
            words = file.read(LONGEST_BYTES).decode("utf-8", "replace").split()
    except OSError:
        return None
    if words[:1] != [str(number)] or words[1:2] not in [[one.value] for one in Request]:
        return None
    return Request(words[1])


def take_away(folder: Path) -> None:
    """Take away whatever was asked before."""
    with contextlib.suppress(OSError):
        (folder / FILE_NAME).unlink()
