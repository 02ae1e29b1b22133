"""The inventory's tables: made by the scripts alone, the same as the models say, and back again."""

from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import create_engine, inspect

from fleet.inventory.belief_tables import VisitRow
from fleet.inventory.tables import Table
from fleet.inventory.upgrade import versions
from fleet.shipped import migrations


def run(engine, step):
    config = Config()
    config.set_main_option("script_location", str(migrations()))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        step(config)


def test_up_down_and_back_leaves_the_tables_that_the_models_say(tmp_path):
    engine = create_engine(f"sqlite:///{tmp_path / 'inventory.sqlite3'}")
    try:
        run(engine, lambda config: command.upgrade(config, "head"))
        first = set(inspect(engine).get_table_names())
        run(engine, lambda config: command.downgrade(config, "base"))
        assert set(inspect(engine).get_table_names()) <= {"alembic_version"}
        run(engine, lambda config: command.upgrade(config, "head"))
        assert set(inspect(engine).get_table_names()) == first
        with engine.connect() as connection:
            context = MigrationContext.configure(connection)
            assert compare_metadata(context, Table.metadata) == []
    finally:
        engine.dispose()


def test_there_is_a_first_version():
    assert VisitRow.metadata is Table.metadata
    assert versions(migrations())[-1].startswith("0001")
