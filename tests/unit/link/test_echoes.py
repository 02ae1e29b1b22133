"""A refusal that quotes the secret loses its words; any other answer is left as it came."""

import base64
import json
from urllib.parse import quote

import pytest

from fleet.link.connections import Answer
from fleet.link.echoes import hushed
from fleet.model.credentials import Credential

KEPT = Credential('ö/"pen sesame', "installer")
BASIC = base64.b64encode(f"installer:{KEPT.secret}".encode()).decode()


def refusal(said: str | bytes, status: int = 401) -> Answer:
    body = said if isinstance(said, bytes) else said.encode()
    return Answer(status, {"content-type": "text/plain"}, body, ("Basic",))


@pytest.mark.parametrize(
    "quoted",
    [
        KEPT.secret,
        json.dumps(KEPT.secret),
        json.dumps(KEPT.secret, ensure_ascii=False),
        quote(KEPT.secret),
        quote(KEPT.secret, safe=""),
        f"Authorization: Basic {BASIC}",
        KEPT.secret.encode("latin-1"),
    ],
)
def test_a_refusal_that_quotes_the_secret_keeps_its_status_alone(quoted):
    said = quoted if isinstance(quoted, bytes) else f"wrong: {quoted}!".encode()
    answer = hushed(refusal(said), KEPT)
    assert (answer.status, answer.body, answer.challenges) == (401, b"", ("Basic",))


def test_other_refusals_keep_their_words():
    for answer in (refusal("no such user installer"), refusal(""), refusal(b"\xff\0", 500)):
        assert hushed(answer, KEPT) == answer


def test_where_nothing_was_sent_or_it_was_no_refusal_nothing_is_taken_away():
    assert hushed(refusal(KEPT.secret), None) == refusal(KEPT.secret)
    assert hushed(refusal(KEPT.secret, 200), KEPT) == refusal(KEPT.secret, 200)


def test_a_secret_of_half_characters_is_compared_all_the_same():
    assert hushed(refusal("words"), Credential("\ud800")) == refusal("words")
