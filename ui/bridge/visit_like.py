"""What the window asks of a running visit, so that a test may stand in for the engine."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Protocol

from fleet.engine.applying import StepResult
from fleet.model.journal import Change
from fleet.model.snapshot import Snapshot


class VisitLike(Protocol):
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

    async def scan(self, seconds: float) -> int:
        """Listen for units; return how many were met."""
        ...

    async def add_address(self, url: str) -> str:
        """Meet the unit at an address; return its serial."""
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
        self, serial: str, key: str, *, keep_found: bool, reason: str, by: str
    ) -> None:
        """Settle an item that somebody changed on site."""
        ...

    async def apply(self, changes: Sequence[Change], *, by: str) -> tuple[StepResult, ...]:
        """Write chosen changes, each read back."""
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
