"""Who listens to which topics, and what a filter matches."""

from fleet.link.mqtt_inbox import Inbox

_LONGEST_FILTER_BYTES = 1024


class Listeners:
    """The inboxes of one broker.

    Attributes:
        messages, slow, oversize, unsound: counts, see `fleet.link.mqtt_broker.BrokerCounts`.
    """

    def __init__(self) -> None:
        """Start with nobody."""
        self.messages = 0
        self.unsound = 0
        self._exact: dict[str, list[Inbox]] = {}
        self._wild: dict[str, list[Inbox]] = {}
        self._left_slow = 0
        self._left_oversize = 0

    @property
    def slow(self) -> int:
        """How many messages were dropped because a listener was slow."""
        return self._left_slow + sum(inbox.dropped for inbox in self._all())

    @property
    def oversize(self) -> int:
        """How many messages were longer than may be."""
        return self._left_oversize + sum(inbox.oversize for inbox in self._all())

    def add(self, inbox: Inbox) -> None:
        """Let an inbox be filled; once is enough."""
        there = self._kind(inbox.heard).setdefault(inbox.heard, [])
        if inbox not in there:
            there.append(inbox)

    def remove(self, inbox: Inbox) -> bool:
        """Let an inbox be filled no longer; return whether it was the last of its filter."""
        kind = self._kind(inbox.heard)
        there = kind.get(inbox.heard, [])
        if inbox not in there:
            return False
        there.remove(inbox)
        self._left_slow += inbox.dropped
        self._left_oversize += inbox.oversize
        if there:
            return False
        del kind[inbox.heard]
        return True

    def deliver(self, topic: str | None, payload: bytes, *, retained: bool, clipped: bool) -> None:
        """Put a message into the inboxes that it is for.

        What the broker kept from before goes only to those who want it: its age is unknown, and a
        stream shows what happens now.
        """
        self.messages += 1
        if topic is None:
            self.unsound += 1
            return
        for inbox in self._for(topic):
            if inbox.retained or not retained:
                inbox.put(topic, payload, clipped=clipped)

    def interrupt(self) -> None:
        """Wake everybody."""
        for inbox in self._all():
            inbox.interrupt()

    def _kind(self, heard: str) -> dict[str, list[Inbox]]:
        return self._wild if "+" in heard or "#" in heard else self._exact

    def _for(self, topic: str) -> list[Inbox]:
        wild = [inboxes for heard, inboxes in self._wild.items() if is_match(heard, topic)]
        return [inbox for inboxes in (self._exact.get(topic, []), *wild) for inbox in inboxes]

    def _all(self) -> list[Inbox]:
        return [
            inbox
            for kind in (self._exact, self._wild)
            for inboxes in kind.values()
            for inbox in inboxes
        ]


def hold_filter(heard: str) -> str:
    """Return a filter that can be subscribed to (MQTT 3.1.1 and 5.0, §4.7).

    Raises:
        ValueError: it is empty, too long, holds a control character, has a wildcard where none may be, or
            is a shared one, which would take messages away from others.
    """
    if not heard or len(heard.encode(errors="replace")) > _LONGEST_FILTER_BYTES:
        raise ValueError("its filter is empty or too long")
    if not heard.isprintable():
        raise ValueError("its filter holds what no topic may")
    if heard.startswith("$share"):
        raise ValueError("its filter would take messages away from others")
    levels = heard.split("/")
    if any(level not in ("+", "#") and ("+" in level or "#" in level) for level in levels):
        raise ValueError("a wildcard of its filter isn't a level of its own")
    if "#" in levels[:-1]:
        raise ValueError("its filter goes on behind #")
    return heard


def is_match(heard: str, topic: str) -> bool:
    """Say whether a topic is among those of a filter; a first wildcard leaves out the broker's own ($)."""
    wanted, levels = heard.split("/"), topic.split("/")
    if topic.startswith("$") and wanted[0] in ("+", "#"):
        return False
    if wanted[-1] == "#":
        wanted = wanted[:-1]
        levels = levels[: len(wanted)]
    return len(wanted) == len(levels) and all(
        want in ("+", level) for want, level in zip(wanted, levels, strict=True)
    )
