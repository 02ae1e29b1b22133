"""Whatever is cut where: a unit never loses its last image, and comes back with one of two, whole."""

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

    @initialize(fault=FAULTS)
    def unpacked(self, fault):
        self.made = Bench(firmware_fault=fault)
        self.expected = {BUILD.image_digest}

    @property
    def quiet(self) -> bool:
        return not self.made.installer.busy and not self.made.unit.down

    @rule(image=st.sampled_from(GOOD + BAD))
    def upload(self, image):
        if self.quiet:
            self.made.stage(image)
            self.staged = image

    @rule(image=st.sampled_from(GOOD + BAD))
    def upload_half(self, image):
        if self.quiet:
            number = self.made.installer.begin_upload(len(image))
            if self.made.installer.fetched(len(image) // 2):
                self.made.unit.lose_power()
            assert self.made.installer.fetching(number) is not self.made.unit.down

    @rule(right=st.booleans())
    def install(self, right):
        if self.quiet and self.made.installer.image is not None:
            before = self.made.installer.slots.build.image_digest
            self.expected = {before, digest_of(self.staged)}
            changes = {} if right else {"digest": "0" * 64}
            self.made.installer.begin(order_for(self.staged, **changes), self.made.world.tick)

    @rule()
    def drop(self):
        self.made.installer.cancel()

    @rule(ticks=st.integers(1, 45))
    def wait(self, ticks):
        self.made.tick(ticks)

    @rule()
    def pull_the_plug(self):
        self.made.unit.lose_power()

    @precondition(lambda self: not self.made.unit.down)
    @rule()
    def restart(self):
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
        assert bool(progress.reason) == (progress.state in {"failed", "rolled-back"})
        assert self.made.unit.areas == (DESK,)

    def teardown(self):
        if not hasattr(self, "made"):
            return
        self.made.tick(500)
        hung = self.made.installer.hung
        fetching = self.made.state == "fetching"
        assert not self.made.unit.down
        assert self.quiet or hung or fetching
        self.it_can_always_start()
        self.made.installer.wipe()


def test_whatever_is_cut_where_a_unit_comes_back_with_the_old_or_the_new_build():
    run_state_machine_as_test(
        Installations, settings=settings(max_examples=150, stateful_step_count=30, deadline=None)
    )
