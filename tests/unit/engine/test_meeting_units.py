"""Meeting units: twice, moved, locked, gone for a while, without a description; over real sockets."""

import asyncio
import base64
import json
from contextlib import AsyncExitStack, asynccontextmanager

import pytest
from aiohttp import web

from fleet.description.origins import origin_of
from fleet.description.profiles import read_profile
from fleet.engine import fleet_watch
from fleet.engine.meeting import BY_PROFILE, Acquaintance, acquaintance_with
from fleet.engine.operations import OperationBook
from fleet.engine.reception import Place, Reception
from fleet.engine.secrets import Secrets
from fleet.inventory.inventory import open_inventory
from fleet.jobs.expecting import expected_and_found
from fleet.link.pinning import CertificateChangedError
from fleet.model.credentials import Credential
from fleet.model.errors import LinkError, PlanError, UnitError
from fleet.model.meeting import ChangedCertificate, Meeting
from fleet.model.snapshot import LinkState
from fleet.model.units import Sighting
from tests.faults.hostile_house import (
    CLOCK,
    Server,
    described,
    says,
    serving,
    sound_unit,
)
from tests.inventories import small_plan
from tests.unit.link.small_unit import SmallUnit, certificate_for, served

KEY = "urn:uuid:6f1d0b0e-0000-4000-8000-000000000001"


class Kept:
    """Secrets that are kept, for a test; counts how often anybody looked."""

    def __init__(self, **kept):
        self.kept = {key.replace("_", ":"): secret for key, secret in kept.items()}
        self.looked = []

    def credential_for(self, key):
        self.looked.append(key)
        return self.kept.get(key)

    def keep(self, key, credential):
        self.kept[key] = credential

    def forget(self, key):
        return self.kept.pop(key, None) is not None

    def shared(self):
        return ()


@asynccontextmanager
async def reception(folder, store=None, profiles=(), give_up_s=20.0):
    async with AsyncExitStack() as stack:
        inventory = stack.enter_context(open_inventory(folder / "data", CLOCK))
        inventory.add_site(small_plan())
        made = acquaintance_with(inventory, Secrets(store), CLOCK, profiles)
        acquaintance = Acquaintance(
            made.links, made.brokers, made.secrets, CLOCK, made.profiles, give_up_s
        )
        stack.push_async_callback(acquaintance.close)
        opened = Reception(
            inventory, acquaintance, OperationBook(), CLOCK, Place("127.0.0.1", "192.0.2.0/30")
        )
        stack.push_async_callback(opened.close)
        yield opened


def heard(server, name="Unit", **more):
    return Sighting(name, server.url, CLOCK.now(), **more)


def unit(serial="S-1", own_id="urn:uuid:1", **answers):
    described_ = says(json.dumps(described(title=f"Unit {serial}", id=own_id)))
    return sound_unit(serial, td=described_, **answers)


async def until(condition):
    async with asyncio.timeout(20):
        while not condition():  # noqa: ASYNC110 - what a fleet has met has no event to wait for
            await asyncio.sleep(0.005)


def states(opened, link=LinkState.LIVE):
    plan = small_plan()
    met = opened.met(dict.fromkeys(opened.fleet.addresses, link))
    return {line.label or line.address: line.state for line in expected_and_found(plan, met)}


async def test_one_unit_heard_at_two_addresses_stays_at_the_first(tmp_path):
    async with (
        reception(tmp_path) as opened,
        serving(Server(unit())) as first,
        serving(Server(unit())) as second,
    ):
        for server in (first, second):
            opened.fleet.hear(heard(server))
            await opened.fleet.settle_down()
        assert opened.fleet.addresses == {"S-1": first.url}
        assert (opened.fleet.doubles, opened.fleet.troubles) == ({}, {})


