"""Runs a simulated house in a process of its own: `python -m fleet.simulator --house DIR`.

One JSON line a unit on standard output when all are ready, then it runs until SIGTERM or SIGINT, or,
with `--with-parent`, until its standard input closes.
"""

import argparse
import asyncio
import contextlib
import json
import os
import signal
import sys
import time
from collections.abc import AsyncIterator, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from fleet.model.clock import HouseClock
from fleet.model.errors import PlanError
from fleet.shipped import resources
from fleet.simulator.chance import MILLION
from fleet.simulator.faults import with_firmware_faults
from fleet.simulator.house import load_house
from fleet.simulator.running import Place, running_house

DONE, USAGE, COULD_NOT = 0, 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a house; return 0 when it was stopped, 3 when it couldn't be started."""
    options = _options(arguments)
    try:
        asyncio.run(_run(options))
    except (PlanError, OSError) as reason:
        sys.stderr.write(f"{reason}\n")
        return COULD_NOT
    return DONE


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m fleet.simulator", description=__doc__)
    marlpit = resources() / "houses" / "marlpit"
    parser.add_argument("--house", type=Path, default=marlpit, help="folder with both files")
    parser.add_argument("--seed", type=int, default=1, help="of all that is left to chance")
    parser.add_argument("--clock", type=_speed, default=1.0, help="house seconds a second")
    parser.add_argument("--address", default="127.0.0.1", help="loopback address to serve on")
    parser.add_argument("--ready", type=Path, help="file to write when all are ready")
    parser.add_argument("--no-mdns", action="store_true", help="don't announce the units")
    parser.add_argument("--with-parent", action="store_true", help="end when stdin closes")
    parser.add_argument(
        "--bandwidth-bps",
        type=_whole,
        default=0,
        metavar="N",
        help="bits a second in which all units together take firmware in; 0 for no bound",
    )
    parser.add_argument(
        "--firmware-fault-ppm",
        type=_share,
        default=0,
        metavar="N",
        help="share of the units that get a firmware fault; which one is said when they are ready",
    )
    return parser.parse_args(arguments)


def _whole(text: str) -> int:
    number = int(text)
    if number < 0:
        raise argparse.ArgumentTypeError("it can't be below 0")
    return number


def _share(text: str) -> int:
    ppm = _whole(text)
    if ppm > MILLION:
        raise argparse.ArgumentTypeError("a share is at most 1000000 parts a million")
    return ppm


def _speed(text: str) -> float:
    speed = float(text)
    if not 0 < speed <= 1000:  # noqa: PLR2004 - a bound that is said in the message
        raise argparse.ArgumentTypeError("the clock runs 1 to 1000 times as fast")
    return speed


async def _run(options: argparse.Namespace) -> None:
    plan, truth = load_house(options.house)
    clock = HouseClock(datetime.now(UTC), time.monotonic(), time.monotonic, options.clock)
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(number, stop.set)
    async with contextlib.AsyncExitStack() as stack:
        if options.with_parent:
            await stack.enter_async_context(_parent_watched(stop))
        house = running_house(
            plan,
            with_firmware_faults(truth, options.firmware_fault_ppm, options.seed),
            clock=clock,
            seed=options.seed,
            address=options.address,
            announce=not options.no_mdns,
            bandwidth_bps=options.bandwidth_bps,
        )
        place = await stack.enter_async_context(house)
        _say_ready(place, options.ready)
        await stop.wait()


@contextlib.asynccontextmanager
async def _parent_watched(stop: asyncio.Event) -> AsyncIterator[None]:
    """End the house when the pipe from the parent closes, so that no orphan is left."""
    reader = asyncio.StreamReader()
    transport, _ = await asyncio.get_running_loop().connect_read_pipe(
        lambda: asyncio.StreamReaderProtocol(reader), sys.stdin
    )

    async def watch() -> None:
        while await reader.read(1024):
            pass
        stop.set()

    watching = asyncio.create_task(watch())
    try:
        yield
    finally:
        watching.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await watching
        transport.close()


def _say_ready(place: Place, ready: Path | None) -> None:
    """Write the file first: who has read the lines finds it."""
    units = [asdict(unit) for unit in place.units]
    if ready is not None:
        stage = {"host": place.stage_host, "port": place.stage_port}
        draft = ready.with_name(f"{ready.name}.{os.getpid()}")
        draft.write_text(json.dumps({"stage": stage, "units": units}), encoding="utf-8")
        draft.replace(ready)
    sys.stdout.write("".join(json.dumps(unit) + "\n" for unit in units))
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
