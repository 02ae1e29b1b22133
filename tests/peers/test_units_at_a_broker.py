"""A visit at a building's broker: units announce themselves, are met, read and watched; real Mosquitto."""

import json

from fleet.engine.profile_files import load_profiles
from fleet.model.credentials import Credential
from fleet.shipped import resources
from tests.peers import mosquitto
from tests.peers.broker_client import BrokerClient
from tests.peers.test_profile_broker import HERE, VALUES
from tests.unit.engine.test_meeting_units import reception, until

UNITS = 25
PROFILES = load_profiles([resources() / "profiles"]).profiles


async def announce(client, serial):
    for name, value in VALUES.items():
        await client.publish(f"wd/bits/{serial}/is/{name}", json.dumps(value), qos=1, retain=True)
    await client.publish(f"wd/bits/{serial}/here", json.dumps(HERE), qos=1, retain=True)


def _away_mm(record):
    """Where the last report has the first target, mm; None before any came."""
    return record.last.targets[0].y_mm if record.last and record.last.targets else None


async def test_units_that_announce_themselves_are_met_over_one_connection(tmp_path):
    with mosquitto.running(tmp_path) as broker:
        async with BrokerClient("127.0.0.1", broker.port) as client:
            for number in range(UNITS):
                await announce(client, f"K{number:02}")
            async with reception(tmp_path, profiles=PROFILES) as opened:
                assert await opened.add_address(broker.url) == broker.url
                await until(lambda: len(opened.fleet.addresses) == UNITS)
                assert opened.troubles() == ()
                record = opened.fleet.records["K07"]
                await until(lambda: record.way)
                for reports in range(1, 4):
                    for name in ("bodies", "right1", "away1"):
                        payload = json.dumps(VALUES[name] + reports)
                        await client.publish(f"wd/bits/K07/is/{name}", payload, qos=1)
                await until(lambda: _away_mm(record) == (VALUES["away1"] + 3) * 10)
                assert record.way == "MQTT"
                assert record.lost_ppm is None
                assert set(record.part_ages_s) >= {"right1", "away1"}
                assert "12 lux" in record.readings["light"]
                reading = await opened.fleet.read_again("K07")
                assert reading.access == "open over mqtt"
        accepted = [line for line in broker.lines if "New client connected" in line]
        assert len(accepted) == 2


async def test_a_broker_that_wants_a_password_gets_the_one_that_is_kept(tmp_path):
    extra = mosquitto.with_password(tmp_path, "installer", "invented")
    with mosquitto.running(tmp_path, extra=extra) as broker:
        async with BrokerClient(
            "127.0.0.1",
            broker.port,
            username="installer",
            password="invented",  # noqa: S106 - of this test
        ) as client:
            await announce(client, "K00")
            async with reception(tmp_path, profiles=PROFILES) as opened:
                await opened.add_address(broker.url)
                await until(opened.troubles)
                await opened.keep_secret(broker.url, Credential("invented", "installer"))
                await until(lambda: "K00" in opened.fleet.addresses)
                assert opened.troubles() == ()
                assert opened.fleet.access == {"K00": "password over mqtt"}
