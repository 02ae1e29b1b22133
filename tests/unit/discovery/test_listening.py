from fleet.discovery.listening import in_packets


def test_names_are_spread_over_packets_that_are_not_split():
    names = [f"{'long' * 14}-{number:02}._wot._tcp.local." for number in range(60)]
    packets = [list(some) for some in in_packets(names)]
    assert [name for some in packets for name in some] == names
    assert max(sum(len(name) + 12 for name in some) for some in packets) <= 1400
    assert len(packets) == 4


def test_a_name_that_is_too_long_goes_alone_and_none_needs_no_packet():
    assert list(in_packets(["x" * 2000, "y"])) == [["x" * 2000], ["y"]]
    assert list(in_packets([])) == []
