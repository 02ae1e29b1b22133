"""What the lap says before a room, and when it is over."""

from fleet.model.house import Room
from ui.presenters.words import count_words


def before_room(room: Room) -> str:
    """Say what to do before a room's minute begins."""
    doors = "Shut the doors" if len(room.doors) > 1 else "Shut the door"
    return f"Go to {room.name}. {doors}, then press “I am there”."


def lap_done(walked: int, rooms: int) -> str:
    """Say how much of the house was walked."""
    left = rooms - walked
    rest = f" {count_words(left, 'room')} not walked: not tested." if left else ""
    return f"{count_words(walked, 'room')} walked.{rest} What was found stands under Jobs."
