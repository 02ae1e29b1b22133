"""The verbs `apply`, `restore` and `journal` from end to end, against three invented units."""

import asyncio
import hashlib
import json

from fleet.inventory.inventory import open_inventory
from tests.faults.applied_house import HOLD, site
from tests.inventories import CountingClock
from tests.peers.scattered_server import PLATE


async def test_a_dry_run_lists_what_would_be_written_and_sends_nothing_but_reads(tmp_path):
    async with site(tmp_path) as at:
        before = at.house.state()
        done = await at.here("apply", "--dry-run", "--all", *at.wholes)
        assert done.code == 1
        rows = [line.split() for line in done.out.splitlines()]
        assert rows[0] == ["unit", "item", "as", "left", "found", "planned", "reason", "disrupts"]
        assert rows[1][:7] == ["U1", HOLD, "–", "30", "45", "the", "plan"]
        assert "would send settings, whole, only over" in done.out
        assert "Waits for a person's choice" in done.out
        assert "somebody changed it on site since it was left" in done.out
        assert at.house.state() == before
        with open_inventory(at.data(), CountingClock()) as inventory:
            kinds = {row.what for row in inventory.journal()}
        assert kinds == {"site-added", "sighted", "read"}


async def test_only_what_is_to_apply_is_written_and_the_rest_waits(tmp_path):
    async with site(tmp_path) as at:
        done = await at.here("apply", "--all", "--yes", "--by", "A. Fitter", *at.wholes)
        assert done.code == 1
        assert f"U1 settings: done: read back: {HOLD} 45" in done.out
        assert at.house.first.held["settings"]["hold"] == 45
        assert at.house.second.puts == []
        named = await at.here("apply", "U1", "--yes", *at.wholes)
        assert (named.code, "Nothing to apply." in named.out) == (0, True)


async def test_a_choice_needs_a_reason_and_decides_the_rest(tmp_path):
    async with site(tmp_path) as at:
        words = ("apply", "--take-planned", f"U2:{HOLD}", "--yes", "--by", "A", *at.wholes)
        without = await at.here(*words)
        assert (without.code, at.house.second.puts) == (3, [])
        assert "who chooses it, and why, has to be said" in without.err
        taken = await at.here(*words, "--reason", "the client agreed")
        assert taken.code == 0
        assert at.house.second.held["settings"]["hold"] == 60
        with open_inventory(at.data(), CountingClock()) as inventory:
            (row,) = inventory.journal_of("decided")
        assert (row.detail["take"], row.detail["why"]) == ("planned", "the client agreed")


async def test_what_was_found_is_kept_and_nothing_is_written(tmp_path):
    async with site(tmp_path) as at:
        words = ("apply", "--keep-found", f"U2:{HOLD}", "--yes", "--reason", "asked for")
        kept = await at.here(*words, *at.wholes)
        assert kept.code == 0
        assert at.house.second.puts == []
        again = await at.here("apply", "--dry-run", "U2", *at.wholes)
        assert "Nothing to apply." in again.out


async def test_a_wrong_command_line_ends_with_2_and_a_wrong_item_with_3(tmp_path):
    async with site(tmp_path) as at:
        assert (await at.here("apply", *at.wholes)).code == 2
        assert (await at.here("apply", "--all", *at.wholes)).code == 2
        wrong = await at.here("apply", "U1:setting.no_such", "--yes", *at.wholes)
        assert (wrong.code, "it isn't pending" in wrong.err) == (3, True)
        lost = await at.here("restore", "U9", "--list")
        assert (lost.code, "no unit of that label or serial" in lost.err) == (3, True)


async def test_a_step_that_was_cut_off_is_told_and_resumed_or_rolled_back(tmp_path, monkeypatch):
    async with site(tmp_path) as at:
        unit = at.house.scattered
        with monkeypatch.context() as patched:
            patched.setattr(type(unit), "is_sound", lambda _self, name, _value: name != "linger")
            cut = await at.here("apply", "U3", "--yes", *at.scattered)
        assert cut.code == 1
        assert "U3 settings: partly done:" in cut.out
        told = await at.here("apply", "U3", "--dry-run", *at.scattered)
        (key,) = {word for word in told.out.split() if word.startswith("step-")}
        back = await at.here("apply", "--roll-back", key, "--yes", *at.scattered)
        assert back.code == 0
        assert (unit.values["reach"], unit.values["linger"]) == (450, 30)
        none = await at.here("apply", "--resume", key, "--yes", *at.scattered)
        assert (none.code, "no step of that key is partly done" in none.err) == (3, True)


async def test_a_unit_is_restored_as_found_and_read_back(tmp_path):
    async with site(tmp_path) as at:
        await at.here("apply", "U1", "--yes", *at.wholes)
        await at.here("apply", "U3", "--yes", *at.scattered)
        listed = await at.here("restore", "U1", "--list", "--json")
        kept = json.loads(listed.out)
        assert [sheet["kind"] for sheet in kept] == ["as found", "found"]
        assert [sheet["items"][HOLD] for sheet in kept] == [30, 45]
        dry = await at.here("restore", "U1", "--to", "as-found", "--dry-run", *at.wholes)
        assert (dry.code, f"would be written: {HOLD} 30" in dry.out) == (0, True)
        assert at.house.first.held["settings"]["hold"] == 45
        back = await at.here("restore", "U1", "--to", "as-found", "--yes", *at.wholes)
        assert back.code == 0
        assert at.house.first.held["settings"]["hold"] == 30
        again = await at.here("restore", "U1", "--to", kept[1]["sheet"], "--yes", *at.wholes)
        assert (again.code, at.house.first.held["settings"]["hold"]) == (0, 45)
        pieces = await at.here("restore", PLATE, "--to", "as-found", "--yes", *at.scattered)
        assert (pieces.code, at.house.scattered.values["linger"]) == (0, 30)
        none = await at.here("restore", "U1", "--to", "1999-12-31", "--dry-run", *at.wholes)
        assert (none.code, "no such sheet is kept" in none.err) == (3, True)


async def test_the_journal_is_checked_by_hashlib_and_by_sha256sum_alone(tmp_path):
    async with site(tmp_path) as at:
        await at.here("apply", "U1", "--yes", *at.wholes)
        shown = await at.here("journal", "show", "--json")
        checked = json.loads((await at.here("journal", "check", "--json")).out)
        lines = shown.out.splitlines()
        previous = ""
        for number, line in enumerate(lines, 1):
            row = json.loads(line)
            assert (row["number"], row["previous"]) == (number, previous)
            previous = hashlib.sha256(line.encode()).hexdigest()
        assert checked == {"rows": len(lines), "head": previous, "whole": True, "complaints": []}
        path = tmp_path / "journal.jsonl"
        path.write_text(shown.out, encoding="utf-8")
        recipe = 'while IFS= read -r line; do printf %s "$line" | sha256sum; done < "$0"'
        sums = await asyncio.create_subprocess_exec(
            "/bin/bash", "-c", recipe, str(path), stdout=asyncio.subprocess.PIPE
        )
        assert (await sums.communicate())[0].split()[-2].decode() == previous
        kept = await at.here("journal", "check", "--head", previous)
        assert (kept.code, "whole" in kept.out) == (0, True)
        of_unit = await at.here("journal", "show", "--json", "--unit", "U1")
        assert {json.loads(line)["subject"] for line in of_unit.out.splitlines()} == {"W-1"}
        assert "step-intended" in (await at.here("journal", "show", "--unit", "U1")).out
