"""How a value of a unit is watched: the best way that its description offers.

An event stream comes first, then a WebSocket, a broker (MQTT) and a long poll. A property that offers
none of these, but can be read, is read again and again.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from fleet.description.forms import Form
from fleet.description.origins import is_broker, is_http, is_socket
from fleet.description.things import Affordance
from fleet.description.vocabulary import TARGET_FRAME
from fleet.link.limits import Limits


class Way(StrEnum):
    """A way that values arrive, in the words that a person sees."""

    EVENT_STREAM = "event stream"
    SOCKET = "WebSocket"
    BROKER = "MQTT"
    LONG_POLL = "long poll"
    POLLED = "polled"


@dataclass(frozen=True, slots=True)
class Watching:
    """How one value is watched.

    Attributes:
        way: how.
        form: what is asked.
        affordance: with that form alone, for the request to be made from.
    """

    way: Way
    form: Form
    affordance: Affordance


def watching(affordance: Affordance) -> Watching | None:
    """Return how a property or an event is watched, or None where it can't be."""
    op = "subscribeevent" if affordance.kind == "event" else "observeproperty"
    form = affordance.form(op)
    way = _way_of(form) if form else None
    if form is None or way is None:
        form, way = affordance.form("readproperty"), Way.POLLED
    return None if form is None else Watching(way, form, replace(affordance, forms=(form,)))


def silence_s(affordance: Affordance, limits: Limits) -> float:
    """Return how long a stream may say nothing whole: reports come all the time, the rest seldom."""
    reports = TARGET_FRAME in affordance.types
    return limits.stream_silence_s if reports else limits.seldom_silence_s


def poll_every_s(affordance: Affordance, form: Form, limits: Limits) -> float:
    """Return how long to wait between two reads of what is polled."""
    named = [one.poll_every_ms for one in (form, *affordance.forms) if one.poll_every_ms]
    return (named[0] if named else limits.poll_ms) / 1000


def _way_of(form: Form) -> Way | None:
    if is_socket(form.url):
        return Way.SOCKET
    if is_broker(form.url):
        return Way.BROKER
    if not is_http(form.url):
        return None
    return {"sse": Way.EVENT_STREAM, "longpoll": Way.LONG_POLL, None: Way.LONG_POLL}.get(
        form.subprotocol
    )
