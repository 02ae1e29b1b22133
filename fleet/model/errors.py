"""Errors in families by whose fault they are.

Every error says four things, because the person reading it stands on a ladder: what happened, to
which unit or file, what stands now, and what to do next. The families decide the way out:

1. `PlanError`: the plan or the request is wrong; ours to mend, nothing was sent.
2. `UnitError`: the unit answered, but refused or answered nonsense.
3. `LinkError`: the unit can't be reached, or the answer never ended.
4. `InventoryError`: the disk, the database file or its version.
5. `RecordError`: a hand-over record doesn't check.
"""


class WalkdownError(Exception):
    """The root of all families.

    Attributes:
        what: what happened, in one sentence.
        subject: the unit (label or serial) or the file that it happened to.
        stands: what stands now: which state the unit or file is left in.
        next_step: what the person can do about it.
    """

    def __init__(
        self, what: str, *, subject: str = "", stands: str = "", next_step: str = ""
    ) -> None:
        """Keep the four parts and join them into one message."""
        self.what = what
        self.subject = subject
        self.stands = stands
        self.next_step = next_step
        head = f"{subject}: {what}" if subject else what
        super().__init__(" ".join(part for part in (head, stands, next_step) if part))


class PlanError(WalkdownError):
    """The plan, a setting to write or a request is wrong before anything was sent."""


class UnitError(WalkdownError):
    """A unit answered, but refused or answered what its description rules out."""


class LinkError(WalkdownError):
    """A unit can't be reached, or stopped answering on the way."""


class InventoryError(WalkdownError):
    """The inventory's file can't be opened, read, written or upgraded."""


class RecordError(WalkdownError):
    """A hand-over record doesn't check, or can't be made."""
