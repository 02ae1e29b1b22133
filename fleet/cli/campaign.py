"""`walkdown campaign plan|start|status|pause|resume|stop`: a firmware image over the units of a site."""

import argparse
import asyncio
import signal
import sys
from collections.abc import Awaitable, Callable, Mapping
from pathlib import Path

from fleet.cli.campaign_arguments import add_campaign_arguments, terms_of
from fleet.cli.campaign_words import (
    end_in_words,
    plan_in_words,
    status_document,
    status_in_words,
    step_in_words,
)
from fleet.cli.clocks import real_clock
from fleet.cli.reached import Reached, name_of, reached
from fleet.cli.saying import DONE, FAILED, REPORTED, say, say_error, say_json
from fleet.cli.shelf import known_keys
from fleet.engine.campaign_plan import CampaignPlan, image_named, plan_campaign
from fleet.engine.campaign_requests import Request, ask
from fleet.engine.campaign_run import CampaignMeans, CampaignRun
from fleet.inventory.inventory import Inventory, open_inventory
from fleet.jobs.gates import RUN_IT
from fleet.model.errors import PlanError
from fleet.model.firmware import Campaign, CampaignState, UnitUpdate, UpdateStage, UpdateState
from fleet.shelf.opening import Shelf, open_shelf

_ASKED = {"pause": Request.PAUSE, "stop": Request.STOP}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    add_campaign_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Do what the second word says."""
    verbs: Mapping[str, Callable[[argparse.Namespace], int]] = {
        "plan": _plan,
        "start": _start,
        "status": _status,
        "resume": _resume,
        "pause": _ask_or_settle,
        "stop": _ask_or_settle,
    }
    return verbs[arguments.campaign_verb](arguments)


def _plan(arguments: argparse.Namespace) -> int:
    shelf = open_shelf(arguments.shelf, known_keys(arguments.data))
    with open_inventory(arguments.data, real_clock()) as inventory:
        plan = _planned(arguments, inventory, shelf)
        say(plan_in_words(plan, _rooms(inventory), real_clock().now().date()))
    return REPORTED if plan.left_out or not plan.updates else DONE


def _start(arguments: argparse.Namespace) -> int:
    if not (arguments.yes or sys.stdin.isatty()):
        raise PlanError(
            "nobody is at the terminal to be asked.",
            stands="Nothing was sent.",
            next_step="Look at walkdown campaign plan, then add --yes.",
        )
    if arguments.allow_downgrade and not arguments.why.strip():
        raise PlanError(
            "why an older build is meant has to be said.",
            stands="Nothing was sent.",
            next_step="Add --why REASON; it stands in the journal.",
        )
    shelf = open_shelf(arguments.shelf, known_keys(arguments.data))
    return asyncio.run(_started(arguments, shelf))


async def _started(arguments: argparse.Namespace, shelf: Shelf) -> int:
    by = name_of(arguments)
    async with reached(arguments) as ground:
        plan = _planned(arguments, ground.inventory, shelf, set(ground.reception.fleet.addresses))
        say(plan_in_words(plan, _rooms(ground.inventory), real_clock().now().date()))
        if not plan.updates:
            return REPORTED
        shelf.image_bytes(plan.image)
        if not (arguments.yes or await asyncio.to_thread(_agreed)):
            say("Nothing was sent.")
            return REPORTED
        campaign = ground.inventory.campaigns.begin(plan.image, plan.terms, plan.updates, by=by)
        return await _run(ground, campaign, shelf, by=by, why="")


def _resume(arguments: argparse.Namespace) -> int:
    campaign = _known(arguments)
    shelf = open_shelf(arguments.shelf or Path(campaign.terms.shelf), known_keys(arguments.data))

    async def go_on() -> int:
        async with reached(arguments, _serials(campaign)) as ground:
            by, why = name_of(arguments), arguments.why
            return await _run(ground, campaign, shelf, by=by, why=why)

    return asyncio.run(go_on())


def _ask_or_settle(arguments: argparse.Namespace) -> int:
    """Leave a word for the program that runs the campaign; where none does, settle and end it here."""
    campaign, request = _known(arguments), _ASKED[arguments.campaign_verb]
    with open_inventory(arguments.data, real_clock()) as inventory:
        if inventory.read_only:
            ask(arguments.data, campaign.number, request)
            say(f"Asked: {request.value}. Units that are being updated get their end first.")
            return DONE
        if not any(update.state in (*_CUT_OFF,) for update in campaign.updates):
            return _ended(inventory, campaign, request, name_of(arguments))

    async def settle() -> int:
        async with reached(arguments, _serials(campaign)) as ground:
            by = name_of(arguments)
            return await _run(ground, campaign, None, by=by, why="", request=request)

    return asyncio.run(settle())


_CUT_OFF = (UpdateState.RUNNING, UpdateState.IN_DOUBT)


def _ended(inventory: Inventory, campaign: Campaign, request: Request, by: str) -> int:
    if campaign.state in (CampaignState.DONE, CampaignState.STOPPED):
        say(end_in_words(campaign))
        return REPORTED
    state = CampaignState.STOPPED if request is Request.STOP else CampaignState.PAUSED
    word = "stopped" if request is Request.STOP else "paused"
    inventory.campaigns.save_state(campaign.number, state, f"{by} {word} it.", by=by)
    say(end_in_words(inventory.campaigns.one(campaign.number) or campaign))
    return DONE


def _status(arguments: argparse.Namespace) -> int:
    campaign = _known(arguments)
    if arguments.json:
        say_json(status_document(campaign))
    else:
        say(status_in_words(campaign))
    return _code(campaign)


async def _run(
    ground: Reached,
    campaign: Campaign,
    shelf: Shelf | None,
    *,
    by: str,
    why: str,
    request: Request | None = None,
) -> int:
    """Run a campaign to its end, a gate or a pause; Ctrl-C pauses, a second one breaks off."""

    def octets() -> bytes:
        if shelf is None:
            raise PlanError("no shelf was opened.")
        return shelf.image_bytes(campaign.image)

    fleet = ground.reception.fleet
    means = CampaignMeans(ground.inventory, fleet, real_clock(), octets)
    running = CampaignRun(means, campaign, _Teller().tell)
    if request is not None:
        running.ask(request)
    ended = await _interruptible(running.run(by=by, why=why), running)
    say(end_in_words(ended))
    return _code(ended)


async def _interruptible(work: Awaitable[Campaign], running: CampaignRun) -> Campaign:
    task = asyncio.ensure_future(work)
    asked: list[int] = []

    def interrupt() -> None:
        asked.append(1)
        if len(asked) == 1:
            running.ask(Request.PAUSE)
            say_error(
                "pausing: units that are being updated get their end first. Again: break off."
            )
        else:
            task.cancel()

    loop = asyncio.get_running_loop()
    loop.add_signal_handler(signal.SIGINT, interrupt)
    try:
        return await task
    except asyncio.CancelledError:
        raise KeyboardInterrupt from None
    finally:
        loop.remove_signal_handler(signal.SIGINT)


class _Teller:
    """Prints a line for each thing that is begun with a unit, and for its end."""

    def __init__(self) -> None:
        self._said: dict[str, tuple[UpdateState, UpdateStage]] = {}

    def tell(self, campaign: Campaign, update: UnitUpdate) -> None:
        """Print what is new."""
        now = update.state, update.stage
        if self._said.get(update.serial) != now:
            self._said[update.serial] = now
            say(step_in_words(campaign, update))


def _planned(
    arguments: argparse.Namespace,
    inventory: Inventory,
    shelf: Shelf,
    met: set[str] | None = None,
) -> CampaignPlan:
    image = image_named(shelf, arguments.version, arguments.image)
    terms, labels = terms_of(arguments), arguments.units
    return plan_campaign(inventory, image, terms, labels=labels, bench=arguments.bench, met=met)


def _known(arguments: argparse.Namespace) -> Campaign:
    with open_inventory(arguments.data, real_clock()) as inventory:
        campaign = inventory.campaigns.one(arguments.number)
    if campaign is None:
        raise PlanError(
            "there is no such campaign.",
            stands="Nothing was sent.",
            next_step="Begin one: walkdown campaign plan, then walkdown campaign start.",
        )
    return campaign


def _serials(campaign: Campaign) -> list[str]:
    return [update.serial for update in campaign.updates if update.state not in RUN_IT]


def _rooms(inventory: Inventory) -> dict[str, str]:
    return {room.key: room.name for room in inventory.plan().rooms}


def _agreed() -> bool:
    return input("Begin? [y/N] ").strip().lower() in ("y", "yes")


def _code(campaign: Campaign) -> int:
    if campaign.state is CampaignState.DONE:
        well = all(update.state in RUN_IT for update in campaign.updates)
        return DONE if well else REPORTED
    in_doubt = any(update.state is UpdateState.IN_DOUBT for update in campaign.updates)
    return FAILED if in_doubt else REPORTED
