from urllib.parse import urlsplit

from hypothesis import given
from hypothesis import strategies as st

from fleet.discovery.addresses import MAX_URLS, read_addresses

PIECES = st.sampled_from(
    ["192.0.2.", "10", "-", "/", "28", ":", "8080", "[", "]", "fe80::1", "%eth0", "%25", "http://",
     "mqtt://", "unit.local", "#", ",", " ", "\n", "@", "?", "..", "٣", "\u202e", "\x00", "td"],
)  # fmt: skip


@given(st.one_of(st.text(max_size=80), st.lists(PIECES, max_size=14).map("".join)))
def test_any_text_gives_sound_urls_or_a_sentence_for_each_item(pasted):
    items = read_addresses(pasted)
    urls = [url for item in items for url in item.urls]
    assert len(urls) == len(set(urls)) <= MAX_URLS
    for item in items:
        assert bool(item.urls) != bool(item.said)
    for url in urls:
        parts = urlsplit(url)
        assert parts.hostname
        assert parts.port != 0
        assert url.isascii()
        assert "@" not in url