async def test_a_second_unit_of_one_serial_waits_for_a_person(tmp_path):
    async with (
        reception(tmp_path) as opened,
        serving(Server(unit())) as first,
        serving(Server(unit(own_id="urn:uuid:2"))) as second,
    ):
        for server in (first, second):
            opened.fleet.hear(heard(server))
            await opened.fleet.settle_down()
        assert opened.fleet.addresses == {"S-1": first.url}
        assert "two units say the serial S-1" in opened.fleet.troubles[second.url]
        assert states(opened)[second.url] is Meeting.DOUBLE
        await opened.fleet.settle_double("S-1", second.url)
        assert opened.fleet.addresses == {"S-1": second.url}
        assert states(opened)[first.url] is Meeting.DOUBLE
        with pytest.raises(PlanError, match="no other unit"):
            await opened.fleet.settle_double("S-1", "http://192.0.2.77/td")


async def test_a_unit_whose_address_changed_is_followed(tmp_path):
    async with reception(tmp_path) as opened:
        async with serving(Server(unit())) as before:
            opened.fleet.hear(heard(before))
            await opened.fleet.settle_down()
            await until(lambda: opened.fleet.records["S-1"].reports > 2)
        async with serving(Server(unit())) as after:
            opened.fleet.hear(heard(after))
            await opened.fleet.settle_down()
            assert opened.fleet.addresses == {"S-1": after.url}
            reports = opened.fleet.records["S-1"].reports
            await until(lambda: opened.fleet.records["S-1"].reports > reports + 2)


async def test_who_cannot_be_reached_is_tried_again(tmp_path, monkeypatch):
    monkeypatch.setattr(fleet_watch, "FIRST_RETRY_S", 0.05)
    monkeypatch.setattr(fleet_watch, "LONGEST_RETRY_S", 0.05)
    answers = unit()
    sound = answers["/td"]
    tried = []

    async def later(request):
        tried.append(request.path)
        return web.Response(status=503) if len(tried) < 3 else await sound(request)

    answers["/td"] = later
    async with reception(tmp_path) as opened, serving(Server(answers)) as server:
        opened.fleet.hear(heard(server))
        await until(lambda: opened.fleet.troubles)
        assert states(opened)[server.url] is Meeting.HEARD
        await until(lambda: "S-1" in opened.fleet.addresses)
        assert opened.fleet.troubles == {}


async def test_a_live_stream_outranks_a_goodbye(tmp_path):
    async with reception(tmp_path) as opened, serving(Server(unit())) as server:
        opened.fleet.hear(heard(server, "Hall unit"))
        await opened.fleet.settle_down()
        opened.fleet.hear_goodbye("Hall unit")
        assert states(opened)["U1"] is Meeting.MET
        assert states(opened, LinkState.GONE)["U1"] is Meeting.GONE
        opened.fleet.hear(heard(server, "Hall unit"))
        assert opened.fleet.left == set()
        await opened.fleet.settle_down()


def guarded(password):
    """A unit whose properties want a password."""
    wanted = "Basic " + base64.b64encode(f"installer:{password}".encode()).decode()
    scheme = {"in": {"scheme": "basic", "in": "header"}}
    told = described(title="Unit S-1", id=KEY, securityDefinitions=scheme, security="in")
    about = says(json.dumps({"serial": "S-1"}))
    refused = {"WWW-Authenticate": 'Basic realm="unit"'}

    async def answer(request):
        if request.headers.get("Authorization") != wanted:
            return web.Response(status=401, headers=refused)
        return await about(request)

    return sound_unit("S-1", td=says(json.dumps(told)), about=answer)


async def test_a_locked_unit_waits_for_its_password_and_is_met_with_it(tmp_path):
    async with reception(tmp_path) as opened, serving(Server(guarded("right"))) as server:
        opened.fleet.hear(heard(server))
        await opened.fleet.settle_down()
        (locked,) = opened.fleet.locked.values()
        key = origin_of(server.url)  # anybody could say the id
        assert (locked.key, locked.kinds, locked.refused) == (key, ("basic",), False)
        assert locked.kept_under == ""
        assert states(opened)[server.url] is Meeting.LOCKED
        await opened.keep_secret(key, Credential("wrong", "installer"))
        (locked,) = opened.fleet.locked.values()
        assert locked.refused
        await opened.keep_secret(key, Credential("right", "installer"))
        assert opened.fleet.locked == {}
        assert opened.fleet.addresses == {"S-1": server.url}
        assert opened.weaknesses({"S-1": "U1"})
        assert all("right" not in said for said in opened.weaknesses({"S-1": "U1"}))


