"""Digest passwords against the examples of RFC 7616, and against another implementation."""

import asyncio
import re

import pytest
from aiohttp import DigestAuthMiddleware
from yarl import URL

from fleet.link.challenges import Challenge, read_challenges
from fleet.link.digest import Sent, answerable, digest_answer
from fleet.model.credentials import Credential

# RFC 7616 §3.9.1, "Example with SHA-256 and MD5": challenge, name, password and answers.
EXAMPLE = (
    'Digest realm="http-auth@example.org", qop="auth, auth-int", algorithm={algorithm},'
    ' nonce="7ypf/xlj9XXwfDPEoM4URrv/xwf94BcCAzFZH4GiTo0v",'
    ' opaque="FQhe/qaU925kfnzjCev0ciny7QMkPqMAFRtzCUYo5tdS"'
)
EXAMPLE_NAME, EXAMPLE_PASSWORD = "Mufasa", "Circle of Life"
EXAMPLE_CLIENT_NONCE = "f2/wE4q74E6zIJEtWaHKaf5wv/H5QzzpXusqGemxURZJ"


def response_in(answer):
    return re.search(r'response="([0-9a-f]+)"', answer)[1]


@pytest.mark.parametrize(
    ("algorithm", "response"),
    [
        ("MD5", "8ca523f5e9506fed4657c9700eebdbec"),
        ("SHA-256", "753927fa0e85d155564e2e272a28d1802ca10daf4496794697cf8db5856cb6c1"),
    ],
)
def test_the_examples_of_the_rfc(algorithm, response):
    challenge = answerable(read_challenges([EXAMPLE.format(algorithm=algorithm)]))
    answer = digest_answer(
        challenge,
        Credential(EXAMPLE_PASSWORD, EXAMPLE_NAME),
        Sent("GET", "/dir/index.html"),
        count=1,
        client_nonce=EXAMPLE_CLIENT_NONCE,
    )
    assert response_in(answer) == response
    assert 'uri="/dir/index.html"' in answer
    assert "qop=auth," in answer
    assert "nc=00000001" in answer


def test_the_first_challenge_that_can_be_answered_counts():
    # RFC 7616 §3.7: in the server's order of preference; the first here is none that we know.
    headers = [EXAMPLE.format(algorithm=name) for name in ("SHA-512-256", "SHA-256", "MD5")]
    assert answerable(read_challenges(headers)).parameters["algorithm"] == "SHA-256"


@pytest.mark.parametrize("algorithm", ["MD5", "MD5-sess", "SHA-256", "SHA-256-sess"])
@pytest.mark.parametrize("qop", ["auth", "auth-int", ""])
@pytest.mark.parametrize("target", ["/a?b=%20c&d=%2F", "/"])
def test_another_implementation_answers_the_same(algorithm, qop, target):
    said = {"realm": 'r "quoted"', "nonce": "n\\1", "opaque": "o", "algorithm": algorithm}
    challenge = Challenge("digest", said | ({"qop": qop} if qop else {}))
    other = DigestAuthMiddleware("fitter", "pässword")
    other._challenge = dict(challenge.parameters)
    theirs = asyncio.run(other._encode("PUT", URL(f"http://u{target}", encoded=True), b""))
    client_nonce = re.search(r'cnonce="([^"]*)"', theirs)
    if client_nonce is None and algorithm.endswith("-sess"):
        return  # without qop it makes a session of a nonce that it doesn't tell
    ours = digest_answer(
        challenge,
        Credential("pässword", "fitter"),
        Sent("PUT", target, b""),
        count=1,
        client_nonce=client_nonce[1] if client_nonce else "",
    )
    assert response_in(ours) == response_in(theirs)
    assert set(re.findall(r"(\w+)=", ours)) == set(re.findall(r"(\w+)=", theirs))
