"""The ways into a unit, as its description names them.

TD 1.1 §5.3.3: `security` names one scheme or several that must hold together; a `combo` scheme names
others, any (`oneOf`) or all (`allOf`) of which must hold. All of that becomes options: tuples of
schemes, any one of which will do. A kind that we can't serve is kept by its word, so that whoever
chooses can say so.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import chain, islice, product

from fleet.description.documents import Json, as_object, as_texts
from fleet.description.limits import MAX_SECURITY_NESTING, MAX_SECURITY_OPTIONS
from fleet.description.texts import plain_text

_MAX_NAMES = 8


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


def read_security(names: Json, definitions: Mapping[str, Json]) -> tuple[SecurityOption, ...]:
    """Return the options of a `security`, any one of which will do; at most a bounded number.

    Args:
        names: a scheme's name or an array of names that must hold together.
        definitions: the description's `securityDefinitions`.
    """
    return _all_of(as_texts(names), definitions, MAX_SECURITY_NESTING)


def _all_of(
    names: list[str], definitions: Mapping[str, Json], depth: int
) -> tuple[SecurityOption, ...]:
    parts = [_options(name, definitions, depth) for name in names[:_MAX_NAMES]]
    joined = (tuple(chain(*choice)) for choice in product(*parts))
    return tuple(islice(joined, MAX_SECURITY_OPTIONS)) if parts else ()


def _options(name: str, definitions: Mapping[str, Json], depth: int) -> tuple[SecurityOption, ...]:
    """Return a scheme's options, never none: one that leads nowhere is kept as `combo`."""
    raw = as_object(definitions.get(name))
    if raw.get("scheme") != "combo":
        return ((_scheme(name, raw),),)
    found: tuple[SecurityOption, ...] = ()
    if depth:
        found = _all_of(as_texts(raw.get("allOf")), definitions, depth - 1) or _any_of(
            as_texts(raw.get("oneOf")), definitions, depth - 1
        )
    return found or ((SecurityScheme(plain_text(name), "combo"),),)


def _any_of(
    names: list[str], definitions: Mapping[str, Json], depth: int
) -> tuple[SecurityOption, ...]:
    # Read only as they are asked for: it ends with the last option that is kept.
    found = (option for name in names[:_MAX_NAMES] for option in _options(name, definitions, depth))
    return tuple(islice(found, MAX_SECURITY_OPTIONS))


def _scheme(name: str, raw: Mapping[str, Json]) -> SecurityScheme:
    kind = _word(raw, "scheme", "undefined")
    where = "query" if kind == "apikey" else "header"
    return SecurityScheme(
        name=plain_text(name),
        kind=kind,
        where=_word(raw, "in", where),
        parameter=_word(raw, "name", ""),
        quality=_word(raw, "qop", "auth"),
    )


def _word(raw: Mapping[str, Json], key: str, default: str) -> str:
    value = raw.get(key)
    return plain_text(value, 64) if isinstance(value, str) else default