async def test_a_changed_certificate_is_told_by_its_key_and_accepted_by_it(tmp_path):
    context, before = certificate_for(tmp_path, "before")
    other, after = certificate_for(tmp_path, "after")
    async with reception(tmp_path) as opened:
        async with served(SmallUnit(), context) as origin:
            sighting = Sighting("Unit", f"{origin}/td", CLOCK.now())
            await opened.fleet.meet_by_hand(sighting)
            assert opened.certificates() == ()
        async with served(SmallUnit(), other, int(origin.rpartition(":")[2])):
            with pytest.raises(CertificateChangedError) as caught:
                await opened.fleet.meet_by_hand(sighting)
            told = ChangedCertificate("urn:uuid:7", sighting.url, before, after, str(caught.value))
            assert opened.certificates() == (told,)
            await opened.accept_certificate(told.key, by="A. Fitter", reason="it was reset")
            assert opened.certificates() == ()
            assert opened.troubles() == ()


async def test_a_secret_that_is_kept_is_used_without_asking(tmp_path):
    store = Kept()
    async with reception(tmp_path, store) as opened, serving(Server(guarded("right"))) as server:
        key = origin_of(server.url)
        store.kept[key] = Credential("right", "installer")
        opened.fleet.hear(heard(server))
        await opened.fleet.settle_down()
        assert opened.fleet.addresses == {"S-1": server.url}
        assert store.looked == [key, KEY]
        await opened.forget_secret(key)
        assert store.kept == {}


async def test_what_is_kept_under_an_id_goes_to_an_address_once_a_person_says_so(tmp_path):
    store = Kept()
    store.kept[KEY] = Credential("right", "installer")
    async with reception(tmp_path, store) as opened, serving(Server(guarded("right"))) as server:
        key = origin_of(server.url)
        opened.fleet.hear(heard(server))
        await opened.fleet.settle_down()
        (locked,) = opened.fleet.locked.values()
        assert (locked.key, locked.kept_under, locked.refused) == (key, KEY, False)
        for strange in ((KEY, "http://192.0.2.66:80"), ("urn:uuid:other", key)):
            with pytest.raises(PlanError, match="Nothing was sent"):
                await opened.send_kept_secret(*strange, by="A. Fitter")
        assert key not in store.kept
        await opened.send_kept_secret(KEY, key, by="A. Fitter")
        assert opened.fleet.addresses == {"S-1": server.url}
        assert store.kept[key] == store.kept[KEY]
        with pytest.raises(PlanError, match="Nothing was sent"):  # it waits for nothing any more
            await opened.send_kept_secret(KEY, key, by="A. Fitter")
    with open_inventory(tmp_path / "data", CLOCK) as inventory:
        (entry,) = [one for one in inventory.journal() if one.what == "secret-sent"]
    assert entry.subject == key
    assert entry.detail == {"kept_under": KEY, "by": "A. Fitter"}


async def test_two_keys_of_one_unit_are_not_two_units_that_share_a_password(tmp_path):
    store = Kept()
    store.kept[KEY] = Credential("right", "installer")
    other = "urn:uuid:another"
    async with reception(tmp_path, store) as opened, serving(Server(guarded("right"))) as server:
        key = origin_of(server.url)
        store.shared = lambda: ((KEY, key),)
        opened.fleet.hear(heard(server))
        await opened.fleet.settle_down()
        await opened.send_kept_secret(KEY, key, by="A. Fitter")
        assert not [said for said in opened.weaknesses({"S-1": "U1"}) if "one password" in said]
        store.shared = lambda: ((KEY, key, other),)
        await opened.keep_secret(other, Credential("right", "installer"))
        (said,) = [said for said in opened.weaknesses({"S-1": "U1"}) if "one password" in said]
        assert said.startswith(f"U1 and {other} have one password")


async def test_nobody_looks_for_secrets_while_no_unit_wants_one(tmp_path):
    store = Kept()
    async with reception(tmp_path, store) as opened, serving(Server(unit())) as server:
        opened.fleet.hear(heard(server))
        await opened.fleet.settle_down()
    assert store.looked == []


