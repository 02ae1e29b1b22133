"""Readings that come one at a time, gathered into whole values with the age of each part.

Nothing here reads a clock: whoever gathers says when a part arrived, in monotonic seconds.

1. A whole value is due when a part of a list entry that stands arrives, when a condition changes, and when
   a condition says that no entry stands: so an empty house is reported as often as its count comes. A
   property without lists is due with every part.
2. What an entry held before its condition failed is forgotten: the next body doesn't begin where the last
   one was seen.
3. Parts that make a place (x and y, range and angle) count together only if they came within 1.5 times the
   usual interval of the slower one, and never more than 2 s apart. Somebody who walks covers up to
   1.4 m in a second, so older halves make a place where nobody is. One and a half intervals let a report
   through whose halves come in turns, at their ordinary pace with its jitter; 2 s is the interval of the
   slowest unit of this kind (0.5 Hz). The usual interval is the median of the last nine; while there are
   none, 2 s hold.
4. A place whose older half came longer ago than three usual intervals, and in any case more than 6 s, is no
   longer shown as if it stood: its part has stopped coming.
5. An empty list says that nobody is there. So no value is due while an entry should stand, has no place
   (by 3, by 4, or since half of it never came), and no other one has one. An entry without a condition of
   which nothing ever came isn't used by the unit.
6. There is no report number, so what got lost can't be counted; it is unknown, not none.
"""

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import median

from fleet.description.assembly import (
    EntryStands,
    condition_met,
    entries_of,
    entry_stands,
    place_parts,
    put_together,
    same,
)
from fleet.description.documents import Json
from fleet.description.parts import Part, Pointer
from fleet.description.things import Affordance

APART_INTERVALS = 1.5
MOST_APART_S = 2.0
OLD_INTERVALS = 3.0
OLDEST_S = 6.0
_INTERVALS = 9


@dataclass(slots=True)
class _Came:
    """How one part has come lately."""

    value: Json = None
    at_s: deque[float] = field(default_factory=lambda: deque(maxlen=_INTERVALS + 1))
    known: bool = False

    def usual_s(self, otherwise_s: float) -> float:
        """Return the usual interval, s."""
        between = [later - earlier for earlier, later in pairwise(self.at_s)]
        return median(between) if between else otherwise_s


class Gathering:
    """The parts of one property as they come."""

    def __init__(self, affordance: Affordance) -> None:
        """Begin with nothing known."""
        self._affordance = affordance
        self._entries = entries_of(affordance)
        self._places = {
            entry: place_parts(affordance, parts) for entry, parts in self._entries.items()
        }
        self._came: dict[str, _Came] = {}

    def take(self, name: str, value: Json, now_s: float) -> bool:
        """Take a part in; say whether the whole is due.

        Args:
            name: of the part, or of the property in a condition.
            value: in the unit's own unit.
            now_s: when it arrived, monotonic s.
        """
        came = self._came.setdefault(name, _Came())
        changed = not (came.known and same(came.value, value))
        came.value, came.known = value, True
        came.at_s.append(now_s)
        conditions = [part for part in self._affordance.parts if part.count == name]
        if conditions:
            self._forget_gone(name)
        none_stands = all(self._met(part) is False for part in conditions)
        counted = bool(conditions) and (changed or none_stands)
        return (counted or self._is_of_a_standing_entry(name)) and not self._is_without_place(now_s)

    def whole(self, now_s: float) -> Json:
        """Return the value as it stands, list entries without a place left out (null)."""
        return put_together(self._affordance, self._usable(now_s))

    def has_entry(self, now_s: float) -> bool:
        """Say whether at least one list entry is there, in its place."""
        usable = self._usable(now_s)
        return any(
            entry_stands(self._affordance, entry, parts, usable) is EntryStands.HERE
            for entry, parts in self._entries.items()
        )

    def ages_s(self, now_s: float) -> dict[str, float]:
        """Return how long ago each part that is known came, s."""
        return {
            name: max(0.0, now_s - came.at_s[-1]) for name, came in self._came.items() if came.known
        }

    def _met(self, part: Part) -> bool | None:
        return condition_met(part, self._values())

    def _values(self) -> dict[str, Json]:
        return {name: came.value for name, came in self._came.items() if came.known}

    def _forget_gone(self, count: str) -> None:
        gone = [part for part in self._affordance.parts if part.count == count]
        for part in gone:
            if part.name in self._came and self._met(part) is False:
                self._came[part.name].known = False

    def _is_of_a_standing_entry(self, name: str) -> bool:
        return any(
            part.name == name and (not part.entry or self._met(part) is True)
            for part in self._affordance.parts
        )

    def _usable(self, now_s: float) -> dict[str, Json]:
        """Return what is known without the places whose halves don't belong together any more."""
        values = self._values()
        for entry in self._entries:
            if not self._holds_together(entry, now_s):
                for part in self._places[entry]:
                    values.pop(part.name, None)
        return values

    def _holds_together(self, entry: Pointer, now_s: float) -> bool:
        came = [self._came[part.name] for part in self._places[entry] if part.name in self._came]
        if not came:
            return True
        times = [one.at_s[-1] for one in came]
        usual_s = max(one.usual_s(OLDEST_S) for one in came)
        apart_s = min(APART_INTERVALS * usual_s, MOST_APART_S)
        old_s = min(OLD_INTERVALS * usual_s, OLDEST_S)
        return max(times) - min(times) <= apart_s and now_s - min(times) <= old_s

    def _is_without_place(self, now_s: float) -> bool:
        """Say whether the list would be empty only because places are incomplete or too old."""
        known, usable = self._values(), self._usable(now_s)
        meant = [
            entry_stands(self._affordance, entry, parts, usable)
            for entry, parts in self._entries.items()
            if _is_spoken_of(parts, known)
            and entry_stands(self._affordance, entry, parts, known) is not EntryStands.NOT_THERE
        ]
        return bool(meant) and EntryStands.HERE not in meant


def _is_spoken_of(parts: Sequence[Part], known: Mapping[str, Json]) -> bool:
    """Say whether a unit said anything of a list entry: of the entry itself, or by a condition."""
    return any(part.count or part.name in known for part in parts)
