"""Why nothing is heard, found out on real networks with a real obstacle each."""

import json
import shutil
import sys

import pytest

from tests.faults.networks import network, obstacle_to_networks

LONGEST_S = 6.0

needs_iptables = pytest.mark.skipif(
    shutil.which("iptables") is None,
    reason="a firewall is made with iptables, which isn't installed",
)


@pytest.fixture
def net():
    if obstacle := obstacle_to_networks():
        pytest.skip(obstacle)
    with network() as made:
        yield made


def diagnosed(machine, interface, *units):
    urls = [f"http://{unit.address}:8080/td" for unit in units]
    running = machine.start("tests.faults.networked_diagnosis", interface, *urls)
    said, _ = running.communicate(timeout=30)
    found = json.loads(said)
    sys.stderr.write(json.dumps(found, indent=1))
    assert found["took_s"] < LONGEST_S
    return found


def with_gateway(net, machine):
    gateway = net.machine(1)
    machine.run("ip", "route", "add", "default", "via", gateway.address)
    return gateway


def test_units_that_are_there_are_heard(net):
    net.unit(11)
    found = diagnosed(net.machine(2), "eth0")
    assert found["obstacle"] == "NONE"
    assert "1 unit is heard" in found["reason"]


@needs_iptables
def test_a_firewall_of_our_own_that_drops_port_5353_is_named(net):
    unit, me = net.unit(11), net.machine(2)
    me.run("iptables", "-A", "INPUT", "-p", "udp", "--dport", "5353", "-j", "DROP")
    assert diagnosed(me, "eth0", unit)["obstacle"] == "OWN_FIREWALL"


@needs_iptables
def test_a_firewall_that_lets_only_answers_in_is_named(net):
    unit, me = net.unit(11), net.machine(2)
    me.run("iptables", "-A", "INPUT", "-i", "lo", "-j", "ACCEPT")
    answers = ("-m", "conntrack", "--ctstate", "ESTABLISHED,RELATED")
    me.run("iptables", "-A", "INPUT", *answers, "-j", "ACCEPT")
    me.run("iptables", "-P", "INPUT", "DROP")
    assert diagnosed(me, "eth0", unit)["obstacle"] == "OWN_FIREWALL"


def test_a_switch_that_drops_multicast_is_named_by_known_units(net):
    unit, me = net.unit(11), net.machine(2)
    me.on_port("mcast_flood", "off")
    unit.on_port("mcast_flood", "off")
    found = diagnosed(me, "eth0", unit)
    assert found["obstacle"] == "MULTICAST_BLOCKED"
    assert "1 of 1 known unit" in found["reason"]


def test_a_switch_that_drops_multicast_one_way_is_named_without_known_units(net):
    net.unit(11)
    me = net.machine(2)
    me.on_port("mcast_flood", "off")
    found = diagnosed(me, "eth0")
    assert found["obstacle"] == "MULTICAST_BLOCKED"
    assert "answered this machine alone" in found["reason"]


def test_units_behind_another_interface_are_found_there(net):
    net.unit(11)
    me = net.machine(2)
    me.run("ip", "link", "add", "wlan0", "type", "veth", "peer", "name", "nowhere")
    me.run("ip", "link", "set", "nowhere", "up")
    me.run("ip", "addr", "add", "203.0.113.2/24", "dev", "wlan0")
    me.run("ip", "link", "set", "wlan0", "up")
    found = diagnosed(me, "203.0.113.2")
    assert found["obstacle"] == "WRONG_INTERFACE"
    assert "heard on eth0, none on wlan0" in found["reason"]


def test_guests_that_are_kept_apart_are_told_from_units_that_are_off(net):
    unit, me = net.unit(11), net.machine(2)
    with_gateway(net, me)
    for machine in (unit, me):
        machine.on_port("isolated", "on")
    found = diagnosed(me, "eth0", unit)
    assert found["obstacle"] == "ISOLATED"
    assert "a glance at one tells" in found["reason"]


def test_units_without_power_beside_others_that_speak_are_no_isolation(net):
    unit, me = net.machine(11), net.machine(2)
    with_gateway(net, me)
    net.advertise(net.machine(12), "printer._ipp._tcp", "198.51.100.12")
    unit.run("ip", "link", "set", "eth0", "down")
    found = diagnosed(me, "eth0", unit)
    assert found["obstacle"] == "NO_UNITS"
    assert "1 other machine is heard" in found["reason"]


def test_units_that_answer_but_say_nothing_are_told(net):
    unit, me = net.machine(11), net.machine(2)
    net.advertise(net.machine(12), "printer._ipp._tcp", "198.51.100.12")
    found = diagnosed(me, "", unit)
    assert found["obstacle"] == "NO_UNITS"
    assert "none advertises itself" in found["reason"]


@needs_iptables
def test_a_firewall_that_lets_nothing_out_is_told(net):
    me = net.machine(2)
    with_gateway(net, me)
    me.run("iptables", "-A", "OUTPUT", "-p", "udp", "-j", "DROP")
    found = diagnosed(me, "eth0")
    assert found["obstacle"] == "NO_UNITS"
    assert "Nothing could be asked on eth0: Operation not permitted" in found["reason"]


def test_units_on_ipv6_alone_are_heard(net):
    unit, me = net.machine(11, address=False), net.machine(2, address=False)
    net.advertise(unit, "unit-11._wot._tcp", "127.0.0.1", unit.link_local())
    found = diagnosed(me, "eth0")
    assert found["obstacle"] == "NONE"


def test_a_machine_without_a_network_says_so(net):
    me = net.machine(2)
    me.run("ip", "link", "set", "eth0", "down")
    assert diagnosed(me, "")["obstacle"] == "NO_NETWORK"


def test_a_network_with_nobody_on_it_is_no_network(net):
    me = net.machine(2)
    me.run("ip", "route", "add", "default", "via", "198.51.100.1")
    found = diagnosed(me, "eth0")
    assert found["obstacle"] == "NO_NETWORK"
    assert "not even the gateway 198.51.100.1" in found["reason"]


def test_nobody_known_and_nobody_heard_is_said_honestly(net):
    me = net.machine(2)
    with_gateway(net, me)
    found = diagnosed(me, "eth0")
    assert found["obstacle"] == "NO_UNITS"
    assert "can't be told apart" in found["reason"]
