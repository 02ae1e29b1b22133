import ipaddress

import pytest

from fleet.discovery.cached import Told
from fleet.discovery.choosing import rank_of, url_of

NETWORKS = (ipaddress.ip_network("198.51.100.0/24"), ipaddress.ip_network("fd00:77::/64"))


def chosen(*addresses, port=8080, kind="_wot._tcp", record=None, **options):
    told = Told("u.local", port, b"", tuple(map(ipaddress.ip_address, addresses)), settled=True)
    return url_of(told, kind, record or {"td": b"/td"}, **{"networks": NETWORKS, **options})


def test_addresses_of_the_networks_listened_on_come_first_and_ipv4_among_them():
    assert chosen("192.168.9.9", "fd00:77::9", "198.51.100.9") == "http://198.51.100.9:8080/td"
    assert chosen("192.168.9.9", "fd00:77::9") == "http://[fd00:77::9]:8080/td"
    assert chosen("192.168.9.9", "fe80::9%eth3") == "http://[fe80::9%eth3]:8080/td"


def test_a_link_local_address_takes_the_only_scope_there_is_or_counts_for_nothing():
    assert chosen("fe80::9", scope="eth0") == "http://[fe80::9%eth0]:8080/td"
    assert chosen("fe80::9") == ""


def test_a_scope_that_is_a_number_is_written_by_the_name_of_its_interface():
    assert chosen("fe80::9%1") == "http://[fe80::9%lo]:8080/td"
    assert chosen("fe80::9%99999") == "http://[fe80::9%99999]:8080/td"


def test_of_equals_the_one_before_stays_and_else_the_youngest():
    assert chosen("198.51.100.8", "198.51.100.9") == "http://198.51.100.8:8080/td"
    before = "http://198.51.100.9:8080/td"
    assert chosen("198.51.100.8", "198.51.100.9", before=before) == before


@pytest.mark.parametrize(
    "address",
    ["1.2.3.4", "2a00::1", "127.0.0.1", "::1", str(ipaddress.IPv4Address(0)), "224.0.0.251",
     "255.255.255.255", "169.254.1.1", "ff02::fb", "::ffff:1.2.3.4", "198.51.100.255", "198.51.100.0"],
)  # fmt: skip
def test_an_advert_never_leads_out_of_the_house_or_into_this_machine(address):
    assert rank_of(ipaddress.ip_address(address), NETWORKS, "eth0") is None
    assert chosen(address) == ""


def test_loopback_counts_where_it_is_listened_on():
    assert chosen("127.0.0.9", networks=(ipaddress.ip_network("127.0.0.0/8"),))


def test_private_addresses_behind_a_reflector_count():
    assert chosen("10.9.8.7") == "http://10.9.8.7:8080/td"
    assert chosen("fd99::7") == "http://[fd99::7]:8080/td"


@pytest.mark.parametrize(
    "record",
    [
        {"td": b"td"},
        {"td": b"/t d"},
        {"td": b"/td\r\nHost: x"},
        {"td": b"/td#x"},
        {"td": "/\u202etd".encode()},
        {"scheme": b"file"},
        {"scheme": b"HTTP:"},
    ],
)
def test_a_path_or_scheme_that_is_none_leads_nowhere(record):
    assert chosen("198.51.100.9", record=record) == ""


@pytest.mark.parametrize("port", [0, -1, 65_536])
def test_a_port_that_is_none_leads_nowhere(port):
    assert chosen("198.51.100.9", port=port) == ""


def test_of_another_service_type_the_root_is_asked():
    record = {"td": b"/td", "scheme": b"https"}
    assert chosen("198.51.100.9", kind="_x._tcp", record=record) == "http://198.51.100.9:8080/"


def test_only_addresses_within_count():
    within = ipaddress.ip_network("198.51.100.9/32")
    assert chosen("198.51.100.8", "198.51.100.9", within=within) == "http://198.51.100.9:8080/td"
    assert chosen("198.51.100.8", within=within) == ""
