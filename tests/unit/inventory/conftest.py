import pytest

from fleet.inventory.inventory import open_inventory
from tests.inventories import CountingClock, small_plan


@pytest.fixture
def inventory(tmp_path):
    """An inventory with the small site in it."""
    with open_inventory(tmp_path / "data", CountingClock()) as opened:
        opened.add_site(small_plan())
        yield opened


@pytest.fixture
def reopened(inventory):
    """Close the inventory and open it again, as often as asked."""
    opened = []

    def again():
        (opened[-1] if opened else inventory).close()
        opened.append(open_inventory(inventory.path.parent, CountingClock()))
        return opened[-1]

    yield again
    for one in opened:
        one.close()
