"""Why nothing is heard, in words."""

from fleet.model.meeting import Diagnosis
from ui.presenters.words import count_words


def cause_words(found: Diagnosis) -> str:
    """Say the cause as a sentence."""
    cause = found.obstacle.value
    return f"{cause[:1].upper()}{cause[1:]}."


def tried_heading(count: int, *, open_now: bool) -> str:
    """Name the fold under which stands what was tried."""
    return f"{'Hide' if open_now else 'Show'} what was tried: {count_words(count, 'test')}"
