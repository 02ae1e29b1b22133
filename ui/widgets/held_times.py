"""For how long each track has been held, in house time."""

from collections.abc import Mapping
from datetime import datetime

from fleet.model.snapshot import LiveUnit


class HeldTimes:
    """Remembers since when a track has been held; one that moves again or goes is forgotten."""

    def __init__(self) -> None:
        self._since: dict[tuple[str, int], datetime] = {}
        self._now: datetime | None = None

    def see(self, live: Mapping[str, LiveUnit], at: datetime | None) -> None:
        """Note the tracks of one moment; without a time nothing is known."""
        held = {
            (serial, track.key)
            for serial, said in live.items()
            for track in said.tracks
            if track.held
        }
        self._now = at
        since = {key: began for key, began in self._since.items() if key in held}
        self._since = since if at is None else {key: since.get(key, at) for key in held}

    def seconds(self) -> dict[tuple[str, int], float]:
        """Return serial and track key → house seconds held."""
        if self._now is None:
            return {}
        return {key: (self._now - began).total_seconds() for key, began in self._since.items()}
