"""`walkdown drift`: how the units' builds stand, and which houses to visit for a new one."""

import argparse
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.drift_words import (
    house_document,
    house_in_words,
    visits_document,
    visits_in_words,
)
from fleet.cli.saying import DONE, REPORTED, USAGE, say, say_error, say_json
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.jobs.drift import HouseDrift, house_drift
from fleet.jobs.matching_builds import MATCH_SAID, said_in
from fleet.jobs.visits import Pace, VisitPlan, visits_for
from fleet.model.all_sites import SiteUnits
from fleet.model.errors import PlanError
from fleet.model.firmware import Image
from fleet.shelf.manifest import printable
from fleet.shelf.opening import open_shelf
from fleet.shelf.trust import KEY_DISTRUSTED, KEY_TRUSTED, trusted_keys

MOST_MINUTE_DIGITS = 4


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    pace = Pace()
    add = parser.add_argument
    add("--all-sites", action="store_true", help="every site of the inventory, not the current one")
    add("--image", metavar="VERSION", help="which houses to visit for this build of the shelf")
    add("--shelf", type=Path, metavar="SHELF", help="a shelf that is signed and trusted")
    add(
        "--arrive-min",
        type=_minutes,
        metavar="MIN",
        default=pace.arrive_min,
        help="minutes for a visit as such",
    )
    add(
        "--unit-min", type=_minutes, metavar="MIN", default=pace.unit_min, help="minutes for a unit"
    )
    add(
        "--room-min",
        type=_minutes,
        metavar="MIN",
        default=pace.room_min,
        help="minutes for a room's walk",
    )
    add("--json", action="store_true", help="print JSON for scripts")


def run(arguments: argparse.Namespace) -> int:
    """Print how builds stand, or the visits for a build."""
    if arguments.image and arguments.shelf is None:
        say_error("--image names a build of a shelf: name the shelf too, with --shelf SHELF.")
        return USAGE
    clock = real_clock()
    with open_inventory(arguments.data, clock) as inventory:
        sites = _sites(inventory, all_sites=arguments.all_sites)
        images = _images(inventory, arguments.shelf)
        said = said_in(inventory.journal_of(MATCH_SAID))
    if not arguments.image:
        return _print_drift([house_drift(site, images, clock.now()) for site in sites], arguments)
    pace = Pace(arguments.arrive_min, arguments.unit_min, arguments.room_min)
    plans = [
        (image, visits_for(image, sites, said, clock.now(), pace))
        for image in _chosen(images, arguments.image, arguments.shelf)
    ]
    return _print_visits(plans, arguments, clock.now())


def _minutes(text: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > MOST_MINUTE_DIGITS:
        raise argparse.ArgumentTypeError("minutes are a whole number, 0 or more")
    return int(text)


def _sites(inventory: Inventory, *, all_sites: bool) -> tuple[SiteUnits, ...]:
    sites, current = inventory.all_sites(), inventory.site_name
    if not sites:
        raise PlanError("there is no site yet.", next_step="Add one: walkdown site add PLAN")
    return sites if all_sites else tuple(site for site in sites if site.name == current)


def _images(inventory: Inventory, shelf: Path | None) -> tuple[Image, ...]:
    if shelf is None:
        return ()
    trusted = trusted_keys(inventory.journal_of(KEY_TRUSTED, KEY_DISTRUSTED))
    return open_shelf(shelf, trusted).images


def _chosen(images: Sequence[Image], version: str, shelf: Path) -> list[Image]:
    chosen = [image for image in images if image.version == version]
    if not chosen:
        there = ", ".join(dict.fromkeys(printable(image.version) for image in images))
        raise PlanError(
            f"{version} is not on the shelf.",
            subject=str(shelf),
            next_step=f"Choose one of: {there or 'none is there'}.",
        )
    return chosen


def _print_drift(houses: Sequence[HouseDrift], arguments: argparse.Namespace) -> int:
    if arguments.json:
        say_json([house_document(house) for house in houses])
    else:
        for house in houses:
            say(house_in_words(house))
    return DONE if all(house.current for house in houses) else REPORTED


def _print_visits(
    plans: Sequence[tuple[Image, tuple[VisitPlan, ...]]],
    arguments: argparse.Namespace,
    now: datetime,
) -> int:
    if arguments.json:
        say_json([visits_document(image, visits, now) for image, visits in plans])
    else:
        for image, visits in plans:
            say("\n".join(visits_in_words(image, visits)))
    return REPORTED if any(visits for _, visits in plans) else DONE
