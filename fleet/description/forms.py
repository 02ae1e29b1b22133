"""Forms of a description, put onto the origin that the description came from.

1. An address is resolved against `base`, and that against the description's own address.
2. Only path and query of the outcome are kept; scheme, host and port are always those of the
   description. If the form meant another place, `moved_from` says which. A name that the unit itself
   advertised counts as its own where scheme and port agree.
3. What is neither http nor a WebSocket nor a broker that a person named, names no sensible method,
   media type or topic, or is no URI template, is dropped and complained about. A WebSocket only
   watches.
4. Defaults of TD 1.1 §5.4: `op` by the kind of affordance, JSON as content type, GET to read, PUT to
   write, POST to invoke.
5. Order: own origin, then JSON before other content, then event stream, WebSocket, broker, plain,
   long poll (what isn't watched goes to the unit itself before it goes by a broker); else as the
   description has them. Twins for other interfaces or encodings so end up last.
6. `mqv:` terms of a broker's form are read by `fleet.description.topics`.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from uritemplate import URITemplate

from fleet.description.documents import Json, as_object, as_texts
from fleet.description.expansion import Prefixes
from fleet.description.limits import MAX_FORMS, MAX_TEMPLATE_VARIABLES
from fleet.description.origins import (
    Place,
    broker_and_path,
    is_broker,
    is_socket,
    on_own_origin,
    scheme_of,
)
from fleet.description.schemas import Note
from fleet.description.security import SecurityOption, read_security
from fleet.description.texts import plain_text
from fleet.description.topics import TopicTerms, read_topic_terms
from fleet.description.vocabulary import CONCURRENCY, POLL_EVERY

_DEFAULT_METHODS: Mapping[str, str] = {
    "readproperty": "GET",
    "writeproperty": "PUT",
    "observeproperty": "GET",
    "invokeaction": "POST",
    "queryaction": "GET",
    "cancelaction": "DELETE",
    "subscribeevent": "GET",
}
_METHODS = frozenset({"GET", "PUT", "POST", "PATCH", "DELETE"})
_MEDIA_TYPE = re.compile(r"[\w.+-]+/[\w.+*-]+(;\s*[\w.+-]+=(\"[\w .+/-]*\"|[\w.+-]+))*", re.ASCII)
_WATCHING = frozenset({"observeproperty", "subscribeevent"})
_SUBSCRIBING = _WATCHING | {"readproperty"}
_PUBLISHING = frozenset({"writeproperty", "invokeaction"})
_WAY_RANK = {"sse": 0, "ws": 1, "mqtt": 2, "": 3, "longpoll": 4}
_OTHER_WAY = 5
_POLL_EVERY_MS = range(100, 3_600_001)
_JSON = "application/json"


@dataclass(frozen=True, slots=True)
class Form:
    """One operation at one address.

    Attributes:
        op: for example readproperty, writeproperty, invokeaction, observeproperty, subscribeevent.
        url: absolute, on the description's origin; may be a URI template (RFC 6570). That of a broker
            is its origin alone ("mqtt://192.0.2.9:1883").
        method: the HTTP method; PUBLISH or SUBSCRIBE at a broker.
        content_type: of what is sent.
        response_content_type: of what comes back.
        subprotocol: sse, longpoll, another word, or None.
        if_match: a write needs the tag of the value that it replaces.
        moved_from: where the form pointed if that was another origin, else None.
        security: options of which any will do; empty means none is named.
        poll_every_ms: how often the unit wants to be asked where it is polled; None where it doesn't say.
        topic: at a broker, what to publish to; "" for a form that subscribes.
        filter: at a broker, what to subscribe to, without wildcards; "" for a form that publishes.
        qos: at a broker, the quality of service: 0, 1 or 2.
        retain: at a broker, its last message is kept for whoever comes later.
    """

    op: str
    url: str
    method: str
    content_type: str = _JSON
    response_content_type: str = _JSON
    subprotocol: str | None = None
    if_match: bool = False
    moved_from: str | None = None
    security: tuple[SecurityOption, ...] = ()
    poll_every_ms: int | None = None
    topic: str = ""
    filter: str = ""
    qos: int = 0
    retain: bool = False


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the rest of a description means for its forms.

    Attributes:
        place: what addresses are resolved against.
        prefixes: what the description's context defines.
        definitions: its `securityDefinitions`.
        security: its `security`, for forms that have none of their own.
    """

    place: Place
    prefixes: Prefixes
    definitions: Mapping[str, Json]
    security: Json = None


def read_forms(
    raw: list[Json],
    default_ops: tuple[str, ...],
    around: Surroundings,
    note: Note,
) -> tuple[Form, ...]:
    """Return the usable forms of one affordance, one for each operation, the best first.

    Args:
        raw: the description's forms.
        default_ops: the operations of a form that names none.
        around: what the rest of the description means for them.
        note: is told of every form that was dropped.
    """
    if len(raw) > MAX_FORMS:
        note(f"only {MAX_FORMS} of {len(raw)} forms were read")
    forms: list[Form] = []
    for entry in raw[:MAX_FORMS]:
        try:
            forms += _operations(as_object(entry), default_ops, around, note)
        except ValueError as broken:
            note(f"a form was left out: {plain_text(str(broken))}")
    return tuple(sorted(forms, key=_rank))


