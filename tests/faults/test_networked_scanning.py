"""Scanning on real networks: interfaces that go and come, addresses that change, IPv6 with its scope."""

import json
import queue
import threading

import pytest

from fleet.discovery.heard_names import CHANGES_A_WINDOW
from tests.faults.networks import network, obstacle_to_networks


@pytest.fixture
def net():
    if obstacle := obstacle_to_networks():
        pytest.skip(obstacle)
    with network() as made:
        yield made


class Scanning:
    """What a scanner on a machine says, line by line."""

    def __init__(self, net, machine, *arguments):
        self._running = net.started(machine, "tests.faults.networked_scanner", *arguments)
        self._lines = queue.Queue()
        self._reading = threading.Thread(target=self._read)
        self._reading.start()
        self.next("listening")

    def next(self, kind):
        said = self._lines.get(timeout=20)
        assert said["kind"] == kind, said
        return said

    def rest(self):
        """End the scanner; return what it said until then and wasn't looked at."""
        self._running.stdin.close()
        self._reading.join(20)
        return list(self._lines.queue)

    def _read(self):
        for line in self._running.stdout:
            self._lines.put(json.loads(line))


def test_an_address_that_changes_is_told_once_and_answers(net):
    unit = net.machine(11)
    saying = net.advertise(unit, "unit-11._wot._tcp", unit.address)
    scanning = Scanning(net, net.machine(2), "eth0")
    assert scanning.next("sighting")["url"] == "http://198.51.100.11:8080/td"
    unit.run("ip", "addr", "add", "198.51.100.77/24", "dev", "eth0")
    saying.stdin.write("198.51.100.77\n")
    saying.stdin.flush()
    assert saying.stdout.readline() == "said\n"
    moved = scanning.next("sighting")
    assert (moved["url"], moved["status"]) == ("http://198.51.100.77:8080/td", 200)
    saying.stdin.write("198.51.100.11\n")
    saying.stdin.flush()
    assert saying.stdout.readline() == "said\n"
    assert scanning.next("sighting")["url"] == "http://198.51.100.11:8080/td"
    assert [said["kind"] for said in scanning.rest()] == ["end"]


def test_an_interface_that_goes_and_comes_is_listened_on_anew(net):
    me = net.machine(2)
    net.unit(11)
    scanning = Scanning(net, me, "198.51.100.2")
    scanning.next("sighting")
    me.run("ip", "addr", "del", "198.51.100.2/24", "dev", "eth0")
    me.run("ip", "link", "set", "eth0", "down")
    net.unit(12)
    me.run("ip", "addr", "add", "198.51.100.3/24", "dev", "eth0")
    me.run("ip", "link", "set", "eth0", "up")
    assert scanning.next("sighting")["name"] == "unit-12"
    assert [said["kind"] for said in scanning.rest()] == ["end"]


def test_units_on_two_networks_are_heard_when_all_interfaces_are_listened_on(net):
    net.unit(11)
    me, other = net.machine(2), net.machine(12, address=False)
    me.run(
        "ip",
        "link",
        "add",
        "eth1",
        "type",
        "veth",
        "peer",
        "name",
        "eth1",
        "netns",
        other.namespace,
    )
    for machine, address in ((me, "203.0.113.2/24"), (other, "203.0.113.12/24")):
        machine.run("ip", "addr", "add", address, "dev", "eth1")
        machine.run("ip", "link", "set", "eth1", "up")
    net.advertise(other, "unit-12._wot._tcp", "203.0.113.12")
    scanning = Scanning(net, me, "")
    heard = {scanning.next("sighting")["url"] for _ in range(2)}
    assert heard == {"http://198.51.100.11:8080/td", "http://203.0.113.12:8080/td"}
    assert [said["kind"] for said in scanning.rest()] == ["end"]


def test_a_link_local_address_is_told_with_its_scope_and_answers(net):
    unit, me = net.machine(11, address=False), net.machine(2, address=False)
    address = unit.link_local()
    net.advertise(unit, "unit-11._wot._tcp", "127.0.0.1", address)
    sighting = Scanning(net, me, "eth0").next("sighting")
    assert sighting["url"] == f"http://[{address}%eth0]:8080/td"
    assert sighting["status"] == 200


def test_ipv4_is_preferred_and_a_unique_local_address_beats_link_local(net):
    me, both, six = net.machine(2), net.machine(11), net.machine(12, address=False)
    for machine, address in ((me, "fd00:77::2/64"), (six, "fd00:77::12/64")):
        machine.run("ip", "addr", "add", address, "dev", "eth0", "nodad")
    net.advertise(both, "unit-11._wot._tcp", both.address, both.address, both.link_local())
    net.advertise(six, "unit-12._wot._tcp", "127.0.0.1", six.link_local(), "fd00:77::12")
    scanning = Scanning(net, me, "eth0")
    heard = {scanning.next("sighting")["url"] for _ in range(2)}
    assert heard == {"http://198.51.100.11:8080/td", "http://[fd00:77::12]:8080/td"}


def test_a_unit_that_goes_says_goodbye_and_is_told_anew_when_it_comes_back(net):
    unit = net.machine(11)
    saying = net.advertise(unit, "unit-11._wot._tcp", unit.address)
    scanning = Scanning(net, net.machine(2), "eth0")
    scanning.next("sighting")
    saying.stdin.close()
    saying.wait(20)
    assert scanning.next("goodbye")["name"] == "unit-11"
    net.advertise(unit, "unit-11._wot._tcp", unit.address)
    assert scanning.next("sighting")["status"] == 200


def test_a_name_that_two_machines_claim_is_told_with_both_addresses_and_no_more_than_that(net):
    me = net.machine(2)
    for number in (11, 12):
        machine = net.machine(number)
        net.advertise(machine, "unit._wot._tcp", machine.address)
    scanning = Scanning(net, me, "eth0")
    heard = {scanning.next("sighting")["url"] for _ in range(2)}
    assert heard == {"http://198.51.100.11:8080/td", "http://198.51.100.12:8080/td"}
    assert sum(said["kind"] == "sighting" for said in scanning.rest()) <= CHANGES_A_WINDOW
