"""Images in our invented container, a unit on a bench without a network, and orders for it."""

import hashlib
import json
from contextlib import contextmanager
from dataclasses import replace

from fleet.simulator.orders import Order
from fleet.simulator.spool import Spool
from fleet.simulator.truth import Truth
from fleet.simulator.world import world_of
from tests.unit.simulator.small_house import PLAN, TRACKING
from tests.unit.simulator.test_unit import Ears

NEXT = {
    "class_id": TRACKING.class_id,
    "hardware_revisions": ["H4"],
    "version": "1.3.0",
    "build_id": "b-13",
    "sequence": 13,
}


def make_image(body: bytes = b"invented firmware " * 500, **changes) -> bytes:
    """An image of the container; a member given as None is left out."""
    said = {"walkdown_image": 1, **NEXT, "seal": hashlib.sha256(body).hexdigest()}
    header = {name: value for name, value in (said | changes).items() if value is not None}
    return json.dumps(header).encode() + b"\n" + body


def digest_of(image: bytes) -> str:
    return hashlib.sha256(image).hexdigest()


def order_for(image: bytes, **changes) -> Order:
    order = Order(digest_of(image), len(image), "1.3.0", "b-13", 13)
    return replace(order, **changes)


class Bench:
    """A unit that lives tick by tick, with ears in place of connections."""

    def __init__(self, **changes) -> None:
        world = world_of(PLAN, Truth((replace(TRACKING, **changes),)), 1)
        self.world, (_, self.unit) = world, world.units[0]
        self.installer, self.ear = self.unit.installer, Ears()
        self.unit.streams = self.ear
        self.tick()

    @property
    def state(self) -> str:
        return self.installer.progress.state.value

    @property
    def reason(self) -> str:
        return self.installer.progress.reason

    def tick(self, count: int = 1) -> None:
        for _ in range(count):
            tick = self.world.tick + 1
            self.world.step(tick, f"t{tick}")

    def stage(self, image: bytes) -> None:
        self.installer.begin_upload(len(image))
        self.installer.keep(spool_of(image), self.world.tick)

    def install(self, image: bytes, **changes) -> int:
        self.stage(image)
        return self.installer.begin(order_for(image, **changes), self.world.tick)

    def until(self, *states: str) -> list[str]:
        """Live until one of these states; return every state on the way."""
        seen = [self.state]
        for _ in range(400):
            if self.state in states and not self.unit.down:
                return seen
            self.tick()
            seen += [self.state] if self.state != seen[-1] else []
        raise AssertionError(f"none of {states} came: {seen}")

    def ended(self) -> list[str]:
        return self.until("completed", "failed", "rolled-back")


@contextmanager
def bench(**changes):
    made = Bench(**changes)
    try:
        yield made
    finally:
        made.installer.wipe()


def spool_of(image: bytes) -> Spool:
    spool = Spool()
    spool.write(image)
    return spool
