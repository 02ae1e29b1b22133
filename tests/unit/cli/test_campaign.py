"""`walkdown campaign`: waves before it begins, a line a unit, what another process asks, exit codes."""

import argparse
import asyncio
import json
from datetime import date

import pytest

from fleet.cli import campaign
from fleet.cli.campaign_words import plan_in_words
from fleet.cli.saying import DONE, REPORTED
from fleet.engine.campaign_plan import CampaignPlan
from fleet.engine.campaign_requests import Request, ask, asked, take_away
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.model.firmware import CampaignTerms, UnitUpdate, Wave
from fleet.simulator.running import running_house
from fleet.simulator.truth import FirmwareFault
from tests.campaigns import TOLD, container, house_clock, house_of, shelf_with, site_of


def arguments(data, *words):
    parser = argparse.ArgumentParser()
    campaign.add_arguments(parser)
    return parser.parse_args([*map(str, words), "--data", str(data)])


class House:
    """A house that runs, its shelf trusted in its inventory, and the verb on it."""

    def __init__(self, folder, place, shelf):
        self.data, self.shelf = folder / "data", shelf
        self.addresses = [word for unit in place.units for word in ("--address", unit.url)]
        self.terms = ("--shelf", shelf.path, "--version", "2.1.3")

    async def verb(self, *words):
        return await asyncio.to_thread(campaign.run, arguments(self.data, *words))

    async def start(self, *words):
        return await self.verb("start", *self.terms, "--yes", "--by", "T", *self.addresses, *words)


async def with_house(folder, count, work, faults=None):
    plan, truth = house_of(count, faults=faults)
    clock, shelf = house_clock(30.0), shelf_with(folder, container(50_000))
    with open_inventory(folder / "data", house_clock(1.0)) as inventory:
        inventory.add_site(plan)
        detail = {"by": "T", "why": "told by phone"}
        inventory.append("shelf-key-trusted", shelf.fingerprint, detail)
    async with running_house(plan, truth, clock=clock, announce=False) as place:
        if work is not None:
            await work(House(folder, place, shelf))


@pytest.fixture
def on_loop(monkeypatch):
    """The verb runs in a thread here, where no signal can be waited for."""
    monkeypatch.setattr(asyncio.SelectorEventLoop, "add_signal_handler", lambda *_: None)
    monkeypatch.setattr(asyncio.SelectorEventLoop, "remove_signal_handler", lambda *_: True)


async def test_waves_are_shown_units_updated_and_a_gate_waits_for_a_reason(
    tmp_path, capsys, on_loop
):
    async def work(house):
        assert await house.start("--dwell", "0", "--bench", "N002") == REPORTED
        said = capsys.readouterr().out
        assert "bench (1, one after another; no failure in 1 still allows 95.0 %" in said
        assert "N002  on the bench  R4 tracking 5.0" in said
        assert "people there should be told" in said
        assert "How long 2.1.3 is mended its maker doesn't say." in said
        assert "N002: sending the image" in said
        assert "N002: runs its old build: it says 'rolled-back'" in said
        assert "Campaign 1 (2.1.3): waits at a gate." in said
        assert await house.verb("status") == REPORTED
        assert "1 runs its old build, 1 waiting" in capsys.readouterr().out
        again = ("resume", "--by", "T", *house.addresses)
        assert await house.verb(*again) == REPORTED
        assert await house.verb(*again, "--why", "a bad board") == REPORTED
        assert "Campaign 1 (2.1.3): done." in capsys.readouterr().out
        assert await house.verb("status", "--json") == REPORTED
        document = json.loads(capsys.readouterr().out)
        assert [unit["state"] for unit in document["units"]] == ["runs its old build", "done"]
        assert document["units"][0]["accepted"]
        assert await house.verb("stop", "--by", "T") == REPORTED

    await with_house(tmp_path, 2, work, {"N002": FirmwareFault.BOOT_FAILED})


async def test_a_faultless_campaign_ends_with_done(tmp_path, capsys, on_loop):
    async def work(house):
        assert await house.start("--dwell", "0", "--pull") == DONE
        assert "N001: done: runs 2.1.3" in capsys.readouterr().out
        assert await house.start("--dwell", "0") == REPORTED
        assert "left out: N001: the unit runs 2.1.3 already." in capsys.readouterr().out

    await with_house(tmp_path, 1, work)


async def test_a_plan_sends_nothing_and_says_who_is_left_out(tmp_path, capsys):
    async def work(house):
        assert await house.verb("plan", *house.terms) == REPORTED
        said = capsys.readouterr().out
        assert "left out: N001: it was never read" in said
        assert "No unit is left to update." in said
        with pytest.raises(PlanError, match="no unit of that label"):
            await house.verb("plan", *house.terms, "--units", "N001,X9")
        with pytest.raises(PlanError, match=r"no image of 9\.9"):
            await house.verb("plan", "--shelf", house.shelf.path, "--version", "9.9")

    await with_house(tmp_path, 1, work)


