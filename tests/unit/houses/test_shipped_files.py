"""Shipped house, schemas and checklists are what their makers make."""

import json

import jsonschema
import pytest

from fleet.model.house import RoomKind
from fleet.shelf.opening import checked_signature, open_shelf
from fleet.shipped import resources
from tests.architecture.source_rules import ROOT
from tests.houses.house import documents, write_house
from tests.houses.items import checklist_items
from tests.houses.marlpit import marlpit
from tests.houses.schemas import FILES, schema_of, schema_text
from tests.houses.shelf import write_shelf

KEYS = {
    "auto": (
        *("units-answer", "right-unit", "mount", "build", "settings", "areas", "link"),
        *("bleed-through", "ghosts", "walk", "still", "soak"),
    ),
    "tick": ("label-readable", "people-told"),
    "photo": ("as-fitted-photo",),
    "signature": ("acceptance",),
}


def read(*parts: str):
    return json.loads(resources().joinpath(*parts).read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", ["plan.json", "truth.json"])
def test_marlpit_files_are_what_its_maker_makes(name, tmp_path):
    write_house(tmp_path, *documents(marlpit()))
    shipped = resources() / "houses" / "marlpit" / name
    assert shipped.read_text(encoding="utf-8") == (tmp_path / name).read_text(encoding="utf-8")


def test_marlpit_shelf_is_what_its_maker_makes_and_opens_once_its_key_is_trusted(tmp_path):
    shipped = resources() / "houses" / "marlpit" / "shelf"
    key = write_shelf(tmp_path / "shelf", marlpit())
    assert {file.name: file.read_bytes() for file in shipped.iterdir()} == {
        file.name: file.read_bytes() for file in (tmp_path / "shelf").iterdir()
    }
    approved = {build.image_digest for build in marlpit().plan.approved_builds}
    images = open_shelf(shipped, {key}).images
    assert [image.version for image in images if image.sha256 not in approved] == ["2.2.0"]


@pytest.mark.parametrize("name", FILES)
def test_house_schemas_say_what_the_values_say(name):
    file = resources() / "schemas" / f"{name}.schema.json"
    assert file.read_text(encoding="utf-8") == schema_text(name)
    jsonschema.Draft202012Validator.check_schema(schema_of(name))


@pytest.mark.parametrize("name", FILES)
def test_house_schemas_refuse_an_unknown_member(name):
    document = read("houses", "marlpit", f"{name}.json")
    document["units"][0]["colour"] = "white"
    with pytest.raises(jsonschema.ValidationError, match="colour"):
        jsonschema.Draft202012Validator(schema_of(name)).validate(document)


@pytest.mark.parametrize("kind", RoomKind)
def test_every_room_kind_has_a_checklist_that_validates(kind):
    checklist = read("checklists", f"{kind}.json")
    schema = read("schemas", "checklist.schema.json")
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(checklist)
    assert checklist["kind"] == kind


@pytest.mark.parametrize("kind", RoomKind)
def test_checklist_items_are_known_once_each_and_filled_as_agreed(kind):
    items = read("checklists", f"{kind}.json")["items"]
    known = {key: evidence for evidence, keys in KEYS.items() for key in keys}
    assert {item["key"]: item["evidence"] for item in items}.items() <= known.items()
    assert len({item["key"] for item in items}) == len(items)
    assert items[-1]["key"] == "acceptance"


def test_the_bedroom_shows_every_item():
    assert checklist_items()["bedroom"] == tuple(key for keys in KEYS.values() for key in keys)


def test_every_schema_stands_in_the_list_of_schemas():
    told = resources().joinpath("schemas", "README.md").read_text(encoding="utf-8")
    for file in (resources() / "schemas").glob("*.schema.json"):
        assert f"`{file.name}`" in told


def test_the_readme_gives_the_fingerprint_of_the_demo_houses_shelf():
    shipped = resources() / "houses" / "marlpit" / "shelf"
    key = checked_signature(shipped, (shipped / "shelf.json").read_bytes())
    assert key.upper() in (ROOT / "README.md").read_text(encoding="utf-8")
