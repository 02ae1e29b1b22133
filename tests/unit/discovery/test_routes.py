import sys

from fleet.discovery import routes
from fleet.discovery.routes import gateways, gateways_in, neighbours, neighbours_in

ROUTES = """\
eth0\t00000000\t016433C6\t0003\t0\t0\t0\t00000000\t0\t0\t0
eth0\t00000000\t026433C6\t0003\t0\t0\t9\t00000000\t0\t0\t0
eth0\t006433C6\t00000000\t0001\t0\t0\t0\t00FFFFFF\t0\t0\t0
eth1\t00000000\t00000000\t0001\t0\t0\t0\t00000000\t0\t0\t0
"""
NEIGHBOURS = """\
198.51.100.1     0x1         0x2         02:00:00:00:00:01     *        eth0
198.51.100.9     0x1         0x0         00:00:00:00:00:00     *        eth0
"""


def test_the_first_default_route_of_an_interface_is_its_gateway():
    order = "198.51.100.1" if sys.byteorder == "little" else "1.100.51.198"
    assert gateways_in(ROUTES.splitlines()) == {"eth0": order}


def test_neighbours_are_those_whose_hardware_address_is_known():
    assert neighbours_in([*NEIGHBOURS.splitlines(), "odd"]) == {"198.51.100.1": "eth0"}


def test_without_the_tables_nothing_is_known(monkeypatch, tmp_path):
    monkeypatch.setattr(routes, "_ROUTES", tmp_path / "route")
    monkeypatch.setattr(routes, "_NEIGHBOURS", tmp_path / "arp")
    assert gateways() == neighbours() == {}