async def test_an_older_build_needs_a_reason_before_anything_is_sent(tmp_path):
    async def work(house):
        for why in ((), ("--why", " ")):
            with pytest.raises(PlanError, match="why an older build is meant"):
                await house.start("--allow-downgrade", *why)
        with open_inventory(house.data, house_clock(1.0)) as inventory:
            assert inventory.campaigns.one() is None

    await with_house(tmp_path, 1, work)


async def test_a_reason_for_an_older_build_is_kept_with_the_campaign(tmp_path, capsys, on_loop):
    async def work(house):
        words = ("--allow-downgrade", "--why", "2.2 loses still people", "--dwell", "0")
        assert await house.start(*words) == DONE
        said = capsys.readouterr().out
        assert "CAUTION: units may go back to an older build. Reason: 2.2 loses" in said
        with open_inventory(house.data, house_clock(1.0)) as inventory:
            assert inventory.campaigns.one().terms.downgrade_why == "2.2 loses still people"

    await with_house(tmp_path, 1, work)


async def test_a_shelf_that_nobody_trusts_is_not_used(tmp_path):
    async def work(house):
        with open_inventory(house.data, house_clock(1.0)) as inventory:
            detail = {"by": "T", "why": "stolen"}
            inventory.append("shelf-key-distrusted", house.shelf.fingerprint, detail)
        with pytest.raises(PlanError, match="nobody here trusts"):
            await house.start()

    await with_house(tmp_path, 1, work)


async def test_pause_and_stop_ask_the_program_that_runs_it_or_end_it_here(tmp_path, capsys):
    await with_house(tmp_path, 1, None)
    data, plan = tmp_path / "data", house_of(1)[0]
    with pytest.raises(PlanError, match="no such campaign"):
        campaign.run(arguments(data, "pause"))
    async with site_of(data, plan, [], house_clock(1.0), None) as parts:
        image = shelf_with(tmp_path / "other", container(50_000)).images[0]
        parts.inventory.campaigns.begin(image, _terms(), _updates(), by="T")
        # Whoever opens the inventory a second time can only read, as another process can.
        assert campaign.run(arguments(data, "stop")) == DONE
        assert asked(data, 1) is Request.STOP
        take_away(data)
    capsys.readouterr()
    assert campaign.run(arguments(data, "pause", "--by", "T")) == DONE
    assert "T paused it." in capsys.readouterr().out
    assert campaign.run(arguments(data, "stop", "--by", "T")) == DONE
    assert "Campaign 1 (2.1.3): stopped." in capsys.readouterr().out


def _terms():
    return CampaignTerms()


def _updates():
    return (UnitUpdate("NN-00000", "N001", "R3 tracking 5.0", Wave.BENCH),)


def test_nobody_at_the_terminal_has_to_say_yes_beforehand(tmp_path, monkeypatch):
    monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
    with pytest.raises(PlanError, match="nobody is at the terminal"):
        campaign.run(arguments(tmp_path, "start", "--shelf", tmp_path, "--version", "1"))


def test_a_request_is_for_one_campaign_and_any_other_text_is_none(tmp_path):
    assert asked(tmp_path, 1) is None
    ask(tmp_path, 1, Request.PAUSE)
    assert asked(tmp_path, 1) is Request.PAUSE
    assert asked(tmp_path, 2) is None
    (tmp_path / "campaign-request").write_bytes(b"1 burn\xff")
    assert asked(tmp_path, 1) is None
    take_away(tmp_path)
    take_away(tmp_path)
    assert asked(tmp_path, 1) is None


@pytest.mark.parametrize("words", [("--at-once", "0"), ("--dwell", "-1"), ("--at-once", "x")])
def test_a_rate_and_a_dwell_time_have_bounds(words, tmp_path, capsys):
    with pytest.raises(SystemExit):
        arguments(tmp_path, "plan", "--shelf", "s", "--version", "1", *words)
    assert words[0] in capsys.readouterr().err


def test_units_that_are_left_out_for_one_reason_stand_in_one_line():
    plan = CampaignPlan(
        TOLD, CampaignTerms(), (), {"N1": "not read", "N2": "older", "N3": "not read"}
    )
    said = plan_in_words(plan, {}, date(2026, 11, 25)).splitlines()
    assert [line for line in said if line.startswith("left out")] == [
        "left out: N1, N3: not read.",
        "left out: N2: older.",
    ]
