"""The two slots of a unit's flash, and which of them it starts from.

1. A unit starts from the slot that is `running`; what is in that slot is always whole.
2. Only the other slot is ever written, and it holds nothing from the first octet to the last.
3. An image that was never confirmed is tried once. Whatever ends the trial other than its confirmation
   brings back the slot that ran before, and empties the tried one.
"""

from dataclasses import dataclass, replace

from fleet.simulator.truth import TrueBuild


@dataclass(frozen=True, slots=True)
class Slots:
    """Both slots.

    Attributes:
        a, b: the whole image in each; None for none.
        running: "a" or "b".
        confirmed: the running image has shown that it works.
    """

    a: TrueBuild | None
    b: TrueBuild | None
    running: str
    confirmed: bool = True

    @property
    def build(self) -> TrueBuild:
        """Return the image that runs.

        Raises:
            ValueError: there is none, and the unit would never start again.
        """
        build = self.a if self.running == "a" else self.b
        if build is None:
            raise ValueError(f"slot {self.running} runs and holds nothing")
        return build

    @property
    def other(self) -> str:
        """Name the slot that doesn't run."""
        return "b" if self.running == "a" else "a"

    @property
    def other_build(self) -> TrueBuild | None:
        """Return the image in the slot that doesn't run."""
        return self.b if self.running == "a" else self.a


def factory_slots(build: TrueBuild) -> Slots:
    """Return the slots of a unit as it left the works: one image, in the slot of its sequence's parity."""
    if build.sequence % 2:
        return Slots(None, build, "b")
    return Slots(build, None, "a")


def erased(slots: Slots) -> Slots:
    """Empty the other slot, to write to it."""
    return _with_other(slots, None)


def written(slots: Slots, build: TrueBuild) -> Slots:
    """Put a whole image into the other slot."""
    return _with_other(slots, build)


def tried(slots: Slots) -> Slots:
    """Start the other slot's image, once.

    Raises:
        ValueError: that slot holds nothing.
    """
    if slots.other_build is None:
        raise ValueError(f"slot {slots.other} holds nothing to try")
    return replace(slots, running=slots.other, confirmed=False)


def confirmed(slots: Slots) -> Slots:
    """Stay with the image that runs."""
    return replace(slots, confirmed=True)


def rolled_back(slots: Slots) -> Slots:
    """Go back to the image that ran before, and empty the slot that was tried."""
    if slots.confirmed:
        return slots
    return erased(replace(slots, running=slots.other, confirmed=True))


def _with_other(slots: Slots, build: TrueBuild | None) -> Slots:
    return replace(slots, b=build) if slots.running == "a" else replace(slots, a=build)
