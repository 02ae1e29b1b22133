"""kill -9 at every moment of an apply and of a restore over three units: every step ends known.

Each run is a real process that is killed at one moment, and a new one that settles by reading, has what is
partly done resumed or rolled back, and does what is left. The table lies in out/crash-walk.txt.
"""

import asyncio
import json
import shutil
import sys
from collections import Counter, defaultdict
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from fleet.jobs.comparing import agree
from tests.architecture.source_rules import ROOT
from tests.faults.walked_apply import RESTORED, WANTED
from tests.faults.walked_units import FIRST, House, served
from tests.peers.scattered_server import PLATE

WALKERS = 2
LIMIT_S = 240
REMEDIES = ("resume", "roll back")
STEPS = {"apply": 5, "restore": 4}
HEAD = (
    "work", "killed at", "points", "runs", "steps done", "not done", "partly done", "not begun",
    "settled by reading", "resumed", "rolled back", "in doubt", "rows lost",
)  # fmt: skip


@dataclass
class Walker:
    """A house of units, and the program whose children work on it."""

    house: House
    urls: dict[str, str]
    process: asyncio.subprocess.Process

    async def do(self, work, place, own=0, gate=0) -> int:
        """Do a task; return how the child ended. `own` and `gate`: the moment to die at."""
        self.house.gate.reset(gate)
        task = {"work": work, "place": str(place), "urls": self.urls, "point": own}
        self.process.stdin.write((json.dumps(task) + "\n").encode())
        await self.process.stdin.drain()
        self.house.gate.aim_at(int(await self.process.stdout.readline()))
        return int(await self.process.stdout.readline())

    async def done(self, work, place):
        """Do a task to its end; return what came of it."""
        assert await self.do(work, place) == 0
        return json.loads((place / "result.json").read_text(encoding="utf-8"))


@dataclass
class Tally:
    """What the runs came to, by the moment they were killed at."""

    work: str
    rows: dict[str, Counter] = field(default_factory=lambda: defaultdict(Counter))

    def table(self):
        for moment, row in sorted(self.rows.items()):
            yield (self.work, moment, *(str(row[column]) for column in HEAD[2:]))


@asynccontextmanager
async def walker():
    house = House()
    async with served(house) as urls:
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-m",
            "tests.faults.walked_apply",
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            cwd=ROOT,
        )
        try:
            yield Walker(house, urls, process)
        finally:
            process.stdin.close()
            await process.wait()


async def walk(work, start, state, walkers) -> Tally:
    """Be killed at every moment of a work, beginning from a folder and a state of the units."""
    first = walkers[0]
    first.house.reset(state)
    counted = shutil.copytree(start, start.with_name(f"{work}-counted"))
    own = sum((await first.done(work, counted)).values())
    gate = len(first.house.gate.passed)
    points = [(number, 0) for number in range(1, own + 1)]
    points += [(0, number) for number in range(1, gate + 1)]
    tally = Tally(work)

    async def go(walker):
        while points:
            own, gate = points.pop()
            place = start.with_name(f"{work}-{own}-{gate}")
            walker.house.reset(state)
            shutil.copytree(start, place)
            await be_killed_and_settle(walker, tally, place, own, gate)
            shutil.rmtree(place)

    async with asyncio.TaskGroup() as group:
        for walker in walkers:
            group.create_task(go(walker))
    return tally


async def be_killed_and_settle(walker, tally, place, own, gate) -> None:
    work = tally.work
    assert await walker.do(work, place, own, gate) == -9
    moment = killed_at(walker, place)
    acknowledged = lines_of(place / "acknowledged")
    remedy = REMEDIES[(own + gate) % 2]
    result = await walker.done(f"settle {work} {remedy}", place)
    row, known = tally.rows[moment], Counter(result["known"])
    lost = hold(walker, work, result, acknowledged)
    begun = STEPS["apply"] if work == "restore" else 0  # the apply that is restored from
    row["points"] += 1
    row["runs"] += 2
    row["steps done"] += known["done"] - begun
    row["not done"] += known["not done"]
    row["partly done"] += known["partly done"]
    row["not begun"] += STEPS[work] + begun - known.total()
    row["settled by reading"] += len(result["settled"])
    row[{"resume": "resumed", "roll back": "rolled back"}[remedy]] += len(result["remedied"])
    row["in doubt"] += result["open"]
    row["rows lost"] += len(lost)


