"""Which secret may go to a unit, by where it stands and what it says that it is."""

import pytest

from fleet.description.security import SecurityScheme
from fleet.link.own_secrets import OwnSecrets, is_origin
from fleet.model.credentials import Credential
from tests.unit.link.small_unit import Kept

ID, ORIGIN, CERTIFICATE = "urn:uuid:7", "http://192.0.2.7:80", f"sha-256:{'ab' * 32}"
BY_ID, BY_ORIGIN = Credential("by id", "fitter"), Credential("by origin", "fitter")


def secrets_at(origin, **known):
    kept = OwnSecrets(Kept(**known), origin)
    kept.take_id(ID)
    return kept


READABLE = [("basic",), ("bearer",), ("apikey",), ("digest", "apikey")]
SECURE = "https://192.0.2.7:443"


@pytest.mark.parametrize("origin", [ORIGIN, "ws://192.0.2.7:80", SECURE])
@pytest.mark.parametrize("kinds", READABLE)
def test_what_the_unit_could_read_is_never_taken_from_under_its_id(origin, kinds):
    both = secrets_at(origin, **{ID: BY_ID, origin: BY_ORIGIN})
    assert both.credential_for(kinds) == BY_ORIGIN
    assert both.key_for(kinds) == origin
    assert both.held_back(kinds) == ""
    alone = secrets_at(origin, **{ID: BY_ID})
    assert alone.credential_for(kinds) is None
    assert alone.held_back(kinds) == ID
    assert secrets_at(origin).held_back(kinds) == ""


@pytest.mark.parametrize("kinds", READABLE)
def test_what_is_kept_for_the_certificate_comes_before_what_is_kept_for_the_origin(kinds):
    by_certificate = Credential("by certificate", "fitter")
    kept = secrets_at(SECURE, **{ID: BY_ID, SECURE: BY_ORIGIN, CERTIFICATE: by_certificate})
    assert kept.credential_for(kinds) == BY_ORIGIN
    kept.take_certificate("ab" * 32)
    assert kept.keys == (ID, CERTIFICATE, SECURE)
    assert kept.credential_for(kinds) == by_certificate
    assert kept.key_for(kinds) == CERTIFICATE
    assert kept.held_back(kinds) == ""


@pytest.mark.parametrize("origin", [ORIGIN, SECURE])
def test_a_digest_goes_by_the_id_first(origin):
    kinds = ("digest",)
    both = secrets_at(origin, **{ID: BY_ID, origin: BY_ORIGIN})
    assert both.credential_for(kinds) == BY_ID
    assert both.key_for(kinds) == ID
    assert secrets_at(origin, **{origin: BY_ORIGIN}).credential_for(kinds) == BY_ORIGIN


def test_a_way_that_is_held_back_ranks_after_one_that_fits_and_before_one_that_hardly_does():
    basic, digest, bearer = (
        (SecurityScheme("way", kind),) for kind in ("basic", "digest", "bearer")
    )
    password = secrets_at(ORIGIN, **{ID: BY_ID})
    assert sorted([basic, bearer, digest], key=password.unfitness) == [digest, basic, bearer]
    token = secrets_at(ORIGIN, **{ID: Credential("t0ken")})
    assert sorted([digest, bearer], key=token.unfitness) == [bearer, digest]


@pytest.mark.parametrize(
    "said",
    ["http://192.0.2.9:80", "https://192.0.2.9:443", "mqtts://192.0.2.9:8883", CERTIFICATE, ""],
)
def test_an_id_that_is_an_address_or_a_certificate_of_somebody_opens_nothing(said):
    kept = OwnSecrets(Kept(**{said: BY_ID}), ORIGIN)
    kept.take_id(said)
    assert kept.keys == (ORIGIN,)
    assert kept.all() == ()
    assert kept.credential_for(("digest",)) is None


@pytest.mark.parametrize("said", [ID, "https://units.example/7", "tag:example,2026:7", "x"])
def test_any_other_id_is_a_key(said):
    assert not is_origin(said)
    kept = OwnSecrets(None, ORIGIN)
    kept.take_id(said)
    assert kept.keys == (said, ORIGIN)
    assert kept.all() == ()
