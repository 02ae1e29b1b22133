"""`walkdown demo`: the simulated house, in the workbench or, without a screen, the whole job by itself."""

import argparse
import asyncio
import os
import sys
from pathlib import Path

from fleet.cli.demo_job import run_whole_job
from fleet.cli.demo_start import DemoPlace, demo_start
from fleet.cli.saying import DONE, say
from fleet.model.errors import PlanError
from fleet.shipped import resources

DEFAULT_SPEED = 20.0
DEFAULT_OUT = Path("out")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("--headless", action="store_true", help="do the whole job without a window")
    parser.add_argument("--out", type=Path, metavar="DIR", help="a new folder for what it makes")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="of the house's chances")
    parser.add_argument("--house", type=Path, metavar="DIR", help="folder of another house")
    parser.add_argument(
        "--clock", type=float, default=DEFAULT_SPEED, metavar="N", help="times faster (20)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Open the demo, or do its job."""
    out = arguments.out or _free_folder(DEFAULT_OUT)
    _refuse_taken(out)
    place = DemoPlace(
        out=out,
        data=arguments.data or out / "inventory",
        house=arguments.house or resources() / "houses" / "marlpit",
        seed=arguments.seed,
        speed=arguments.clock,
    )
    if not arguments.headless and _has_display() and arguments.open_workbench is not None:
        return int(arguments.open_workbench(demo_start(place)))
    if not arguments.headless:
        say("There is no display here, so the demo does the job without a window.")
    asyncio.run(run_whole_job(place))
    return DONE


def _has_display() -> bool:
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _free_folder(parent: Path) -> Path:
    number = 1
    while (parent / f"demo-{number}").exists():
        number += 1
    return parent / f"demo-{number}"


def _refuse_taken(out: Path) -> None:
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise PlanError(
            "the folder is not empty.",
            subject=str(out),
            stands="Nothing in it was touched.",
            next_step="Name a new folder with --out.",
        )