def _operations(
    raw: dict[str, Json], default_ops: tuple[str, ...], around: Surroundings, note: Note
) -> list[Form]:
    href = next(iter(as_texts(raw.get("href"))), None)
    if href is None:
        raise ValueError("it has no address")
    url, moved_from = on_own_origin(href, around.place)
    ops = [op for op in (as_texts(raw.get("op")) or default_ops) if op in _DEFAULT_METHODS]
    content_type = _media_type(raw.get("contentType"), _JSON)
    response = as_object(raw.get("response")).get("contentType")
    terms = {around.prefixes.expand(key): value for key, value in raw.items()}
    common = Form(
        op="",
        url=url,
        method="",
        content_type=content_type,
        response_content_type=_media_type(response, content_type),
        subprotocol=_subprotocol(raw.get("subprotocol")),
        if_match=terms.get(CONCURRENCY) == "if-match",
        moved_from=moved_from,
        security=read_security(raw.get("security") or around.security, around.definitions),
        poll_every_ms=_poll_every_ms(terms.get(POLL_EVERY), note),
    )
    return _each(common, list(dict.fromkeys(ops)), raw.get("htv:methodName"), terms)


def _each(common: Form, ops: list[str], named: Json, terms: Mapping[str, Json]) -> list[Form]:
    """Return a form for each operation, as its kind of address has it."""
    if is_broker(common.url):
        broker, path = broker_and_path(common.url)
        said = read_topic_terms(terms, path)
        ops = _served(ops, _PUBLISHING | _SUBSCRIBING, "a broker only takes and tells")
        return [_at_broker(replace(common, op=op, url=broker), said) for op in ops]
    _hold_template(common.url)
    if is_socket(common.url):
        ops = _served(ops, _WATCHING, "a WebSocket only watches")
    shared = len(ops) > 1
    return [replace(common, op=op, method=_method(op, named, shared=shared)) for op in ops]


def _at_broker(form: Form, said: TopicTerms) -> Form:
    """Return a broker's form with its topic or filter.

    Raises:
        ValueError: it names none that can be used.
    """
    if form.op in _PUBLISHING:
        topic, method = said.topic_to_publish(), "PUBLISH"
        return replace(form, method=method, topic=topic, qos=said.qos, retain=said.retain)
    heard, method = said.filter_to_subscribe(), "SUBSCRIBE"
    return replace(form, method=method, filter=heard, qos=said.qos, retain=said.retain)


def _served(ops: list[str], served: frozenset[str], reason: str) -> list[str]:
    kept = [op for op in ops if op in served]
    if not kept:
        raise ValueError(reason)
    return kept


def _poll_every_ms(value: Json, note: Note) -> int | None:
    if value is None:
        return None
    if isinstance(value, int) and not isinstance(value, bool) and value in _POLL_EVERY_MS:
        return value
    lowest, highest = _POLL_EVERY_MS.start, _POLL_EVERY_MS.stop - 1
    note(f"its polling interval isn't {lowest} to {highest} ms; our own is used")
    return None


def _hold_template(url: str) -> None:
    """Refuse a template that is no template, or would take long.

    Raises:
        ValueError: that is so.
    """
    if len(URITemplate(url).variable_names) > MAX_TEMPLATE_VARIABLES:
        raise ValueError("its address has too many variables")


def _method(op: str, named: Json, *, shared: bool) -> str:
    default = _DEFAULT_METHODS[op]
    if named is None:
        return default
    if not isinstance(named, str) or named not in _METHODS:
        raise ValueError(f"its method {named!r} isn't spoken here")
    # One method for both reading and writing fits only one of the two.
    return default if shared and (named == "GET") != (default == "GET") else named


def _media_type(value: Json, default: str) -> str:
    if value is None:
        return default
    if not isinstance(value, str) or not _MEDIA_TYPE.fullmatch(value):
        raise ValueError(f"its content type {value!r} is none")
    return value


def _subprotocol(value: Json) -> str | None:
    return plain_text(value, 40) if isinstance(value, str) else None


def _rank(form: Form) -> tuple[bool, bool, bool, int]:
    media = form.response_content_type.partition(";")[0].lower()
    spoken = media.endswith("json") or media == "text/event-stream"
    # A unit's own answer says whether it was done; a broker's says only that it was passed on.
    passed_on = is_broker(form.url) and form.op not in _WATCHING
    return bool(form.moved_from), not spoken, passed_on, _WAY_RANK.get(_way(form), _OTHER_WAY)


def _way(form: Form) -> str:
    if is_socket(form.url) or is_broker(form.url):
        return scheme_of(form.url).removesuffix("s") if is_broker(form.url) else "ws"
    return form.subprotocol or ""
