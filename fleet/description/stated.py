"""Values that a description states itself, so that nobody has to be asked for them.

A unit that says its serial only in its advert has no address to read it from. Its profile then
describes a property without forms whose every member is a `const`: the value stands in the description.
"""

from collections.abc import Mapping

from fleet.description.documents import Json, as_object
from fleet.description.things import Affordance


def stated(affordance: Affordance) -> Json:
    """Return the value that a property's description states, or None where the unit has to be asked."""
    if affordance.kind != "property" or affordance.forms or affordance.parts:
        return None
    return stated_by(affordance.schema)


def readable(affordance: Affordance) -> bool:
    """Say whether a property has a value to be had: asked for, put together, or stated."""
    asked = affordance.form("readproperty") is not None
    return asked or bool(affordance.parts) or stated(affordance) is not None


def stated_by(schema: Mapping[str, Json]) -> Json:
    """Return the only value that a schema allows, or None where it doesn't state one."""
    if "const" in schema:
        return schema["const"]
    members = as_object(schema.get("properties"))
    held = {name: stated_by(as_object(member)) for name, member in members.items()}
    return held if held and None not in held.values() else None
