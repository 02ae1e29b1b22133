"""The names that were heard, in bounded room, and which of them are news.

Anybody on a network can advertise anything, so:

1. A name is told once; again when its URL changes, and when it comes back after a goodbye.
2. A name that was heard is never pushed out by others. Where the room is full, a stranger is refused and
   counted, unless there are names behind which no unit was found: the oldest of those makes room.
3. Who is expected (its host name or its URL is known from earlier) always finds room, a few names each: a
   stranger can claim an expected host as well.
4. A name whose URL changes more often than a moving unit's could, as when two machines claim it, is
   disputed: its changes are told again when it has been quiet for a minute.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fleet.model.units import Sighting

MAX_ADVERTS = 2000
"""A network that shouts more names than this is not one house."""
NAMES_AN_EXPECTED = 4
CHANGES_A_WINDOW = 8
WINDOW_S = 60.0


@dataclass(slots=True)
class _Name:
    sighting: Sighting
    window_from_s: float
    changes: int = 0
    left: bool = False


class HeardNames:
    """What is known of each name.

    Attributes:
        refused: how many adverts of strangers found no room.
    """

    def __init__(self, most: int = MAX_ADVERTS) -> None:
        """Start with nobody heard; `most` strangers find room."""
        self.refused = 0
        self._most = most
        self._names: dict[str, _Name] = {}
        self._doubted: dict[str, None] = {}
        self._hosts: set[str] = set()
        self._urls: set[str] = set()
        self._vouched: dict[str, str] = {}
        self._vouched_by: Counter[str] = Counter()

    def __contains__(self, key: str) -> bool:
        return key in self._names

    @property
    def sightings(self) -> Mapping[str, Sighting]:
        """The last sighting of each name."""
        return {key: name.sighting for key, name in self._names.items()}

    @property
    def gone(self) -> frozenset[str]:
        """Instance names that said goodbye and weren't heard since."""
        return frozenset(name.sighting.name for name in self._names.values() if name.left)

    @property
    def disputed(self) -> frozenset[str]:
        """Instance names whose address changes too often to be one machine's."""
        return frozenset(
            name.sighting.name for name in self._names.values() if name.changes > CHANGES_A_WINDOW
        )

    def expect(self, hosts: Iterable[str], urls: Iterable[str]) -> None:
        """Add host names and URLs that are known from earlier."""
        self._hosts.update(host.rstrip(".").lower() for host in hosts)
        self._urls.update(urls)

    def doubt(self, key: str) -> None:
        """Note that no unit was found behind a name: it is the first to make room."""
        if key in self._names and key not in self._vouched:
            self._doubted[key] = None

    def url_of(self, key: str) -> str:
        """Return the URL that was last told for a name, "" for none."""
        known = self._names.get(key)
        return known.sighting.url if known else ""

    def is_disputed(self, key: str) -> bool:
        """Tell whether changes of a name are held back."""
        known = self._names.get(key)
        return known is not None and known.changes > CHANGES_A_WINDOW

    def take(self, key: str, sighting: Sighting, now_s: float) -> bool:
        """Keep a sighting; return whether it is news.

        Args:
            key: the full name in lower case.
            sighting: what was heard.
            now_s: a clock that never steps back, wall seconds.
        """
        known = self._names.get(key)
        if known is None:
            return self._take_new(key, sighting, now_s)
        if sighting.url == known.sighting.url and not known.left:
            known.sighting = sighting
            return False
        if now_s - known.window_from_s > WINDOW_S:
            known.window_from_s, known.changes = now_s, 0
        known.changes += 1
        if known.changes > CHANGES_A_WINDOW:
            return False
        known.sighting, known.left = sighting, False
        self._doubted.pop(key, None)
        return True

    def leave(self, key: str) -> Sighting | None:
        """Note a goodbye; return whose it was, None for a name that isn't known or has left before."""
        known = self._names.get(key)
        if known is None or known.left:
            return None
        known.left = True
        return known.sighting

    def _take_new(self, key: str, sighting: Sighting, now_s: float) -> bool:
        voucher = self._voucher_of(sighting)
        if voucher:
            self._vouched[key] = voucher
            self._vouched_by[voucher] += 1
        elif not self._make_room():
            self.refused += 1
            return False
        self._names[key] = _Name(sighting, now_s)
        return True

    def _voucher_of(self, sighting: Sighting) -> str:
        """Return by what a newcomer is expected, "" where it isn't or enough names claim that already."""
        for claim, expected in ((sighting.host, self._hosts), (sighting.url, self._urls)):
            if claim in expected and self._vouched_by[claim] < NAMES_AN_EXPECTED:
                return claim
        return ""

    def _make_room(self) -> bool:
        if len(self._names) - len(self._vouched) < self._most:
            return True
        if not self._doubted:
            return False
        oldest = next(iter(self._doubted))
        del self._doubted[oldest], self._names[oldest]
        return True
