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
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from fleet.description.assembly import (
    Condition,
    Entry,
    EntryStands,
    condition_of,
    entries_of,
    put_together,
    same,
)
from fleet.description.documents import Json
from fleet.description.things import Affordance

APART_INTERVALS = 1.5
MOST_APART_S = 2.0
OLD_INTERVALS = 3.0
OLDEST_S = 6.0
_INTERVALS = 9


@dataclass(slots=True)
class _Came:
    """When one part came lately, monotonic s."""

    at_s: deque[float] = field(default_factory=lambda: deque(maxlen=_INTERVALS + 1))
    usual_s: float = OLDEST_S

    def arrive(self, now_s: float) -> None:
        """Count an arrival, and work the usual interval out anew."""
        self.at_s.append(now_s)
        between = sorted(later - earlier for earlier, later in pairwise(self.at_s))
        if between:
            self.usual_s = (between[(len(between) - 1) // 2] + between[len(between) // 2]) / 2


class Gathering:
    """The parts of one property as they come."""

    def __init__(self, affordance: Affordance) -> None:
        """Begin with nothing known."""
        self._affordance = affordance
        self._entries = entries_of(affordance)
        self._conditions: dict[str, list[tuple[str, Condition]]] = {}
        self._belonging: dict[str, list[Condition | None]] = {}
        for part in affordance.parts:
            condition = condition_of(part) if part.count else None
            self._belonging.setdefault(part.name, []).append(condition)
            if condition is not None:
                self._conditions.setdefault(part.count, []).append((part.name, condition))
        self._came: dict[str, _Came] = {}
        self._values: dict[str, Json] = {}

    def take(self, name: str, value: Json, now_s: float) -> bool:
        """Take a part in; say whether the whole is due.

        Args:
            name: of the part, or of the property in a condition.
            value: in the unit's own unit.
            now_s: when it arrived, monotonic s.
        """
        changed = not (name in self._values and same(self._values[name], value))
        self._values[name] = value
        self._came.setdefault(name, _Came()).arrive(now_s)
        conditions = self._conditions.get(name, [])
        none_stands = all(condition.met(self._values) is False for _, condition in conditions)
        self._forget_gone(conditions)
        counted = bool(conditions) and (changed or none_stands)
        return (counted or self._is_of_a_standing_entry(name)) and not self._is_without_place(now_s)

    def whole(self, now_s: float) -> Json:
        """Return the value as it stands, list entries without a place left out (null)."""
        return put_together(self._affordance, self._usable(now_s), self._entries)

    def has_entry(self, now_s: float) -> bool:
        """Say whether at least one list entry is there, in its place."""
        usable = self._usable(now_s)
        return any(entry.stands(usable) is EntryStands.HERE for entry in self._entries)

    def ages_s(self, now_s: float) -> dict[str, float]:
        """Return how long ago each part that is known came, s."""
        return {name: max(0.0, now_s - self._came[name].at_s[-1]) for name in self._values}

    def _forget_gone(self, conditions: Sequence[tuple[str, Condition]]) -> None:
        for name, condition in conditions:
            if condition.met(self._values) is False:
                self._values.pop(name, None)

    def _is_of_a_standing_entry(self, name: str) -> bool:
        return any(
            condition is None or condition.met(self._values) is True
            for condition in self._belonging.get(name, ())
        )

    def _usable(self, now_s: float) -> dict[str, Json]:
        """Return what is known without the places whose halves don't belong together any more."""
        values = dict(self._values)
        for entry in self._entries:
            if not self._holds_together(entry, now_s):
                for name in entry.places:
                    values.pop(name, None)
        return values

    def _holds_together(self, entry: Entry, now_s: float) -> bool:
        came = [self._came[name] for name in entry.places if name in self._came]
        if not came:
            return True
        times = [one.at_s[-1] for one in came]
        usual_s = max(one.usual_s for one in came)
        apart_s = min(APART_INTERVALS * usual_s, MOST_APART_S)
        old_s = min(OLD_INTERVALS * usual_s, OLDEST_S)
        return max(times) - min(times) <= apart_s and now_s - min(times) <= old_s

    def _is_without_place(self, now_s: float) -> bool:
        """Say whether the list would be empty only because places are incomplete or too old."""
        usable = self._usable(now_s)
        meant = [
            entry.stands(usable)
            for entry in self._entries
            if (entry.conditions or not self._values.keys().isdisjoint(entry.names))
            and entry.stands(self._values) is not EntryStands.NOT_THERE
        ]
        return bool(meant) and EntryStands.HERE not in meant
