"""What a description says, as values.

1. What can't be read at all (no JSON, far too much, no unit) raises; all else is read as far as it
   goes, and what is wrong with it is kept as complaints in sentences.
2. A property is described by its own object, an action by `input` and `output`, an event by `data`.
3. Nothing in a `Thing` points away from the unit: every form lies on the description's origin.
4. A property that is put together from others (`pres:parts`) has parts instead of forms; see `parts`.
5. Names and titles are made safe to show on the way in; no request is built from them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import islice

from jsonschema import Draft7Validator
from referencing import Registry

from fleet.description.documents import Json, as_array, as_object, parse_document
from fleet.description.expansion import Prefixes, read_prefixes
from fleet.description.forms import Form, Surroundings, read_forms
from fleet.description.limits import MAX_AFFORDANCES, MAX_COMPLAINTS
from fleet.description.origins import Place, on_own_origin
from fleet.description.parts import Part, has_parts, read_parts, schema_with_parts
from fleet.description.schemas import Note, Schema, copy_schema
from fleet.description.security import SecurityOption, read_security
from fleet.description.texts import plain_text
from fleet.description.vocabulary import PRESENCE_UNIT
from fleet.model.errors import UnitError

_KINDS = {"property": "properties", "action": "actions", "event": "events"}
_SCHEMA_KEYS = {"action": "input", "event": "data"}


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
        parts: what a property is put together from; () for one with forms of its own.
    """

    name: str
    kind: str
    types: frozenset[str]
    schema: Schema
    forms: tuple[Form, ...]
    output: Schema = field(default_factory=dict)
    variables: Mapping[str, Schema] = field(default_factory=dict)
    observable: bool = False
    parts: tuple[Part, ...] = ()

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


def read_thing(
    raw: bytes,
    url: str,
    *,
    own_names: frozenset[str] = frozenset(),
    brokers: frozenset[str] = frozenset(),
    td_schema: Mapping[str, Json] | None = None,
    require_unit: bool = True,
) -> Thing:
    """Read a description as far as it goes.

    Args:
        raw: the bytes as they came.
        url: where they came from, http or https, or a broker's with the unit's own prefix of topics;
            every request will go to its origin.
        own_names: host names that the unit itself advertised (`unit-5.local`).
        brokers: "host:port" of brokers that a person named; forms at any other are left out.
        td_schema: the official schema of TD 1.1; what fails it becomes complaints.
        require_unit: refuse a description that isn't a `pres:PresenceUnit`.

    Raises:
        UnitError: the bytes can't be read at all, hold too many affordances, or describe no unit.
    """
    document = parse_document(raw, subject=url)
    notes = _Notes()
    if td_schema is not None:
        for complaint in complaints_of(document, td_schema):
            notes.add(complaint)
    prefixes = read_prefixes(document.get("@context"))
    types = prefixes.expand_all(document.get("@type"))
    if require_unit and PRESENCE_UNIT not in types:
        raise _refusal("its description doesn't say that it is a presence unit.", url)
    _hold_number_of_affordances(document, url)
    place = Place(url, "", _lower(own_names), frozenset(name.lower() for name in brokers))
    around = _surroundings(document, place, prefixes, notes.add)
    found = {
        kind: _read_affordances(document.get(key), kind, around, notes.add)
        for kind, key in _KINDS.items()
    }
    found["property"] |= _put_together(document, found["property"], prefixes, notes.add)
    for origin in _origins_left(found):
        notes.add(f"forms point to {origin}; their paths are tried on the unit itself")
    return Thing(
        id=_text(document.get("id")),
        title=_text(document.get("title")),
        url=url,
        types=types,
        properties=found["property"],
        actions=found["action"],
        events=found["event"],
        security=read_security(around.security, around.definitions),
        complaints=tuple(notes.texts),
    )


