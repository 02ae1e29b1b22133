"""How long the program waits for a broker, and how much it keeps of what one sends.

A unit that never answers is given up within 20 s: `ready_s` + `answer_s` + `value_s` stay below that.
"""

from dataclasses import dataclass

from fleet.description.limits import MAX_DOCUMENT_BYTES, MAX_REPORT_BYTES, MAX_TOPIC_BYTES


@dataclass(frozen=True, slots=True)
class BrokerLimits:
    """The limits that hold for every broker.

    Attributes:
        open_s: for the network connection, TLS included.
        accept_s: for the broker's answer to CONNECT.
        ready_s: for being let in altogether, with a second try in the older version.
        answer_s: for its receipt of a message (PUBACK) or of a subscription (SUBACK).
        value_s: for a retained value, or the next message.
        goodbye_s: for a clean end of the connection or of a subscription.
        keepalive_s: a connection without traffic is probed that often, and is gone if two pass by.
        first_pause_s: before the first new try; each failure doubles it.
        longest_pause_s: the pause never grows above that.
        tries: how many tries in a row may fail before a watch ends.
        waiting: how many messages wait for a slow consumer; the oldest is dropped for the next.
        waiting_bytes: how many bytes wait for one.
        report_bytes: the longest message of a topic that is watched.
        value_bytes: the longest value that is read, written or announced.
    """

    open_s: float = 3.0
    accept_s: float = 4.0
    ready_s: float = 9.0
    answer_s: float = 4.0
    value_s: float = 5.0
    goodbye_s: float = 1.0
    keepalive_s: int = 10
    first_pause_s: float = 0.5
    longest_pause_s: float = 8.0
    tries: int = 4
    waiting: int = 512
    waiting_bytes: int = 1 << 20
    report_bytes: int = MAX_REPORT_BYTES
    value_bytes: int = MAX_DOCUMENT_BYTES

    @property
    def packet_bytes(self) -> int:
        """The longest packet that is taken in whole: a value, its topic and its properties."""
        return self.value_bytes + 4 * MAX_TOPIC_BYTES
