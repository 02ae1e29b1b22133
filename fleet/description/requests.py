"""What to send to a unit, as values; sending is somebody else's part.

1. A value is checked against the unit's schema first; what it rules out is never sent.
2. An address is expanded (RFC 6570) and then held against the description's origin once more.
3. What goes by a broker is no request; see `fleet.description.publications`. A WebSocket is watched
   by the request that opens it.
4. A form that asks for If-Match gets the tag of what was read, and a strong one: a weak tag never
   matches (RFC 9110 §13.1.1), so the write could only fail.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import urljoin

from uritemplate import URITemplate

from fleet.description.checking import check_value
from fleet.description.documents import Json
from fleet.description.forms import Form
from fleet.description.origins import (
    Place,
    is_http,
    is_same_origin,
    is_socket,
    on_own_http_origin,
)
from fleet.description.things import Affordance, Thing
from fleet.model.errors import PlanError, UnitError

_STRONG_TAG = re.compile(r'"[\x21\x23-\x7e\x80-\xff]*"')
_PROBLEM = "application/problem+json"
_OCTETS = "application/octet-stream"


@dataclass(frozen=True, slots=True)
class Request:
    """One HTTP request.

    Attributes:
        method: the HTTP method.
        url: absolute, on the description's origin.
        headers: without credentials.
        body: what to send, or None for nothing.
    """

    method: str
    url: str
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes | None = None


def read_request(
    thing: Thing, affordance: Affordance, variables: Mapping[str, str | int] | None = None
) -> Request:
    """Return the request that reads a property.

    Args:
        thing: the unit.
        affordance: one of its properties.
        variables: values of the address' variables; the schema's defaults fill the rest.

    Raises:
        PlanError: the property can't be read, or not by a request.
    """
    form = _http_form(thing, affordance, "readproperty", "read")
    return Request(form.method, _url(thing, affordance, form, variables), _accepting(form))


def write_request(thing: Thing, affordance: Affordance, value: Json, etag: str | None) -> Request:
    """Return the request that replaces a property's whole value.

    Args:
        thing: the unit.
        affordance: one of its properties.
        value: the whole value, in the unit's own members and units.
        etag: the ETag of the value that was read before, or None where the unit gave none.

    Raises:
        PlanError: the property can't be written, or not by a request, or the schema rules the value out.
        UnitError: the unit asks for If-Match and gives no strong tag.
    """
    form = _http_form(thing, affordance, "writeproperty", "written")
    check_value(affordance, value, thing.subject)
    headers = {**_accepting(form), "Content-Type": form.content_type}
    if form.if_match:
        headers["If-Match"] = _strong_tag(etag, thing, affordance)
    body = body_of(form, value, thing, affordance)
    return Request(form.method, _url(thing, affordance, form, None), headers, body)


def invoke_request(thing: Thing, affordance: Affordance, argument: Json | bytes = None) -> Request:
    """Return the request that invokes an action.

    Args:
        thing: the unit.
        affordance: one of its actions.
        argument: the input; bytes for an action that takes octets; None for none.

    Raises:
        PlanError: the action can't be invoked, or its schema rules the input out.
    """
    form = _http_form(thing, affordance, "invokeaction", "invoked")
    url, headers = _url(thing, affordance, form, None), _accepting(form)
    if argument is None and not affordance.schema.get("required"):
        return Request(form.method, url, headers)
    argument = {} if argument is None else argument
    if not isinstance(argument, bytes):
        check_value(affordance, argument, thing.subject)
    headers = {**headers, "Content-Type": form.content_type}
    return Request(form.method, url, headers, body_of(form, argument, thing, affordance))


def observe_request(thing: Thing, affordance: Affordance, last_event_id: str = "") -> Request:
    """Return the request that watches a property or an event.

    Args:
        thing: the unit.
        affordance: one of its properties or events.
        last_event_id: of the event stream before, "" to begin anew.

    Returns:
        The request of an event stream, a long poll or a plain read; its address is ws or wss where a
        WebSocket is to be opened.

    Raises:
        PlanError: it can't be watched, or not by a request.
    """
    op = "subscribeevent" if affordance.kind == "event" else "observeproperty"
    form = needed_form(thing, affordance, op, "watched")
    if not is_socket(form.url):
        form = _hold_http(thing, affordance, form)
    url = _url(thing, affordance, form, None)
    if form.subprotocol != "sse":
        return Request(form.method, url, _accepting(form))
    headers = {"Accept": "text/event-stream", "Cache-Control": "no-store"}
    if last_event_id and last_event_id.isprintable():
        headers["Last-Event-ID"] = last_event_id
    return Request(form.method, url, headers)


def status_request(thing: Thing, invoked: Request, location: str, method: str = "GET") -> Request:
    """Return the request for the status of an action that goes on after its answer (201).

    Args:
        thing: the unit.
        invoked: the request that began it.
        location: the answer's Location.
        method: GET to ask, DELETE to cancel.

    Raises:
        UnitError: the location is no http address.
    """
    try:
        url = on_own_http_origin(urljoin(invoked.url, location), Place(thing.url))
    except ValueError as broken:
        raise UnitError(
            "it began the action, but the address of its status is none.",
            subject=thing.subject,
            stands="The action may be running.",
            next_step="Read the unit to see what came of it.",
        ) from broken
    return Request(method, url, {"Accept": f"application/json, {_PROBLEM}"})


def needed_form(thing: Thing, affordance: Affordance, op: str, done: str) -> Form:
    """Return the best form for an operation.

    Raises:
        PlanError: the description has none; `done` is the word for what can't be.
    """
    form = affordance.form(op)
    if form is None:
        raise PlanError(
            f"its {affordance.name} can't be {done}: the description has no form for it.",
            subject=thing.subject,
            stands="Nothing was sent.",
        )
    return form


def _http_form(thing: Thing, affordance: Affordance, op: str, done: str) -> Form:
    return _hold_http(thing, affordance, needed_form(thing, affordance, op, done))


def _hold_http(thing: Thing, affordance: Affordance, form: Form) -> Form:
    if is_http(form.url):
        return form
    raise PlanError(
        f"its {affordance.name} goes by a broker, not by a request.",
        subject=thing.subject,
        stands="Nothing was sent.",
        next_step="Name the broker, so that the unit is spoken to through it.",
    )


def _url(
    thing: Thing, affordance: Affordance, form: Form, variables: Mapping[str, str | int] | None
) -> str:
    defaults = {name: schema.get("default") for name, schema in affordance.variables.items()}
    given = {name: value for name, value in defaults.items() if isinstance(value, str | int)}
    url = str(URITemplate(form.url).expand({**given, **(variables or {})}))
    if not is_same_origin(url, thing.url):
        raise PlanError("an address led away from the unit.", subject=thing.subject)
    return url


def _accepting(form: Form) -> dict[str, str]:
    return {"Accept": f"{form.response_content_type}, {_PROBLEM};q=0.9"}


def _strong_tag(etag: str | None, thing: Thing, affordance: Affordance) -> str:
    if etag is not None and _STRONG_TAG.fullmatch(etag):
        return etag
    raise UnitError(
        f"it asks for the tag of what {affordance.name} holds, and gave none that can be sent back.",
        subject=thing.subject,
        stands="Nothing was sent.",
        next_step="Read it again; if that stays, the unit's build is at fault.",
    )


def body_of(form: Form, value: Json | bytes, thing: Thing, affordance: Affordance) -> bytes:
    """Return a value as a form wants it written.

    Raises:
        PlanError: it can't be written so.
    """
    media = form.content_type.partition(";")[0].lower()
    if isinstance(value, bytes) and media == _OCTETS:
        return value
    if isinstance(value, str) and media == "text/plain":
        return value.encode()
    if media.endswith("json") and not isinstance(value, bytes):
        return json.dumps(
            value, ensure_ascii=False, separators=(",", ":"), allow_nan=False
        ).encode()
    raise PlanError(
        f"its {affordance.name} takes {media}, which this value can't be written as.",
        subject=thing.subject,
        stands="Nothing was sent.",
    )
