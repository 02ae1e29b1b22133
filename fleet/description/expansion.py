"""Short names of a description, expanded to full IRIs.

Only what stands inline in `@context` counts; an address of a context is never fetched. The terms of
the TD context itself are compared as they are written, so they need no expansion here.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.description.documents import Json, as_array, as_texts

_MAX_PREFIXES = 256


@dataclass(frozen=True, slots=True)
class Prefixes:
    """What the inline contexts of one description define.

    Attributes:
        terms: prefix or term to IRI.
        vocabulary: what a term without a prefix belongs to (`@vocab`), or "" for nothing.
    """

    terms: Mapping[str, str]
    vocabulary: str = ""

    def expand(self, name: str) -> str:
        """Return the IRI of a compact name, or the name itself where nothing defines it."""
        prefix, colon, rest = name.partition(":")
        if colon:
            known = "" if rest.startswith("//") else self.terms.get(prefix, "")
            return known + rest if known else name
        return self.terms.get(name) or self.vocabulary + name

    def expand_all(self, names: Json) -> frozenset[str]:
        """Return the IRIs of a `@type`, which is a string or an array of them."""
        return frozenset(self.expand(name) for name in as_texts(names))


def read_prefixes(context: Json) -> Prefixes:
    """Collect the inline definitions of an `@context`; later ones win, as JSON-LD has it."""
    raw: dict[str, str] = {}
    for entry in as_array(context):
        if isinstance(entry, dict):
            raw.update(_definitions(entry))
    bounded = dict(list(raw.items())[:_MAX_PREFIXES])
    vocabulary = bounded.pop("@vocab", "")
    # A prefix may be written by means of another one: one step is followed, so a loop can't be.
    flat = Prefixes(bounded)
    return Prefixes({term: flat.expand(iri) for term, iri in bounded.items()}, vocabulary)


def _definitions(entry: dict[str, Json]) -> dict[str, str]:
    found: dict[str, str] = {}
    for term, definition in entry.items():
        iri = definition.get("@id") if isinstance(definition, dict) else definition
        if isinstance(iri, str) and (term == "@vocab" or not term.startswith("@")):
            found[term] = iri
    return found
