"""The verb `labels`: one label for each unit with a serial, in the order of the plan."""

import argparse
import io

import pypdf
import pytest

from fleet.cli import labels
from fleet.cli.saying import DONE, REPORTED
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from tests.inventories import CountingClock, line, small_plan


@pytest.fixture
def verb(tmp_path):
    def run(*words):
        parser = argparse.ArgumentParser()
        labels.add_arguments(parser)
        arguments = parser.parse_args(["--out", str(tmp_path / "labels.pdf"), *words])
        arguments.data = tmp_path / "data"
        return labels.run(arguments)

    return run


@pytest.fixture
def site(tmp_path):
    with open_inventory(tmp_path / "data", CountingClock()) as inventory:
        inventory.add_site(small_plan())
    return tmp_path / "data"


def words_of(path) -> str:
    reader = pypdf.PdfReader(io.BytesIO(path.read_bytes()))
    return "\n".join(page.extract_text() for page in reader.pages)


def test_units_with_a_serial_get_a_label_and_the_others_are_named(verb, site, tmp_path, capsys):
    assert verb("--start-at", "3", "--cut-marks") == REPORTED
    said = capsys.readouterr()
    assert "2 labels of Test Lodge" in said.out
    assert "no label for U2" in said.err
    printed = words_of(tmp_path / "labels.pdf")
    assert all(word in printed for word in ("U1", "S-1", "Hall", "U3", "S-3", "Loft"))
    assert "U2" not in printed
    assert printed.count("DEMO") == 2


def test_with_every_serial_there_it_is_done(verb, site):
    with open_inventory(site, CountingClock(seconds=90)) as inventory:
        inventory.save_line(line("U2", "S-2", "loft"), why="a serial came")
    assert verb() == DONE


def test_the_same_inventory_gives_the_same_labels_at_any_time(site):
    with open_inventory(site, CountingClock(seconds=90)) as inventory:
        first = labels.labels_of(inventory)
        inventory.append("counted", "", {})
        assert labels.labels_of(inventory) == first
    assert [one.label for one in first] == ["U1", "U3"]
    assert len({one.record_number for one in first}) == 1


def test_without_a_site_that_is_said(verb):
    with pytest.raises(PlanError, match="no site yet"):
        verb()
