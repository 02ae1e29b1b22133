"""Migrations go up, down and back; the last one equals the tables; old files stay readable."""

import sqlite3

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import inspect

from fleet.inventory import upgrade
from fleet.inventory.inventory import open_inventory
from fleet.inventory.sqlite import writing_engine
from fleet.inventory.template_tables import Table
from fleet.model.journal import StepState
from fleet.model.meeting import Pin
from fleet.shipped import migrations
from tests.architecture.source_rules import ROOT
from tests.inventories import NOON, CountingClock, reading, sighting, small_plan, step

JOURNAL_ROWS = {"version_0001": 11}
"""Later files also hold a trusted certificate and a broker."""
OLD_FILES = sorted((ROOT / "tests" / "migrations").glob("version_*.sql"))


@pytest.fixture
def engine(tmp_path):
    engine = writing_engine(tmp_path / "inventory.sqlite3")
    yield engine
    engine.dispose()


def migrate(engine, direction, revision):
    config = Config()
    config.set_main_option("path_separator", "os")
    config.set_main_option("script_location", str(migrations()))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        direction(config, revision)


def schema_of(engine):
    with engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL")
        return sorted(row[0] for row in rows)


def test_up_down_and_back_gives_the_same_tables_step_by_step(engine):
    for version in reversed(upgrade.versions(migrations())):
        migrate(engine, command.upgrade, version)
        there = schema_of(engine)
        migrate(engine, command.downgrade, "-1")
        migrate(engine, command.upgrade, version)
        assert schema_of(engine) == there


def test_all_the_way_down_leaves_nothing(engine):
    migrate(engine, command.upgrade, "head")
    migrate(engine, command.downgrade, "base")
    assert inspect(engine).get_table_names() == ["alembic_version"]


def test_the_last_version_equals_the_tables(engine):
    upgrade.upgrade(engine, migrations())
    with engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, Table.metadata) == []


def test_a_table_that_no_migration_makes_is_found(engine):
    upgrade.upgrade(engine, migrations())
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP TABLE tick")
        context = MigrationContext.configure(connection)
        assert [what for what, *_ in compare_metadata(context, Table.metadata)] == ["add_table"]


def test_every_foreign_key_of_the_tables_is_in_the_file(engine):
    upgrade.upgrade(engine, migrations())
    found = inspect(engine)
    for name, table in Table.metadata.tables.items():
        wanted = {tuple(sorted(key.column_keys)) for key in table.foreign_key_constraints}
        there = {tuple(sorted(key["constrained_columns"])) for key in found.get_foreign_keys(name)}
        assert there == wanted, name


def test_there_is_one_line_of_versions_from_0001():
    assert upgrade.versions(migrations())[-1] == "0001"


def test_each_version_but_the_last_has_a_file_of_its_time():
    kept = {path.stem.removeprefix("version_") for path in OLD_FILES}
    assert kept >= {"0001", *upgrade.versions(migrations())[1:]}


@pytest.mark.parametrize("old", OLD_FILES, ids=lambda path: path.stem)
def test_a_file_of_an_old_version_stays_readable(old, tmp_path):
    connection = sqlite3.connect(tmp_path / "inventory.sqlite3")
    connection.executescript(old.read_text(encoding="utf-8"))
    connection.close()
    with open_inventory(tmp_path, CountingClock()) as inventory:
        assert inventory.plan() == small_plan()
        assert inventory.readings() == {"S-1": reading()}
        assert inventory.sightings() == {"S-1": sighting()}
        assert inventory.planned_overrides() == {"S-1": {"areas.2.kind": None}}
        assert inventory.ticks()["hall"]["walk"].said == "ok"
        assert inventory.signatures()["hall"].exceptions == {"soak": "agreed"}
        assert inventory.as_left() == {"S-1": ({"setting.hold_time_s": 45}, NOON)}
        assert inventory.evidence("lap") == {"house": {"walked": {"hall": 1.5}}}
        (doubtful,) = inventory.open_steps()
        assert (doubtful.step, doubtful.state) == (step(hold_time_s=31), StepState.IN_DOUBT)
        assert len(inventory.journal()) == JOURNAL_ROWS.get(old.stem, 13)
        assert inventory.first_broken_row() is None
        assert inventory.templates() == ()


def test_trusted_certificates_and_brokers_of_version_0002_are_kept(tmp_path):
    text = (ROOT / "tests" / "migrations" / "version_0002.sql").read_text(encoding="utf-8")
    connection = sqlite3.connect(tmp_path / "inventory.sqlite3")
    connection.executescript(text)
    connection.close()
    with open_inventory(tmp_path, CountingClock()) as inventory:
        assert inventory.pin_for("S-1") == Pin("S-1", "ab" * 32, NOON)
        assert inventory.brokers() == ("mqtt://127.0.0.1:9",)
