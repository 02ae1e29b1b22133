"""Forms of a description, put onto the origin that the description came from.

1. An address is resolved against `base`, and that against the description's own address.
2. Only path and query of the outcome are kept; scheme, host and port are always those of the
   description. If the form meant another place, `moved_from` says which. A name that the unit itself
   advertised counts as its own where scheme and port agree.
3. What isn't http or https, names no sensible method or media type, or is no URI template, is dropped
   and complained about.
4. Defaults of TD 1.1 §5.4: `op` by the kind of affordance, JSON as content type, GET to read, PUT to
   write, POST to invoke.
5. Order: own origin, then JSON before other content, then event stream before long poll; else as
   the description has them. Twins for other interfaces or encodings so end up last.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from uritemplate import URITemplate

from fleet.description.documents import Json, as_object, as_texts
from fleet.description.expansion import Prefixes
from fleet.description.limits import MAX_FORMS, MAX_TEMPLATE_VARIABLES
from fleet.description.origins import Place, on_own_origin
from fleet.description.schemas import Note
from fleet.description.security import SecurityOption, read_security
from fleet.description.texts import plain_text
from fleet.description.vocabulary import CONCURRENCY

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
_SUBPROTOCOL_RANK = {"sse": 0, None: 1, "longpoll": 2}
_JSON = "application/json"


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
        security: options of which any will do; empty means none is named.
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
            forms += _operations(as_object(entry), default_ops, around)
        except ValueError as broken:
            note(f"a form was left out: {plain_text(str(broken))}")
    return tuple(sorted(forms, key=_rank))


def _operations(
    raw: dict[str, Json], default_ops: tuple[str, ...], around: Surroundings
) -> list[Form]:
    href = next(iter(as_texts(raw.get("href"))), None)
    if href is None:
        raise ValueError("it has no address")
    url, moved_from = on_own_origin(href, around.place)
    _hold_template(url)
    ops = [op for op in (as_texts(raw.get("op")) or default_ops) if op in _DEFAULT_METHODS]
    content_type = _media_type(raw.get("contentType"), _JSON)
    response = as_object(raw.get("response")).get("contentType")
    concurrency = {around.prefixes.expand(key): value for key, value in raw.items()}.get(
        CONCURRENCY
    )
    return [
        Form(
            op=op,
            url=url,
            method=_method(op, raw.get("htv:methodName"), shared=len(ops) > 1),
            content_type=content_type,
            response_content_type=_media_type(response, content_type),
            subprotocol=_subprotocol(raw.get("subprotocol")),
            if_match=concurrency == "if-match",
            moved_from=moved_from,
            security=read_security(raw.get("security") or around.security, around.definitions),
        )
        for op in dict.fromkeys(ops)
    ]


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


def _rank(form: Form) -> tuple[bool, bool, int]:
    media = form.response_content_type.partition(";")[0].lower()
    spoken = media.endswith("json") or media == "text/event-stream"
    return bool(form.moved_from), not spoken, _SUBPROTOCOL_RANK.get(form.subprotocol, 3)
