import pytest

from fleet.description.topics import hold_topic, read_topic_terms

OLD = "http://www.example.org/mqtt-binding#"
NEW = "https://www.w3.org/2019/wot/mqtt#"


@pytest.mark.parametrize("prefix", [OLD, NEW, "mqv:"])
def test_terms_are_read_under_each_name_that_they_have_had(prefix):
    said = read_topic_terms({prefix + "topic": "a/b", prefix + "qos": 2, "href": "x"}, "")
    assert (said.topic_to_publish(), said.qos, said.retain) == ("a/b", 2, False)


@pytest.mark.parametrize(("said", "qos"), [(None, 0), (1, 1), ("2", 2), ("quality:1", 1)])
def test_a_quality_of_service_has_been_written_in_several_ways(said, qos):
    assert read_topic_terms({"mqv:qos": said}, "").qos == qos


@pytest.mark.parametrize("said", [3, "high", True, [1], 1.5, "x:y:1"])
def test_another_quality_of_service_is_refused(said):
    with pytest.raises(ValueError, match="quality of service"):
        read_topic_terms({"mqv:qos": said}, "")


def test_a_filter_is_read_from_topic_or_address_where_none_is_named():
    assert (
        read_topic_terms({"mqv:filter": ["f"], "mqv:topic": "t"}, "p").filter_to_subscribe() == "f"
    )
    assert read_topic_terms({"mqv:topic": "t"}, "p").filter_to_subscribe() == "t"
    assert read_topic_terms({}, "p").filter_to_subscribe() == "p"
    assert read_topic_terms({"mqv:filter": "f"}, "p").topic_to_publish() == "p"


@pytest.mark.parametrize("said", [["a", "b"], 3, [], [3]])
def test_more_or_less_than_one_topic_is_refused(said):
    with pytest.raises(ValueError, match="topic is none, or more than one"):
        read_topic_terms({"mqv:topic": said}, "")


def test_a_packet_that_does_not_fit_the_operation_is_refused():
    publish = read_topic_terms({"mqv:controlPacket": "mqv:publish"}, "p")
    subscribe = read_topic_terms({"mqv:controlPacket": "subscribe"}, "p")
    assert publish.topic_to_publish() == subscribe.filter_to_subscribe() == "p"
    with pytest.raises(ValueError, match="another way than by subscribing"):
        publish.filter_to_subscribe()
    with pytest.raises(ValueError, match="another way than by publishing"):
        subscribe.topic_to_publish()


# MQTT 3.1.1 and 5.0, §1.5.3/1.5.4 and §4.7
@pytest.mark.parametrize(
    ("topic", "reason"),
    [
        ("", "no topic"),
        ("a\0b", "no topic may"),
        ("a\nb", "no topic may"),
        ("a\ud800", "no topic may"),
        ("ä" * 513, "too long"),
        ("a/+/b", "wildcard"),
        ("a/#", "wildcard"),
        ("$SYS/broker", "broker's own"),
        ("$share/g/t", "broker's own"),
    ],
)
def test_a_topic_that_is_none_or_more_than_one_is_refused(topic, reason):
    with pytest.raises(ValueError, match=reason):
        hold_topic(topic)


@pytest.mark.parametrize("topic", ["a", "/", "a//b", "Küche/licht", "a b", "ä" * 512])
def test_a_topic_is_taken_as_it_is(topic):
    assert hold_topic(topic) == topic
