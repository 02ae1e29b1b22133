"""Listening at a broker: what went wrong there, and whether it shows another certificate."""

import asyncio
from types import SimpleNamespace

from fleet.engine import broker_watch
from fleet.engine.broker_watch import BrokerWatch
from fleet.engine.profile_files import load_profiles, profile_folders
from fleet.link.pinning import CertificateChangedError
from fleet.model.meeting import Pin
from tests.inventories import NOON

BROKER = "mqtts://192.0.2.9:8883"
CHANGED = CertificateChangedError(Pin(BROKER, "5e" * 32, NOON), "c4" * 32, BROKER)


class Brokers:
    """Shows another certificate once, and is listened to after a person accepted it."""

    def __init__(self):
        self.asked = []
        self.accepted = asyncio.Event()
        self.listened = asyncio.Event()

    async def announcements(self, broker, topics):
        self.asked.append((broker, topics))
        if not self.accepted.is_set():
            raise CHANGED
        yield "wd/other/topic", b""
        self.listened.set()
        await asyncio.Event().wait()


async def until(condition):
    async with asyncio.timeout(20):
        while not condition():  # noqa: ASYNC110 - what a watch keeps has no event to wait for
            await asyncio.sleep(0.005)


async def test_a_broker_that_shows_another_certificate_is_told_until_it_is_accepted(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(broker_watch, "jittered", lambda _: 0.001)
    brokers = Brokers()
    profiles = load_profiles(profile_folders(tmp_path)).profiles
    watch = BrokerWatch(SimpleNamespace(brokers=brokers, profiles=profiles), lambda _: None)
    watch.add(BROKER)
    try:
        await until(lambda: watch.changed)
        assert watch.changed[BROKER].key == BROKER
        assert "THIS MAY BE ANOTHER UNIT" in watch.troubles[BROKER]
        brokers.accepted.set()
        async with asyncio.timeout(20):
            await brokers.listened.wait()
        await until(lambda: not watch.changed)
        assert watch.troubles == {}
    finally:
        await watch.close()
