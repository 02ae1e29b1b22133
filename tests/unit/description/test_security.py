from fleet.description.security import SecurityScheme, read_security

DEFINITIONS = {
    "b": {"scheme": "basic"},
    "d": {"scheme": "digest", "qop": "auth-int"},
    "k": {"scheme": "apikey", "name": "key"},
    "h": {"scheme": "apikey", "in": "header", "name": "X-Key"},
    "any": {"scheme": "combo", "oneOf": ["b", "d"]},
    "all": {"scheme": "combo", "allOf": ["b", "k"]},
    "loop": {"scheme": "combo", "oneOf": ["loop", "loop"]},
    "empty": {"scheme": "combo", "oneOf": []},
}
BASIC = SecurityScheme("b", "basic")
DIGEST = SecurityScheme("d", "digest", quality="auth-int")
KEY = SecurityScheme("k", "apikey", "query", "key")


def test_a_string_and_an_array_of_one_say_the_same():
    assert read_security("b", DEFINITIONS) == read_security(["b"], DEFINITIONS) == ((BASIC,),)


def test_several_schemes_hold_together():
    assert read_security(["b", "k"], DEFINITIONS) == ((BASIC, KEY),)


def test_a_combination_offers_any_or_asks_for_all():
    assert read_security("any", DEFINITIONS) == ((BASIC,), (DIGEST,))
    assert read_security("all", DEFINITIONS) == ((BASIC, KEY),)
    assert read_security(["any", "k"], DEFINITIONS) == ((BASIC, KEY), (DIGEST, KEY))


def test_a_loop_or_an_empty_combination_is_a_scheme_that_cannot_be_served():
    assert {option[0].kind for option in read_security("loop", DEFINITIONS)} == {"combo"}
    assert len(read_security("loop", DEFINITIONS)) == 4
    assert read_security("empty", DEFINITIONS)[0][0].kind == "combo"


def test_a_scheme_that_is_not_defined_is_said():
    assert read_security("x", {})[0][0].kind == "undefined"
    assert read_security(None, {}) == ()
    assert read_security("h", DEFINITIONS)[0][0].where == "header"
