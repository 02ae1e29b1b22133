"""What a description says, as values.

A `Thing` holds what was read; nothing in it points away from the unit: every form's address lies on
the origin that the description came from.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from fleet.description.documents import Json

Schema = Mapping[str, Json]


@dataclass(frozen=True, slots=True)
class SecurityScheme:
    """One way of being let in.

    Attributes:
        name: the description's own name for it.
        kind: nosec, basic, digest, bearer, apikey, or a word that we can't serve.
        where: header, query, cookie, body or uri: where the secret goes.
        parameter: the header's, query parameter's or cookie's name, or "".
        quality: for digest: auth or auth-int.
    """

    name: str
    kind: str
    where: str = "header"
    parameter: str = ""
    quality: str = "auth"


SecurityOption = tuple[SecurityScheme, ...]
"""Schemes that must hold together."""


@dataclass(frozen=True, slots=True)
class Form:
    """One operation at one address.

    Attributes:
        op: for example readproperty, writeproperty, invokeaction, observeproperty, subscribeevent.
        url: absolute, on the description's origin; may be a URI template (RFC 6570).
        method: the HTTP method.
        content_type: of what is sent.
        response_content_type: of what comes back.
        subprotocol: sse, longpoll, another word, or None.
        if_match: a write needs the tag of the value that it replaces.
        moved_from: where the form pointed if that was another origin, else None.
        security: options of which any will do; empty means none is needed.
    """

    op: str
    url: str
    method: str
    content_type: str = "application/json"
    response_content_type: str = "application/json"
    subprotocol: str | None = None
    if_match: bool = False
    moved_from: str | None = None
    security: tuple[SecurityOption, ...] = ()


@dataclass(frozen=True, slots=True)
class Affordance:
    """A property, an action or an event.

    Attributes:
        name: the unit's own name, safe to show.
        kind: property, action or event.
        types: expanded IRIs.
        schema: of the property's value, the action's input or the event's data.
        forms: the best first; see `fleet.description.forms`.
        output: an action's output schema.
        variables: schemas of the URI template's variables.
        observable: the description offers to report changes.
    """

    name: str
    kind: str
    types: frozenset[str]
    schema: Schema
    forms: tuple[Form, ...]
    output: Schema = field(default_factory=dict)
    variables: Mapping[str, Schema] = field(default_factory=dict)
    observable: bool = False

    def form(self, op: str) -> Form | None:
        """Return the best form for an operation, or None where there is none."""
        return next((form for form in self.forms if form.op == op), None)


@dataclass(frozen=True, slots=True)
class Thing:
    """A unit's description.

    Attributes:
        id: the description's own id (a URI), or "".
        title: safe to show.
        url: where the description came from.
        types: expanded IRIs.
        properties: by the unit's own name.
        actions: by the unit's own name.
        events: by the unit's own name.
        security: options of which any will do.
        complaints: what is wrong with the description, in sentences.
    """

    id: str
    title: str
    url: str
    types: frozenset[str]
    properties: Mapping[str, Affordance]
    actions: Mapping[str, Affordance]
    events: Mapping[str, Affordance]
    security: tuple[SecurityOption, ...]
    complaints: tuple[str, ...] = ()

    @property
    def subject(self) -> str:
        """What an error calls this unit."""
        return self.title or self.url

    def property_of(self, type_iri: str) -> Affordance | None:
        """Return the first property of a type, or None."""
        return _first_of(self.properties, type_iri)

    def action_of(self, type_iri: str) -> Affordance | None:
        """Return the first action of a type, or None."""
        return _first_of(self.actions, type_iri)

    def event_of(self, type_iri: str) -> Affordance | None:
        """Return the first event of a type, or None."""
        return _first_of(self.events, type_iri)


def origin_of(url: str) -> str:
    """Return scheme, host and port of an address, the port always written.

    Raises:
        ValueError: the address is no http(s) address of a host.
    """
    parts = urlsplit(url)
    default_ports = {"http": 80, "https": 443}
    if parts.scheme not in default_ports or not parts.hostname:
        raise ValueError(f"{url!r} is no http address")
    host = parts.hostname.rstrip(".")
    shown = f"[{host}]" if ":" in host else host
    return f"{parts.scheme}://{shown}:{parts.port or default_ports[parts.scheme]}"


def _first_of(affordances: Mapping[str, Affordance], type_iri: str) -> Affordance | None:
    return next((found for found in affordances.values() if type_iri in found.types), None)
