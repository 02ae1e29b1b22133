"""The installer of a simulated unit, which lives through its unit's restarts.

1. fetching → verifying → staged → applying → rebooting → confirming → completed. An upload ends in staged
   and waits there; an installation verifies the kept image, or fetches it first.
2. A cut up to applying: the installation failed, the old image runs, the other slot holds nothing. From
   rebooting on: rolled back to the old image. A restart that somebody asks for is a cut like any other.
3. The kept image stays until another one replaces it, it is installed, or the unit is wiped.
4. The unit confirms a new image by itself once it has reported for a while.
5. What a request refuses is the server's; what is found out later is a reason in the progress.
"""

from dataclasses import dataclass, replace
from enum import Enum, auto

from fleet.model.firmware import InstallState
from fleet.simulator import slots as flash
from fleet.simulator.figures import (
    APPLY_TICKS,
    CONFIRM_TICKS,
    FAILED_BOOT_TICKS,
    RESTART_TICKS,
    STAGED_TICKS,
    VERIFY_TICKS,
)
from fleet.simulator.orders import (
    BOOT_FAILED,
    IDLE,
    POWER_LOSS,
    Order,
    Progress,
    build_in,
    reason_against,
)
from fleet.simulator.slots import Slots
from fleet.simulator.spool import Spool
from fleet.simulator.truth import FirmwareFault, TrueUnit

