"""Steps in doubt, in words."""

from fleet.model.journal import OpenStep
from ui.presenters.words import item_words, value_words


def doubt_words(open_step: OpenStep) -> str:
    """Say what a step meant to write, what stood before, and when it was meant."""
    step = open_step.step
    items = "; ".join(
        f"{item_words(key)}: {value_words(key, step.before.get(key))} → {value_words(key, value)}"
        for key, value in step.items.items()
    )
    at = f"{open_step.intended_at:%d %b %Y %H:%M:%S} UTC"
    return f"{step.label} {step.part}, begun {at}, {open_step.state}. {items}"
