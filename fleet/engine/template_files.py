"""Room templates on disk: those that come with the program, as examples, and a person's own.

No shipped template counts for a site before somebody sets it there.
"""

import json
from functools import cache
from pathlib import Path

from jsonschema import Draft202012Validator

from fleet.engine.files import schema
from fleet.jobs.templates import template_document, template_from
from fleet.model.errors import PlanError
from fleet.model.house import RoomKind
from fleet.model.templates import Template
from fleet.shipped import resources

LARGEST_TEMPLATE_BYTES = 1 << 20


def read_template(path: Path) -> Template:
    """Read a template file.

    Raises:
        PlanError: there is none, it is no JSON, or it isn't of the form.
    """
    document = _read_json(path)
    for error in Draft202012Validator(schema("template")).iter_errors(document):
        place = "/".join(str(part) for part in error.absolute_path) or "the whole file"
        raise _unfit(path, f"{place}: {error.message[:200]}")
    return template_from(document, subject=str(path))


@cache
def shipped_template(kind: RoomKind) -> Template:
    """Return the shipped example for a kind of room."""
    return read_template(resources() / "templates" / f"{kind.value}.json")


def template_text(template: Template) -> str:
    """Return the text of a template file, to be edited and set again."""
    return json.dumps(template_document(template), ensure_ascii=False, indent=1) + "\n"


def _read_json(path: Path) -> dict[str, object]:
    try:
        with path.open("rb") as file:
            # One byte more than is allowed is enough to say that it is too long.
            raw = file.read(LARGEST_TEMPLATE_BYTES + 1)
        if len(raw) > LARGEST_TEMPLATE_BYTES:
            raise _unfit(path, "the file is larger than 1 MiB")
        document = json.loads(raw.decode("utf-8"))
    except OSError as reason:
        raise _unfit(path, f"the file can't be read: {reason.strerror or reason}") from reason
    except (ValueError, RecursionError) as reason:
        raise _unfit(path, f"the file is no JSON: {str(reason)[:200]}") from reason
    if not isinstance(document, dict):
        raise _unfit(path, "the file holds no JSON object")
    return document


def _unfit(path: Path, reason: str) -> PlanError:
    return PlanError(
        f"{reason}.",
        subject=str(path),
        stands="Nothing was taken over from it.",
        next_step="Mend the file and set it again.",
    )
