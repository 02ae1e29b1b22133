"""What the window asks of a running visit, so that a test may stand in for the engine."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Protocol

from fleet.engine.applying import StepResult
from fleet.model.credentials import Credential
from fleet.model.journal import Change
from fleet.model.meeting import AddressResult, Diagnosis, Interface
from fleet.model.sheets import Value
from fleet.model.snapshot import Snapshot
from ui.bridge.visit_updates import UpdatingVisit


class VisitLike(UpdatingVisit, Protocol):
    """A visit as the window uses it: `snapshot` from any thread, the rest in the engine's loop.

    Every coroutine raises one of the families of `fleet.model.errors`.
    """

    async def start(self) -> None:
        """Begin."""
        ...

    async def stop(self) -> None:
        """End, and close every connection."""
        ...

    def snapshot(self) -> Snapshot:
        """Return the last snapshot; cheap, from any thread."""
        ...

    def stop_operation(self, key: int) -> None:
        """Ask a running operation to stop after the step that it is at."""
        ...

    async def add_site(self, plan_file: Path) -> str:
        """Start a site from a plan file; return its name."""
        ...

    async def sites(self) -> tuple[str, ...]:
        """Return the names of all sites of the inventory, in the order they were added."""
        ...

    async def choose_site(self, name: str) -> None:
        """Make a site the current one; called before the visit begins."""
        ...

    async def scan(self, seconds: float) -> int:
        """Listen for units; return how many were met."""
        ...

    async def add_address(self, url: str) -> str:
        """Meet the unit at an address; return its serial."""
        ...

    async def add_addresses(self, text: str) -> tuple[AddressResult, ...]:
        """Meet the units of a pasted list of addresses; return what came of each line."""
        ...

    async def interfaces(self) -> tuple[Interface, ...]:
        """Return the ways of this machine onto a network."""
        ...

    async def listen_on(self, address: str) -> None:
        """Listen for units on the interface of an address; "" for all of them."""
        ...

    async def diagnose(self) -> Diagnosis:
        """Find out by trying why no unit is heard."""
        ...

    async def keep_secret(self, key: str, secret: Credential) -> None:
        """Keep what lets us into a unit, and meet it again."""
        ...

    async def send_kept_secret(self, kept_under: str, key: str, *, by: str) -> None:
        """Keep what is kept under a unit's id for its address too, and meet it again."""
        ...

    async def forget_secret(self, key: str) -> None:
        """Keep a secret no longer."""
        ...

    async def accept_certificate(self, key: str, *, by: str, reason: str) -> None:
        """Trust the certificate that a unit shows now in place of the one trusted before."""
        ...

    async def settle_double(self, serial: str, address: str, *, by: str) -> None:
        """Use the unit at an address for a serial that two units say, and not the other."""
        ...

    async def sweep(self, seconds_each: int) -> Mapping[str, str]:
        """Have all units show themselves, one after another; return serial and trouble of some.

        Meanwhile `Snapshot.showing` is the serial of the one that does, and the title of the running
        operation begins with "Sweep".
        """
        ...

    async def say_seen(self, serial: str, *, where_planned: bool, by: str) -> None:
        """Write down where a person saw a unit that showed itself: where the plan says, or elsewhere."""
        ...

    async def write_labels(self, path: Path, *, start_at: int = 1) -> int:
        """Write the schedule's labels as a PDF for sheets of stickers; return how many.

        Args:
            path: the file, new.
            start_at: place of the first label that is free on the first sheet, from 1.
        """
        ...

    async def read_all(self) -> Mapping[str, str]:
        """Read every unit anew; return serial and reason of each that couldn't be."""
        ...

    async def identify(self, serial: str, seconds: int) -> None:
        """Have a unit show itself for some seconds."""
        ...

    async def place(
        self, serial: str, room: str, x_mm: int | None = None, y_mm: int | None = None
    ) -> None:
        """Put a unit that was heard into a room."""
        ...

    async def decide(
        self,
        serial: str,
        key: str,
        *,
        keep_found: bool,
        reason: str,
        by: str,
        value: Value | None = None,
    ) -> None:
        """Settle an item that somebody changed on site; `value` is planned instead of either."""
        ...

    async def apply(
        self, changes: Sequence[Change], *, by: str, why: str = ""
    ) -> tuple[StepResult, ...]:
        """Write chosen changes, each read back; `why` where it isn't done for the plan."""
        ...

    async def settle(self) -> tuple[StepResult, ...]:
        """Settle steps in doubt by reading."""
        ...

    async def tick(self, room: str, item: str, *, by: str, said: str = "") -> None:
        """Write down that a person did an item."""
        ...

    async def sign(self, room: str, *, name: str, role: str, exceptions: Mapping[str, str]) -> None:
        """Accept a room in a person's name."""
        ...

    async def walk_room(self, room: str) -> None:
        """Run one room of the lap."""
        ...

    async def finish_lap(self) -> None:
        """Work out what the walked rooms prove."""
        ...

    async def issue(self, folder: Path, *, by: str) -> Path:
        """Issue the hand-over record."""
        ...
