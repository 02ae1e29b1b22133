"""Topics of a broker: what a form may publish to or subscribe to.

The terms are those of the W3C's "Web of Things (WoT) MQTT Binding Template", an editor's draft that
still has no date of its own: `mqv:topic`, `mqv:filter`, `mqv:qos`, `mqv:retain`, `mqv:controlPacket`.
Its prefix has stood for two IRIs: the stand-in of the Working Group Note "WoT Binding Templates" of 30
January 2020 (a line of Notes that was retired on 4 November 2025), and that of the draft's own context.
Both are read, and so is a `mqv:` that nothing defines.

1. A topic is UTF-8 without NUL, not empty, at most 65,535 bytes (MQTT 3.1.1 and 5.0, §4.7.3 and
   §1.5). We stop well before.
2. What a unit publishes to or is read from is one topic: no `+`, no `#` (§4.7.1). A wildcard in a
   publication is an error of the protocol, and in a subscription it would mix in other units.
3. Topics that begin with `$` are the broker's own (§4.7.2).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from fleet.description.documents import Json, as_texts
from fleet.description.limits import MAX_TOPIC_BYTES

_PREFIXES = ("http://www.example.org/mqtt-binding#", "https://www.w3.org/2019/wot/mqtt#", "mqv:")
TOPIC_TERMS = frozenset(prefix + term for prefix in _PREFIXES for term in ("topic", "filter"))
"""Names, expanded or not, of the terms that hold topics."""

_QUALITY = re.compile(r"(?:\w+:)?([012])", re.ASCII)
# Half a surrogate pair is no UTF-8; control characters have no business in a topic (§1.5.3, 1.5.4).
_ODD = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class TopicTerms:
    """What a form says about its broker.

    Attributes:
        topic: of `mqv:topic`, or "".
        filter: of `mqv:filter`, or "".
        path: the address' own path, which stands in for either.
        packet: of `mqv:controlPacket`: publish, subscribe, or "".
        qos: quality of service, 0 to 2.
        retain: the broker keeps the last message.
    """

    topic: str
    filter: str
    path: str
    packet: str
    qos: int
    retain: bool

    def topic_to_publish(self) -> str:
        """Return what to publish to.

        Raises:
            ValueError: there is none, or none that can be published to.
        """
        if self.packet not in {"", "publish"}:
            raise ValueError("it is to be written by another way than by publishing")
        return hold_topic(self.topic or self.path)

    def filter_to_subscribe(self) -> str:
        """Return what to subscribe to.

        Raises:
            ValueError: there is none, or it is more than one topic.
        """
        if self.packet not in {"", "subscribe"}:
            raise ValueError("it is to be read by another way than by subscribing")
        return hold_topic(self.filter or self.topic or self.path)


def read_topic_terms(terms: Mapping[str, Json], path: str) -> TopicTerms:
    """Read a form's `mqv:` terms.

    Args:
        terms: the form's members by expanded name.
        path: of the form's address, decoded, without its first slash.

    Raises:
        ValueError: a term has a value that can't be meant.
    """
    return TopicTerms(
        topic=_text(_said(terms, "topic"), "topic"),
        filter=_text(_said(terms, "filter"), "filter"),
        path=path,
        packet=_text(_said(terms, "controlPacket"), "control packet").rpartition(":")[2],
        qos=_quality(_said(terms, "qos")),
        retain=_said(terms, "retain") is True,
    )


def hold_topic(topic: str) -> str:
    """Return a topic that can be published to and read from.

    Raises:
        ValueError: it is empty, too long, the broker's own, or holds a wildcard or a control character.
    """
    if not topic:
        raise ValueError("it names no topic")
    if _ODD.search(topic):
        raise ValueError("its topic holds what no topic may")
    if len(topic.encode()) > MAX_TOPIC_BYTES:
        raise ValueError("its topic is too long")
    if "+" in topic or "#" in topic:
        raise ValueError("its topic has a wildcard, so it is more than one")
    if topic.startswith("$"):
        raise ValueError("its topic is the broker's own")
    return topic


def _said(terms: Mapping[str, Json], name: str) -> Json:
    return next((terms[p + name] for p in _PREFIXES if p + name in terms), None)


def _text(value: Json, what: str) -> str:
    if value is None:
        return ""
    texts = as_texts(value)
    if len(texts) != 1:
        raise ValueError(f"its {what} is none, or more than one")
    return texts[0]


def _quality(value: Json) -> int:
    """Return a quality of service: 1, "1" and "quality:1" have all been written."""
    if value is None:
        return 0
    found = _QUALITY.fullmatch(str(value))
    if found is None or isinstance(value, bool):
        raise ValueError(f"its quality of service {str(value)[:20]!r} is none")
    return int(found[1])
