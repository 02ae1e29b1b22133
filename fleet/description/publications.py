"""What to publish to a broker, as values; sending is somebody else's part.

1. A value is checked against the unit's schema first; what it rules out is never published.
2. A topic is held once more before it goes out, so that none with a wildcard ever does.
3. A broker that took a message says nothing of the unit behind it: what came of it is read back.
4. An action is never published retained, whatever its form says: the broker would hand "restart" to
   the unit again each time that it comes back.
"""

from dataclasses import dataclass

from fleet.description.checking import check_value
from fleet.description.documents import Json
from fleet.description.origins import is_broker
from fleet.description.requests import body_of, needed_form
from fleet.description.things import Affordance, Thing
from fleet.description.topics import hold_topic
from fleet.model.errors import PlanError


@dataclass(frozen=True, slots=True)
class Publication:
    """One message to a broker.

    Attributes:
        broker_url: the broker's origin, for example "mqtt://192.0.2.9:1883".
        topic: without wildcards.
        payload: what to send.
        qos: quality of service, 0 to 2.
        retain: the broker is to keep it for whoever comes later.
    """

    broker_url: str
    topic: str
    payload: bytes
    qos: int = 0
    retain: bool = False


def publication(thing: Thing, affordance: Affordance, value: Json = None) -> Publication:
    """Return the message that writes a property or invokes an action.

    Args:
        thing: the unit.
        affordance: one of its properties or actions.
        value: the whole value, in the unit's own members and units; None for an action without input.

    Raises:
        PlanError: it can't be published, the schema rules the value out, or the topic is none.
    """
    acts = affordance.kind == "action"
    op, done = ("invokeaction", "invoked") if acts else ("writeproperty", "written")
    form = needed_form(thing, affordance, op, done)
    if not is_broker(form.url):
        raise _refusal(f"its {affordance.name} goes by a request, not by a broker", thing)
    try:
        topic = hold_topic(form.topic)
    except ValueError as broken:
        raise _refusal(f"its {affordance.name} can't be published: {broken}", thing) from broken
    if acts and value is None and not affordance.schema.get("required"):
        return Publication(form.url, topic, b"", form.qos)
    check_value(affordance, value, thing.subject)
    payload = body_of(form, value, thing, affordance)
    return Publication(form.url, topic, payload, form.qos, form.retain and not acts)


def _refusal(what: str, thing: Thing) -> PlanError:
    return PlanError(f"{what}.", subject=thing.subject, stands="Nothing was sent.")
