"""The schemas of house files, made from the values that the files are read into.

Run this module to write `resources/schemas/plan.schema.json` and `truth.schema.json` again.
"""

import ast
import inspect
import json
import re
import textwrap
from typing import Any

import msgspec

from fleet.model import geometry, house, sheets
from fleet.model.house import HousePlan
from fleet.shipped import resources
from fleet.simulator import truth
from fleet.simulator.truth import Truth

FILES: dict[str, type] = {"plan": HousePlan, "truth": Truth}
_MODULES = (geometry, sheets, house, truth)


def schema_of(name: str) -> dict[str, Any]:
    """Return the schema of the file `name`.json of a house's folder."""
    kind = FILES[name]
    made = msgspec.json.schema(kind)
    definitions = {key: _told(key, part) for key, part in sorted(made["$defs"].items())}
    definitions[kind.__name__]["properties"]["format"]["const"] = f"walkdown-{name}/1"
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"https://walkdown.example/schemas/{name}.schema.json",
        "title": f"Walkdown {name} file",
        "$ref": made["$ref"],
        "$defs": definitions,
    }


def _told(name: str, part: dict[str, Any]) -> dict[str, Any]:
    value = next(getattr(module, name) for module in _MODULES if hasattr(module, name))
    text = inspect.getdoc(value) or ""
    told = {**part, "description": _flat(text.split("\n\nAttributes:")[0])}
    if "properties" not in part:
        return told
    words = _attribute_words(text) | _words_below(value)
    told["properties"] = {
        key: {**schema, "description": words[key]} if key in words else schema
        for key, schema in part["properties"].items()
    }
    told["additionalProperties"] = False
    return told


def _attribute_words(text: str) -> dict[str, str]:
    """Read "name, other: words" lines, with deeper lines going on, below "Attributes:"."""
    _, _, below = text.partition("Attributes:\n")
    words: dict[str, str] = {}
    for names, told in re.findall(r"^    (\w[\w, ]*): (.*(?:\n {5,}.*)*)", below, re.MULTILINE):
        words |= dict.fromkeys(names.split(", "), _flat(told))
    return words


def _words_below(value: type) -> dict[str, str]:
    """Read the string that stands under an attribute."""
    body = ast.parse(textwrap.dedent(inspect.getsource(value))).body[0]
    assert isinstance(body, ast.ClassDef)
    words: dict[str, str] = {}
    for line, after in zip(body.body, body.body[1:], strict=False):
        if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name):
            match after:
                case ast.Expr(value=ast.Constant(value=str(told))):
                    words[line.target.id] = _flat(told)
    return words


def _flat(text: str) -> str:
    return " ".join(text.split())


def schema_text(name: str) -> str:
    """Return the schema file's text."""
    return json.dumps(schema_of(name), indent=1, ensure_ascii=False) + "\n"


def write_schemas() -> None:
    """Write both schemas into the shipped resources."""
    for name in FILES:
        file = resources() / "schemas" / f"{name}.schema.json"
        file.write_text(schema_text(name), encoding="utf-8")


if __name__ == "__main__":
    write_schemas()
