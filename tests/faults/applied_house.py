"""The house of three units as a site with a plan, for programs that apply and restore in it."""

import asyncio
import contextlib
import io
import sys
from collections.abc import AsyncIterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from fleet.cli.main import main
from fleet.inventory.inventory import open_inventory
from tests.architecture.source_rules import ROOT
from tests.faults.walked_units import FIRST, SECOND, House, served
from tests.inventories import CountingClock, line, small_plan
from tests.peers.scattered_server import PLATE

HOLD = "setting.hold_time_s"
LIMIT_S = 60


def plan():
    """U1 is to hold 45 s; U2 was left with the planned 60 s and holds 30; U3 is scattered."""
    base = small_plan("Invented Lodge")
    left = {"U2": {HOLD: 60, "setting.max_distance_mm": 4000}}
    visit = replace(base.visits[0], as_left=left, rooms=(), soaks=())
    far = {"hold_time_s": 60, "max_distance_mm": 5000}
    return replace(
        base,
        units=(
            line("U1", FIRST, settings={"hold_time_s": 45}, areas=()),
            line("U2", SECOND, settings={"hold_time_s": 60}, areas=()),
            line("U3", PLATE, "loft", settings=far, areas=()),
        ),
        visits=(visit,),
    )


@dataclass(frozen=True)
class Done:
    """How a program ended."""

    code: int
    out: str
    err: str


@dataclass(frozen=True)
class Site:
    """The house while it is served, and the words that name its units' addresses."""

    house: House
    urls: dict[str, str]
    folder: Path

    @property
    def wholes(self) -> list[str]:
        return [word for serial in (FIRST, SECOND) for word in ("--address", self.urls[serial])]

    @property
    def scattered(self) -> list[str]:
        return ["--address", self.urls[PLATE], "--profile", "scattered-polling"]

    def data(self, name="data") -> Path:
        """Return an inventory's folder; made with the plan in it where it is missing."""
        path = self.folder / name
        if not path.exists():
            with open_inventory(path, CountingClock()) as inventory:
                inventory.add_site(plan())
        return path

    async def here(self, *words, data="data") -> Done:
        """Run the program to its end within this process, in a thread and a loop of its own."""
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
        argv = [words[0], "--data", str(self.data(data)), *words[1:]]
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr("sys.stdout", out)
            patched.setattr("sys.stderr", err)
            patched.setattr("sys.stdin", io.StringIO())
            code = await asyncio.to_thread(_code_of, argv)
        return Done(code, *(_text_of(stream) for stream in (out, err)))

    async def walkdown(self, *words, data="data") -> Done:
        """Run the program to its end, in a process of its own."""
        process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "ui.start", words[0], "--data", str(self.data(data)),
            *words[1:],
            stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE,
            cwd=ROOT,
        )  # fmt: skip
        out, err = await process.communicate()
        return Done(process.returncode, out.decode(), err.decode())


def _code_of(argv) -> int:
    try:
        return main(argv)
    except SystemExit as usage:
        return usage.code


def _text_of(stream) -> str:
    stream.flush()
    return stream.buffer.getvalue().decode()


@contextlib.asynccontextmanager
async def site(folder) -> AsyncIterator[Site]:
    house = House()
    async with asyncio.timeout(LIMIT_S), served(house) as urls:
        yield Site(house, urls, folder)