_CUTS = {
    InstallState.VERIFYING: (FirmwareFault.CUT_VERIFYING, VERIFY_TICKS // 2),
    InstallState.STAGED: (FirmwareFault.CUT_STAGED, STAGED_TICKS // 2),
    InstallState.APPLYING: (FirmwareFault.CUT_APPLYING, APPLY_TICKS // 2),
    InstallState.CONFIRMING: (FirmwareFault.CUT_CONFIRMING, CONFIRM_TICKS // 2),
}
"""In which stage a power cut strikes, and so many ticks after its begin."""

_ILLNESSES = frozenset(
    {
        FirmwareFault.WRONG_DIGEST,
        FirmwareFault.BOOT_FAILED,
        FirmwareFault.NO_SPACE,
        FirmwareFault.SETTINGS_LOST,
        FirmwareFault.REPORTS_LOST,
    }
)
_TRIAL = (InstallState.REBOOTING, InstallState.CONFIRMING)


class Next(Enum):
    """What a unit has to do after a step of its installer."""

    GO_ON = auto()
    RESTART = auto()
    LOSE_POWER = auto()


@dataclass(slots=True)
class Installer:
    """One unit's installer. All but `known_order` and `hung` is on flash.

    Attributes:
        truth: the unit.
        slots: what it can start from.
        fault: what is still to go wrong.
        progress: how far it got.
        order: what is being installed; None while nothing is.
        image: the image that is kept; None for none.
        fetches: how many images it began to fetch, which numbers the one that it fetches.
        known_order: number of the order whose status is known; 0 for none.
        orders: how many there were.
        hung: it stands still until the next restart.
        loses_reports: the image that runs loses some.
        since_tick: when the stage began.
    """

    truth: TrueUnit
    slots: Slots
    fault: FirmwareFault | None = None
    progress: Progress = IDLE
    order: Order | None = None
    image: Spool | None = None
    fetches: int = 0
    known_order: int = 0
    orders: int = 0
    hung: bool = False
    loses_reports: bool = False
    since_tick: int = 0

    @property
    def busy(self) -> bool:
        """Say whether an image is on its way."""
        return self.order is not None or self.progress.state is InstallState.FETCHING

    @property
    def away_ticks(self) -> int:
        """Return for how long the restart that comes next takes the unit away."""
        trial = self.progress.state is InstallState.REBOOTING
        fails = self.fault in {FirmwareFault.CUT_REBOOTING, FirmwareFault.BOOT_FAILED}
        return FAILED_BOOT_TICKS if trial and fails else RESTART_TICKS

    def strikes(self, fault: FirmwareFault) -> bool:
        """Say whether a fault strikes here; one that isn't an illness never does again."""
        if self.fault is not fault:
            return False
        if fault not in _ILLNESSES:
            self.fault = None
        return True

    # Fetching ---------------------------------------------------------------------------------

    def begin_upload(self, total: int | None) -> int:
        """Begin to take an image that somebody sends; return the number of this fetch."""
        self._drop_image()
        self.fetches += 1
        self.progress = Progress(InstallState.FETCHING, 0, total)
        return self.fetches

    def fetching(self, number: int) -> bool:
        """Say whether the fetch of this number still goes on."""
        return self.progress.state is InstallState.FETCHING and self.fetches == number

    def fetched(self, octets_done: int) -> bool:
        """Note how much came; return whether power is cut now."""
        self.progress = replace(self.progress, octets_done=octets_done)
        total = self.progress.octets_total or 0
        return 2 * octets_done >= total and self.strikes(FirmwareFault.CUT_FETCHING)

    def keep(self, image: Spool, tick: int) -> None:
        """Take over the image that was fetched: an upload is staged, an order goes on with it."""
        self.image = image
        if self.order is None:
            self._stage(image)
        else:
            self._enter(InstallState.VERIFYING, tick)

    # Orders -----------------------------------------------------------------------------------

    def begin(self, order: Order, tick: int) -> int:
        """Begin to install; return the number of this order.

        An order with an address first fetches from there, by the number `fetches`. One without needs a
        kept image.
        """
        self.orders += 1
        self.known_order = self.orders
        if order.url:
            self.begin_upload(order.size)
        self.order = order
        self.progress = Progress(InstallState.FETCHING, 0, order.size, order.digest)
        if not order.url:
            self._enter(InstallState.VERIFYING, tick)
        return self.orders

    def cancel(self) -> bool:
        """Drop the order if nothing of it was applied yet; return whether it was dropped."""
        early = (InstallState.FETCHING, InstallState.VERIFYING, InstallState.STAGED)
        if self.order is None or self.progress.state not in early:
            return False
        self.order, self.known_order = None, 0
        self.progress = IDLE
        if self.image is not None:
            self._stage(self.image)
        return True

    def fail(self, reason: str) -> None:
        """End with nothing changed."""
        self.order = None
        self.progress = replace(self.progress, state=InstallState.FAILED, reason=reason)

    def wipe(self) -> None:
        """Forget the kept image and what became of earlier ones."""
        self._drop_image()
        self.progress = IDLE
        self.known_order = 0

    # Time -------------------------------------------------------------------------------------

    def step(self, tick: int) -> Next:
        """Go on by one tick."""
        spent, state = tick - self.since_tick, self.progress.state
        if self.order is None or self.hung:
            return Next.GO_ON
        fault, after_ticks = _CUTS.get(state, (None, 0))
        if fault is not None and spent >= after_ticks and self.strikes(fault):
            return Next.LOSE_POWER
        match state:
            case InstallState.VERIFYING if spent >= VERIFY_TICKS:
                self._verify(self.order, tick)
            case InstallState.STAGED if spent >= STAGED_TICKS:
                self._begin_to_apply(tick)
            case InstallState.APPLYING:
                return self._apply(self.order, spent, tick)
            case InstallState.CONFIRMING if spent >= CONFIRM_TICKS:
                self._complete()
        return Next.GO_ON

    def cut(self) -> None:
        """Power is gone, or the unit restarts for another reason than a new image."""
        self.known_order, self.hung = 0, False
        if self.progress.state in _TRIAL:
            self._roll_back(POWER_LOSS)
        elif self.busy:
            self.fail(POWER_LOSS)

    def wake(self, tick: int) -> bool:
        """Start again after a restart; return whether that was a new image's first start."""
        self.known_order = 0
        if self.progress.state is not InstallState.REBOOTING:
            return False
        if self.strikes(FirmwareFault.CUT_REBOOTING):
            self._roll_back(POWER_LOSS)
        elif self.strikes(FirmwareFault.BOOT_FAILED):
            self._roll_back(BOOT_FAILED)
        else:
            self.loses_reports = self.strikes(FirmwareFault.REPORTS_LOST)
            self._enter(InstallState.CONFIRMING, tick)
            return True
        return False

    def _verify(self, order: Order, tick: int) -> None:
        image = self._kept()
        reason = reason_against(image, order, self.truth, self.slots.build)
        if reason:
            self.fail(reason)
        else:
            self._stage(image)
            self.since_tick = tick

    def _begin_to_apply(self, tick: int) -> None:
        self.slots = flash.erased(self.slots)
        self._enter(InstallState.APPLYING, tick)
        self.progress = replace(self.progress, octets_done=0)
        self.hung = self.strikes(FirmwareFault.HANG)

    def _apply(self, order: Order, spent: int, tick: int) -> Next:
        done = order.size * min(spent, APPLY_TICKS) // APPLY_TICKS
        self.progress = replace(self.progress, octets_done=done)
        if spent < APPLY_TICKS:
            return Next.GO_ON
        build = build_in(self._kept(), order, self.slots.build)
        self.slots = flash.tried(flash.written(self.slots, build))
        self._enter(InstallState.REBOOTING, tick)
        return Next.RESTART

    def _complete(self) -> None:
        self.slots = flash.confirmed(self.slots)
        self._drop_image()
        self.order = None
        self.progress = replace(self.progress, state=InstallState.COMPLETED)

    def _roll_back(self, reason: str) -> None:
        self.slots = flash.rolled_back(self.slots)
        self.order, self.loses_reports = None, False
        self.progress = replace(self.progress, state=InstallState.ROLLED_BACK, reason=reason)

    def _enter(self, state: InstallState, tick: int) -> None:
        self.progress = replace(self.progress, state=state)
        self.since_tick = tick

    def _stage(self, image: Spool) -> None:
        digest = self.order.digest if self.order else image.digest()
        self.progress = Progress(InstallState.STAGED, image.size, image.size, digest)

    def _kept(self) -> Spool:
        if self.image is None:
            raise ValueError("an order goes on without an image")
        return self.image

    def _drop_image(self) -> None:
        if self.image is not None:
            self.image.close()
            self.image = None


def installer_of(truth: TrueUnit) -> Installer:
    """Make the installer of a unit that runs what its truth says."""
    return Installer(truth, flash.factory_slots(truth.build), truth.firmware_fault)
