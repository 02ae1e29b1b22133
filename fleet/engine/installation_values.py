"""A unit's firmware as values: what runs, how far an installation got, and what to tell it to install.

Members are found by their types; `bytesDone`, `bytesTotal`, `size` and `url` have none in the vocabulary
and keep their names within their typed parent.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.description.documents import Json
from fleet.description.schemas import members_of
from fleet.description.texts import plain_text
from fleet.description.things import Affordance, Thing
from fleet.description.values import fields, with_fields
from fleet.description.vocabulary import (
    ALLOW_DOWNGRADE,
    BUILD_CONFIRMED,
    BUILD_ID,
    FAILURE_REASON,
    FIRMWARE_BUILD,
    FIRMWARE_INSTALLATION,
    FIRMWARE_VERSION,
    IMAGE_DIGEST,
    INSTALL_FIRMWARE,
    INSTALL_STATE,
    MANIFEST_SEQUENCE,
    STAGE_FIRMWARE,
    label_of,
)
from fleet.engine.reading import BUILD_KEYS
from fleet.link.unit_link import UnitLink
from fleet.model.firmware import Image, Installation, InstallState
from fleet.model.sheets import Sheet, Value

DONE, TOTAL, SIZE, URL = "bytesDone", "bytesTotal", "size", "url"


@dataclass(frozen=True, slots=True)
class RunningBuild:
    """What a unit runs: its sheet items "build.…", and whether it is confirmed; None where not said."""

    sheet: Sheet
    confirmed: bool | None


def lacking(thing: Thing, *, pull: bool) -> tuple[str, ...]:
    """Return in words what a unit would have to describe to be updated, and doesn't."""
    properties = [FIRMWARE_BUILD, FIRMWARE_INSTALLATION]
    actions = [INSTALL_FIRMWARE] if pull else [STAGE_FIRMWARE, INSTALL_FIRMWARE]
    missing = [one for one in properties if thing.property_of(one) is None]
    missing += [one for one in actions if thing.action_of(one) is None]
    return tuple(label_of(one) for one in missing)


async def read_installation(link: UnitLink) -> Installation:
    """Read how far a unit's installation got.

    Raises:
        LinkError, UnitError: it can't be read.
    """
    affordance = link.need_property(FIRMWARE_INSTALLATION)
    return installation_from(affordance, (await link.read(affordance)).value)


def installation_from(affordance: Affordance, value: Json) -> Installation:
    """Return a value of the progress as what it means; what isn't understood is left out."""
    said = fields(affordance.schema, value)
    state = said.get(INSTALL_STATE)
    return Installation(
        InstallState(state) if state in set(InstallState) else None,
        _count(said.get(DONE)),
        _count(said.get(TOTAL)),
        _text(said.get(IMAGE_DIGEST)).lower(),
        _text(said.get(FAILURE_REASON)),
    )


async def read_build(link: UnitLink) -> RunningBuild:
    """Read what a unit runs.

    Raises:
        LinkError, UnitError: it can't be read.
    """
    affordance = link.need_property(FIRMWARE_BUILD)
    said = fields(affordance.schema, (await link.read(affordance)).value)
    sheet: dict[str, Value] = {}
    for type_iri, key in BUILD_KEYS.items():
        value = said.get(type_iri)
        if isinstance(value, str):
            sheet[key] = plain_text(value)
        elif isinstance(value, int) and not isinstance(value, bool):
            sheet[key] = value
    confirmed = said.get(BUILD_CONFIRMED)
    return RunningBuild(sheet, confirmed if isinstance(confirmed, bool) else None)


def order_for(affordance: Affordance, image: Image, *, url: str, backwards: bool) -> Json:
    """Return what tells a unit to install an image.

    Args:
        affordance: its action.
        image: which.
        url: where to fetch it; "" for the one that was sent.
        backwards: an older one is meant.

    Raises:
        PlanError: the action doesn't take digest, size and version, or no address where one is meant.
    """
    needed: dict[str, Json] = {
        IMAGE_DIGEST: image.sha256,
        SIZE: image.size_bytes,
        FIRMWARE_VERSION: image.version,
    }
    if url:
        needed[URL] = url
    wished: dict[str, Json] = {MANIFEST_SEQUENCE: image.sequence, BUILD_ID: image.build_id}
    if backwards:
        wished[ALLOW_DOWNGRADE] = True
    known = fields(affordance.schema, dict.fromkeys(members_of(affordance.schema), 0))
    wanted = {key: value for key, value in wished.items() if key in known and value != ""}
    return with_fields(affordance, {}, {**needed, **wanted})


def kept_from(affordance: Affordance, answer: Json) -> tuple[str, int | None]:
    """Return digest and size that a unit says it kept of an upload; "" and None where it doesn't say."""
    said: Mapping[str, Json] = fields(affordance.output, answer)
    return _text(said.get(IMAGE_DIGEST)).lower(), _count(said.get(SIZE))


def _count(value: Json) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) and value >= 0 else None


def _text(value: Json) -> str:
    return plain_text(value) if isinstance(value, str) else ""
