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
from urllib.parse import quote, urljoin, urlsplit

from uritemplate import URITemplate

from fleet.description.documents import Json, as_object, as_texts
from fleet.description.expansion import Prefixes
from fleet.description.limits import MAX_FORMS, MAX_HREF_CHARS, MAX_TEMPLATE_VARIABLES
from fleet.description.schemas import Note
from fleet.description.texts import plain_text
from fleet.description.things import Form, SecurityOption, origin_of
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
_SAFE_IN_PATH = "%/:@!$&'()*+,;=~-._{}|"
_JSON = "application/json"


@dataclass(frozen=True, slots=True)
class Place:
    """Where the description came from and whose names count as its own.

    Attributes:
        url: the description's address.
        base: what its forms are relative to.
        own_names: host names that the unit itself advertised, in lower case without a final dot.
    """

    url: str
    base: str
    own_names: frozenset[str] = frozenset()


def read_forms(
    raw: list[Json],
    default_ops: tuple[str, ...],
    place: Place,
    prefixes: Prefixes,
    security: Mapping[str, tuple[SecurityOption, ...]],
    note: Note,
) -> tuple[Form, ...]:
    """Return the usable forms of one affordance, one for each operation, the best first.

    Args:
        raw: the description's forms.
        default_ops: the operations of a form that names none.
        place: what addresses are resolved against.
        prefixes: what the description's context defines.
        security: the options by the schemes' names; "" holds the description's own.
        note: is told of every form that was dropped or moved.
    """
    if len(raw) > MAX_FORMS:
        note(f"only {MAX_FORMS} of {len(raw)} forms were read")
    forms: list[Form] = []
    for entry in raw[:MAX_FORMS]:
        try:
            forms += _operations(as_object(entry), default_ops, place, prefixes, security)
        except ValueError as broken:
            note(f"a form was left out: {plain_text(str(broken))}")
    for moved in sorted({form.moved_from for form in forms if form.moved_from}):
        note(f"a form points to {plain_text(moved)}; its path is tried on the unit itself")
    return tuple(sorted(forms, key=_rank))


def on_own_origin(href: str, place: Place) -> tuple[str, str | None]:
    """Return an address on the description's origin, and where it pointed if that was elsewhere.

    Raises:
        ValueError: the address isn't one of http or https, or is no address at all.
    """
    if len(href) > MAX_HREF_CHARS:
        raise ValueError("its address is too long")
    meant = urljoin(urljoin(place.url, place.base), href)
    parts, origin = urlsplit(meant), origin_of(place.url)
    path = quote("/" + parts.path.lstrip("/"), safe=_SAFE_IN_PATH)
    query = "?" + quote(parts.query, safe=_SAFE_IN_PATH + "?") if parts.query else ""
    elsewhere = None if _is_own(meant, place) else origin_of(meant)
    return origin + path + query, elsewhere


def _is_own(meant: str, place: Place) -> bool:
    there, here = origin_of(meant), origin_of(place.url)
    if there == here:
        return True
    named = (urlsplit(there).hostname or "") in place.own_names
    return named and _scheme_and_port(there) == _scheme_and_port(here)


def _scheme_and_port(origin: str) -> tuple[str, int | None]:
    parts = urlsplit(origin)
    return parts.scheme, parts.port


def _operations(
    raw: dict[str, Json],
    default_ops: tuple[str, ...],
    place: Place,
    prefixes: Prefixes,
    security: Mapping[str, tuple[SecurityOption, ...]],
) -> list[Form]:
    href = raw.get("href")
    if not isinstance(href, str):
        raise ValueError("it has no address")
    url, moved_from = on_own_origin(href, place)
    _hold_template(url)
    ops = [op for op in (as_texts(raw.get("op")) or default_ops) if op in _DEFAULT_METHODS]
    content_type = _media_type(raw.get("contentType"), _JSON)
    response = as_object(raw.get("response")).get("contentType")
    concurrency = {prefixes.expand(key): value for key, value in raw.items()}.get(CONCURRENCY)
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
            security=_security(raw.get("security"), security),
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
    if named not in _METHODS or not isinstance(named, str):
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


def _security(
    names: Json, security: Mapping[str, tuple[SecurityOption, ...]]
) -> tuple[SecurityOption, ...]:
    named = [security[name] for name in as_texts(names) if name in security]
    if not named:
        return security[""]
    options: tuple[SecurityOption, ...] = named[0]
    for more in named[1:]:
        options = tuple(left + right for left in options[:4] for right in more[:4])
    return options


def _rank(form: Form) -> tuple[bool, bool, int]:
    media = form.response_content_type.partition(";")[0].lower()
    spoken = media.endswith("json") or media == "text/event-stream"
    return bool(form.moved_from), not spoken, _SUBPROTOCOL_RANK.get(form.subprotocol, 3)
