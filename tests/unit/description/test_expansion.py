from fleet.description.expansion import read_prefixes

CONTEXT = [
    "https://www.w3.org/2022/wot/td/v1.1",
    {
        "@language": "en",
        "p": "https://walkdown.example/presence#",
        "q": {"@id": "http://q.example/"},
        "r": "q:deeper/",
        "Short": "p:PresenceUnit",
        "broken": 3,
        "@vocab": "http://v.example/",
    },
]


def test_inline_prefixes_terms_and_vocabulary_expand():
    prefixes = read_prefixes(CONTEXT)
    assert prefixes.expand("p:HoldTime") == "https://walkdown.example/presence#HoldTime"
    assert prefixes.expand("q:a") == "http://q.example/a"
    assert prefixes.expand("r:a") == "http://q.example/deeper/a"
    assert prefixes.expand("Short") == "https://walkdown.example/presence#PresenceUnit"
    assert prefixes.expand("Word") == "http://v.example/Word"


def test_what_nothing_defines_stays_as_it_is():
    prefixes = read_prefixes("https://www.w3.org/2022/wot/td/v1.1")
    assert prefixes.expand("pres:HoldTime") == "pres:HoldTime"
    assert prefixes.expand("http://a.example/b") == "http://a.example/b"
    assert prefixes.expand_all(["a", 1, "b"]) == {"a", "b"}


def test_prefixes_that_lead_to_each_other_end():
    prefixes = read_prefixes({"a": "b:x", "b": "a:y"})
    assert prefixes.expand("a:z") == "a:yxz"
