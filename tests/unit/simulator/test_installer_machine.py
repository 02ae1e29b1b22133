"""Whatever is cut where: a unit never loses its last image, and comes back with one of two, whole."""

from typing import ClassVar

import hypothesis.strategies as st
from hypothesis import settings
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from fleet.simulator.truth import FirmwareFault
from tests.unit.simulator.firmware_images import Bench, digest_of, make_image, order_for
from tests.unit.simulator.small_house import BUILD, DESK

GOOD = [make_image(bytes([number]) * 40) for number in range(3)]
BAD = [make_image(b"bad", class_id="another"), make_image(seal="0" * 64)]
WHOLE = {BUILD.image_digest, *map(digest_of, GOOD)}
RUNNING = ("rebooting", "confirming")
FAULTS = st.sampled_from([None, *FirmwareFault])


class Installations(RuleBasedStateMachine):
    """Somebody uploads, installs, drops, restarts and pulls the plug in any order."""

    seen: ClassVar[set[str]] = set()

    @initialize(fault=FAULTS)
    def unpacked(self, fault):
        self.made = Bench(firmware_fault=fault)
        self.expected = {BUILD.image_digest}
        self.install(GOOD[0], right=1)

    @property
    def quiet(self) -> bool:
        return not self.made.installer.busy and not self.made.unit.down

    @precondition(lambda self: self.quiet)
    @rule(image=st.sampled_from(GOOD + BAD))
    def upload(self, image):
        self.before = self.made.installer.slots.build.image_digest
        self.made.stage(image)
        self.staged = image

    @precondition(lambda self: self.quiet)
    @rule(image=st.sampled_from(GOOD), power=st.booleans())
    def upload_half(self, image, power):
        self.before = self.made.installer.slots.build.image_digest
        number = self.made.installer.begin_upload(len(image))
        if self.made.installer.fetched(len(image) // 2) or power:
            self.made.unit.lose_power()
        else:
            self.made.installer.fail("fetch")
        assert not self.made.installer.fetching(number)

    @precondition(lambda self: self.quiet)
    @rule(image=st.sampled_from(GOOD + BAD), right=st.integers(0, 4))
    def install(self, image, right):
        self.upload(image)
        self.order(right)

    @precondition(lambda self: self.quiet and self.made.installer.image is not None)
    @rule(right=st.integers(0, 4))
    def order(self, right):
        self.before = self.made.installer.slots.build.image_digest
        self.expected = {self.before}
        self.expected |= {digest_of(self.staged)} if self.staged in GOOD and right else set()
        changes = {} if right else {"digest": "0" * 64}
        order = order_for(self.staged, downgrade_allowed=True, **changes)
        self.made.installer.begin(order, self.made.world.tick)

    @precondition(lambda self: self.made.installer.busy)
    @rule(ticks=st.integers(0, 20))
    def drop(self, ticks):
        self.made.tick(ticks)
        self.made.installer.cancel()

    @rule(ticks=st.integers(1, 60))
    def live(self, ticks):
        self.made.tick(ticks)

    @precondition(lambda self: not self.quiet)
    @rule(ticks=st.integers(0, 120))
    def pull_the_plug(self, ticks):
        self.made.tick(ticks)
        self.made.unit.lose_power()

    @precondition(lambda self: not self.made.unit.down)
    @rule(ticks=st.integers(0, 120))
    def restart(self, ticks):
        self.made.tick(ticks)
        if not self.made.unit.down:
            self.made.unit.restart_asked = True
            self.made.tick()

    @invariant()
    def it_can_always_start(self):
        if not hasattr(self, "made"):
            return
        slots = self.made.installer.slots
        assert slots.build.image_digest in WHOLE
        assert slots.build.image_digest in self.expected
        assert slots.other_build is None or slots.other_build.image_digest in WHOLE
        assert slots.confirmed or slots.other_build is not None
        assert slots.confirmed or self.made.state in RUNNING

    @invariant()
    def what_it_says_fits_what_it_runs(self):
        if not hasattr(self, "made"):
            return
        progress, slots = self.made.installer.progress, self.made.installer.slots
        if progress.state == "completed":
            assert slots.build.image_digest == progress.digest
        if progress.state in {"failed", "rolled-back"}:
            assert (slots.build.image_digest, slots.confirmed) == (self.before, True)
        if progress.state == "rolled-back":
            assert slots.other_build is None
        assert bool(progress.reason) == (progress.state in {"failed", "rolled-back"})
        assert self.made.unit.areas == (DESK,)

    def teardown(self):
        if not hasattr(self, "made"):
            return
        self.made.tick(500)
        assert not self.made.unit.down
        assert self.quiet or self.made.installer.hung
        if self.made.installer.hung:
            self.made.unit.lose_power()
            self.made.tick(100)
        assert self.quiet
        self.it_can_always_start()
        self.seen.add(self.made.state)
        self.made.installer.wipe()


def test_whatever_is_cut_where_a_unit_comes_back_with_the_old_or_the_new_build():
    run_state_machine_as_test(
        Installations, settings=settings(max_examples=150, stateful_step_count=20, deadline=None)
    )
    # a machine that never installs anything would find nothing wrong
    assert {"completed", "rolled-back", "failed"} <= Installations.seen
