"""Starting the simulated house as a process beside this one, and ending it again."""

import asyncio
import contextlib
import json
import os
import sys
import tempfile
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fleet.model.errors import LinkError

READY_WITHIN_S = 30.0
POLL_S = 0.05


@dataclass(frozen=True, slots=True)
class SimulatedHouse:
    """A running house: where its units answer, its stage port, how many units it has."""

    address: str
    stage_host: str
    stage_port: int
    units: int


def own_address() -> str:
    """Return a loopback address of this process's own, so that two demos don't hear each other.

    Linux answers on all of 127.0.0.0/8; elsewhere the one loopback address has to do.
    """
    if not sys.platform.startswith("linux"):
        return "127.0.0.1"
    number = os.getpid() % (1 << 22)
    return f"127.{64 + (number >> 16)}.{(number >> 8) & 255}.{max(number & 255, 1)}"


@contextlib.asynccontextmanager
async def simulated_house(
    folder: Path, *, seed: int, speed: float, address: str
) -> AsyncIterator[SimulatedHouse]:
    """Run a house's units until the context is left.

    Args:
        folder: with plan.json and truth.json.
        seed: of all that is left to chance in it.
        speed: house seconds a wall second.
        address: loopback address that its units answer on.

    Raises:
        LinkError: it doesn't come up.
    """
    with tempfile.TemporaryDirectory(prefix="walkdown-") as scratch:
        ready = Path(scratch, "ready.json")
        words = ["--house", str(folder), "--seed", str(seed), "--clock", str(speed)]
        words += ["--address", address, "--ready", str(ready), "--with-parent"]
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-m",
            "fleet.simulator",
            *words,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.DEVNULL,
        )
        try:
            yield await _ready(process, ready, address)
        finally:
            await _end(process)


async def _ready(process: asyncio.subprocess.Process, ready: Path, address: str) -> SimulatedHouse:
    try:
        async with asyncio.timeout(READY_WITHIN_S):
            while process.returncode is None:
                said = await asyncio.to_thread(_said, ready)
                if said is not None:
                    stage = said["stage"]
                    units = len(said["units"])
                    return SimulatedHouse(address, stage["host"], int(stage["port"]), units)
                await asyncio.sleep(POLL_S)
    except TimeoutError:
        pass
    raise LinkError(
        "the simulated house didn't come up.",
        stands="Nothing was written.",
        next_step="Look above for what it said, and start the demo again.",
    )


def _said(ready: Path) -> dict[str, Any] | None:
    try:
        return dict(json.loads(ready.read_text(encoding="utf-8")))
    except FileNotFoundError:
        return None


async def _end(process: asyncio.subprocess.Process) -> None:
    if process.stdin is not None:
        process.stdin.close()
    with contextlib.suppress(ProcessLookupError):
        process.terminate()
    await process.wait()