async def test_a_unit_that_drips_is_given_up_while_the_others_go_on(tmp_path):
    async def drip(request):
        response = web.StreamResponse(headers={"Content-Type": "application/json"})
        await response.prepare(request)
        while True:
            await response.write(b" ")
            await asyncio.sleep(0.02)

    async with (
        reception(tmp_path, give_up_s=0.5) as opened,
        serving(Server(unit())) as sound,
        serving(Server({"/td": drip})) as dripping,
    ):
        opened.fleet.hear(heard(dripping, "Dripping"))
        opened.fleet.hear(heard(sound, "Sound"))
        await until(lambda: opened.fleet.addresses.get("S-1") == sound.url)
        await until(lambda: dripping.url in opened.fleet.troubles)
        assert "wasn't read within 0.5 s" in opened.fleet.troubles[dripping.url]


async def test_each_line_of_a_pasted_list_gets_its_own_result(tmp_path):
    async with reception(tmp_path) as opened, serving(Server(unit())) as server:
        pasted = f"{server.url}\nhttp://127.0.0.1:9/td  # nobody there\nnot/an address at all"
        results = await opened.add_addresses(pasted)
        assert results[0].serial == "S-1"
        assert "nothing answers" in results[1].said
        assert all(result.said for result in results[1:])


PROFILE = {
    "format": "walkdown.profile.1",
    "name": "bare-scalar",
    "note": "Invented for tests.",
    "match": {"service_type": "_wd-bare._tcp", "txt": {"kind": ["scalar"]}},
    "placeholders": {
        "HOST": {"from": "address", "part": "host"},
        "PORT": {"from": "address", "part": "port", "type": "integer"},
        "SERIAL": {"from": "http", "path": "/who", "pointer": "/number"},
    },
    "thing_model": {
        "@context": [
            "https://www.w3.org/2022/wot/td/v1.1",
            {"pres": "https://walkdown.example/presence#"},
        ],
        "@type": ["tm:ThingModel", "pres:PresenceUnit"],
        "title": "Bare unit {{SERIAL}}",
        "id": "urn:walkdown:test:{{SERIAL}}",
        "base": "http://{{HOST}}:{{PORT}}/",
        "securityDefinitions": {"open": {"scheme": "nosec"}},
        "security": "open",
        "properties": {
            "who": {
                "@type": "pres:Identity",
                "type": "object",
                "readOnly": True,
                "properties": {"number": {"@type": "pres:SerialNumber", "type": "string"}},
                "forms": [{"href": "who"}],
            }
        },
    },
}


@pytest.fixture
def bare():
    return read_profile(json.dumps(PROFILE).encode(), "bare.json")


async def test_a_unit_without_a_description_is_met_by_the_profile_of_its_kind(tmp_path, bare):
    who = says(json.dumps({"number": "S-3"}))
    async with (
        reception(tmp_path, profiles=(bare,)) as opened,
        serving(Server({"/who": who})) as it,
    ):
        kind = {"service_type": "_wd-bare._tcp", "txt": {"kind": "scalar"}}
        opened.fleet.hear(heard(it, **kind))
        await opened.fleet.settle_down()
        assert opened.fleet.troubles == {}
        assert opened.fleet.addresses == {"S-3": it.url}
        opened.fleet.hear(Sighting("x", it.url, CLOCK.now(), service_type="_wd-other._tcp"))
        await opened.fleet.settle_down()
        assert "no profile is of its kind" in opened.fleet.troubles[it.url]


async def test_a_person_may_name_the_profile(tmp_path, bare):
    who = says(json.dumps({"number": "S-3"}))
    async with (
        reception(tmp_path, profiles=(bare,)) as opened,
        serving(Server({"/who": who})) as it,
    ):
        address = it.url.removesuffix("/td")
        with pytest.raises(UnitError):
            await opened.add_address(it.url)
        assert await opened.add_address(address, "bare-scalar") == "S-3"
        with pytest.raises(PlanError, match="no profile 'missing'"):
            await opened.add_address(address, "missing")
        assert BY_PROFILE == "profile:"


async def test_an_interface_that_is_not_there_is_said(tmp_path):
    async with reception(tmp_path) as opened:
        await opened.scan(0.1, frozenset())
        with pytest.raises(LinkError, match="listen"):
            await opened.listen_on("203.0.113.9")
