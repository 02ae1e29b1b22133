"""What stands quietly at the foot: weak ways into units, and what went wrong with some."""

from fleet.model.snapshot import HouseState
from ui.presenters.words import count_words


def security_words(house: HouseState) -> str:
    """Say how many ways in are weak, "" for none."""
    count = len(house.security)
    return count_words(count, "security note") if count else ""


def trouble_words(house: HouseState) -> str:
    """Say how many things went wrong, "" for none."""
    count = len(house.troubles)
    return count_words(count, "trouble") if count else ""