def hold(walker, work, result, acknowledged) -> set[str]:
    """Hold what came of a run against what must be; return the rows that are lost."""
    intended = [key for what, key, _ in result["journal"] if what == "step-intended"]
    concluded = {key: state for what, key, state in result["journal"] if what == "step-concluded"}
    assert list(concluded) == intended
    assert set(concluded.values()) <= {"done", "not done", "partly done"}
    assert len(result["settled"]) == result["doubtful"]
    assert "in doubt" not in result["settled"]
    assert all(result["said"])
    assert set(result["remedied"]) <= {"done"}
    assert (result["left"], result["broken"]) == (0, None)
    assert result["unaccounted"] == []
    told = {f"intent {key}" for key in intended} | {f"outcome {key}" for key in concluded}
    assert walker.house.needless() == []
    for serial, items in WANTED.items():
        as_wanted = work == "apply" or serial not in RESTORED
        stand = [
            agree(key, value, result["sheets"][serial].get(key)) for key, value in items.items()
        ]
        assert all(stand) if as_wanted else not any(stand)
    if work == "restore":
        first = House.at_first()
        assert walker.house.first.held["settings"] == first[FIRST]["settings"]
        assert walker.house.scattered.values == first[PLATE]
    return set(acknowledged) - told


def killed_at(walker, place) -> str:
    """Return the moment in words."""
    path = place / "killed-at"
    return path.read_text(encoding="utf-8") if path.exists() else walker.house.gate.passed[-1]


def lines_of(path) -> list[str]:
    return path.read_text(encoding="utf-8").splitlines() if path.exists() else []


def table(rows) -> str:
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEAD))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    )


async def walk_all(folder: Path) -> list[Tally]:
    async with AsyncExitStack() as stack:
        await stack.enter_async_context(asyncio.timeout(LIMIT_S))
        walkers = [await stack.enter_async_context(walker()) for _ in range(WALKERS)]
        for number, one in enumerate(walkers):
            await one.done("prepare", folder / f"prepared-{number}")
        start = folder / "prepared-0"
        applied = await walk("apply", start, House.at_first(), walkers)
        later = shutil.copytree(start, folder / "applied")
        walkers[0].house.reset(House.at_first())
        await walkers[0].done("apply", later)
        state = walkers[0].house.state()
        (later / "acknowledged").unlink()
        return [applied, await walk("restore", later, state, walkers)]


@pytest.mark.slow
def test_an_apply_and_a_restore_killed_at_every_moment_end_known_and_are_finished(tmp_path):
    tallies = asyncio.run(walk_all(tmp_path))
    rows = [HEAD, *(row for tally in tallies for row in tally.table())]
    sums = Counter()
    for tally in tallies:
        for row in tally.rows.values():
            sums.update(row)
    rows.append(("all", "", *(str(sums[column]) for column in HEAD[2:])))
    out = ROOT / "out" / "crash-walk.txt"
    out.parent.mkdir(exist_ok=True)
    out.write_text(table(rows) + "\n", encoding="utf-8")
    print(table(rows))  # noqa: T201 - the count tried is to be seen
    assert (sums["in doubt"], sums["rows lost"]) == (0, 0)
    assert sums["points"] > 150
    assert sums["partly done"] > 10
    assert min(sums["resumed"], sums["rolled back"]) > 3
    assert min(sums["steps done"], sums["not begun"]) > 100
    assert sums["not done"] > 20