def complaints_of(document: Json, td_schema: Mapping[str, Json]) -> tuple[str, ...]:
    """Return what the official schema has against a description, a sentence each."""
    checker = Draft7Validator(td_schema, registry=Registry())
    errors = islice(checker.iter_errors(_with_forms(document)), MAX_COMPLAINTS // 2)
    return tuple(
        plain_text(f"at /{'/'.join(str(step) for step in error.path)}: {error.message[:200]}")
        for error in errors
    )


def _with_forms(document: Json) -> Json:
    """Return a description whose properties all have forms, as TD 1.1 wants.

    One that is put together from parts has none, nor has one whose value is stated (`stated`).
    """
    held = as_object(document)
    prefixes = read_prefixes(held.get("@context"))
    given: dict[str, Json] = {
        name: {"forms": [{"href": ""}], **as_object(raw)}
        for name, raw in as_object(held.get("properties")).items()
        if has_parts(as_object(raw), prefixes) or _is_stated(as_object(raw))
    }
    return (
        {**held, "properties": {**as_object(held.get("properties")), **given}}
        if given
        else document
    )


def _is_stated(schema: dict[str, Json]) -> bool:
    members = as_object(schema.get("properties")).values()
    return "const" in schema or (bool(members) and all(_is_stated(as_object(m)) for m in members))


class _Notes:
    """Complaints as they are found, each once, and no more of them than anybody reads."""

    def __init__(self) -> None:
        self.texts: list[str] = []

    def add(self, text: str) -> None:
        """Keep a complaint."""
        if len(self.texts) < MAX_COMPLAINTS and text not in self.texts:
            self.texts.append(text)


def _origins_left(found: Mapping[str, Mapping[str, Affordance]]) -> list[str]:
    """Return the other origins that forms in use point to; twins of a form of the unit's own don't."""
    everything = [affordance for kind in found.values() for affordance in kind.values()]
    used = (one.form(form.op) for one in everything for form in one.forms)
    return sorted({plain_text(form.moved_from) for form in used if form and form.moved_from})


def _surroundings(
    document: dict[str, Json], place: Place, prefixes: Prefixes, note: Note
) -> Surroundings:
    base = document.get("base")
    based = replace(place, base=base) if isinstance(base, str) else place
    try:
        on_own_origin("", based)
    except ValueError:
        note("its base is no address to be used; the description's own address is used")
        based = place
    definitions = as_object(document.get("securityDefinitions"))
    return Surroundings(based, prefixes, definitions, document.get("security"))


def _lower(own_names: frozenset[str]) -> frozenset[str]:
    return frozenset(name.lower().rstrip(".") for name in own_names)


def _read_affordances(
    raw: Json, kind: str, around: Surroundings, note: Note
) -> dict[str, Affordance]:
    found: dict[str, Affordance] = {}
    for own_name, entry in as_object(raw).items():
        name = plain_text(own_name)
        if isinstance(entry, dict) and name and name not in found:
            found[name] = _read_affordance(name, kind, entry, around, _named(name, note))
        else:
            note(f"the {kind} {name!r} can't be read")
    return found


def _put_together(
    document: dict[str, Json], found: Mapping[str, Affordance], prefixes: Prefixes, note: Note
) -> dict[str, Affordance]:
    """Return the properties that have parts, with them."""
    raws: dict[str, dict[str, Json]] = {}
    for own_name, raw in as_object(document.get("properties")).items():
        if isinstance(raw, dict):
            raws.setdefault(plain_text(own_name), raw)
    wholes = [name for name in found if has_parts(raws[name], prefixes)]
    known = {name: one.schema for name, one in found.items() if name not in wholes and one.forms}
    return {
        name: _whole(found[name], raws[name], known, prefixes, _named(name, note))
        for name in wholes
    }


def _whole(
    affordance: Affordance,
    raw: dict[str, Json],
    known: Mapping[str, Schema],
    prefixes: Prefixes,
    note: Note,
) -> Affordance:
    parts = read_parts(raw, known, prefixes, note)
    if not parts:
        note("it has no part that it could be put together from")
        return affordance
    # TD 1.1 asks for a form in every property, so one beside the parts is no fault; the parts are used.
    schema = schema_with_parts(affordance.schema, parts, known)
    return replace(affordance, parts=parts, schema=schema, forms=(), observable=True)


def _named(name: str, note: Note) -> Note:
    return lambda text: note(f"{name}: {text}")


def _read_affordance(
    name: str, kind: str, raw: dict[str, Json], around: Surroundings, note: Note
) -> Affordance:
    described = raw if kind == "property" else as_object(raw.get(_SCHEMA_KEYS[kind]))
    forms = raw.get("forms")
    return Affordance(
        name=name,
        kind=kind,
        types=around.prefixes.expand_all(raw.get("@type")),
        schema=copy_schema(described, around.prefixes, note),
        forms=_allowed(read_forms(as_array(forms), _default_ops(kind, raw), around, note), raw),
        output=copy_schema(as_object(raw.get("output")), around.prefixes, note),
        variables={
            variable: copy_schema(as_object(schema), around.prefixes, note)
            for variable, schema in as_object(raw.get("uriVariables")).items()
        },
        observable=raw.get("observable") is True,
    )


def _allowed(forms: tuple[Form, ...], raw: dict[str, Json]) -> tuple[Form, ...]:
    """Leave out forms for what the value isn't open to: some servers offer to write everything."""
    closed = {"readOnly": "writeproperty", "writeOnly": "readproperty"}
    shut = {op for key, op in closed.items() if raw.get(key) is True}
    return tuple(form for form in forms if form.op not in shut)


def _default_ops(kind: str, raw: dict[str, Json]) -> tuple[str, ...]:
    """Return what a form without `op` is for (TD 1.1 §5.3.4.2)."""
    if kind == "property":
        read = () if raw.get("writeOnly") is True else ("readproperty",)
        return read if raw.get("readOnly") is True else (*read, "writeproperty")
    return ("invokeaction",) if kind == "action" else ("subscribeevent",)


def _hold_number_of_affordances(document: dict[str, Json], url: str) -> None:
    number = sum(len(as_object(document.get(key))) for key in _KINDS.values())
    if number > MAX_AFFORDANCES:
        raise _refusal(
            f"its description names {number} affordances; {MAX_AFFORDANCES} are read.", url
        )


def _refusal(what: str, url: str) -> UnitError:
    return UnitError(
        what,
        subject=url,
        stands="Nothing of it was used.",
        next_step="Check the address; if it is right, the unit's build is at fault.",
    )


def _text(value: Json) -> str:
    return plain_text(value) if isinstance(value, str) else ""


def _first_of(affordances: Mapping[str, Affordance], type_iri: str) -> Affordance | None:
    return next((found for found in affordances.values() if type_iri in found.types), None)
