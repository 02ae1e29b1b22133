"""The part of a visit in memory that updates, restores and swaps units."""

from dataclasses import replace

from fleet.engine.applying import StepResult
from fleet.engine.campaign_plan import CampaignPlan
from fleet.engine.rehearsing import Rehearsal
from fleet.engine.settling import Remedy
from fleet.engine.shelf_keys import ShelfLook
from fleet.jobs.install_rules import RefusalKind
from fleet.jobs.restoring import restore_plan
from fleet.jobs.waves import Candidate, key_of, plan_waves
from fleet.model.errors import PlanError
from fleet.model.firmware import Campaign, CampaignState, CampaignTerms
from fleet.model.journal import StepState
from fleet.shelf.trust import TrustWord
from tests.ui.invented import AT
from tests.ui.invented_updates import (
    KEY,
    ORIGINS,
    PARTLY_ITEMS,
    SHELF,
    TRUSTED_KEY,
    kept_of,
    swap_of,
)


class FakeUpdates:
    """Mixed into the fake visit: each operation changes what the next snapshot says.

    Attributes:
        words: by fingerprint, the last word on a key.
        newer: labels of units that run a newer build than any on the shelf.
    """

    def __init__(self):
        self.words = {KEY: TRUSTED_KEY}
        self.newer = ()

    async def open_shelf(self, folder):
        self.done.append(("open_shelf", folder))
        if folder.name != "shelf":
            raise PlanError(
                "no manifest lies there.", subject=str(folder), stands="Nothing was sent."
            )
        word = self.words.get(KEY)
        return ShelfLook(folder, KEY, word, SHELF if word and word.trusted else ())

    async def shelf_keys(self):
        return tuple(self.words.values())

    async def trust_key(self, fingerprint, *, by, why):
        self.done.append(("trust_key", fingerprint, by, why))
        self.words[fingerprint] = TrustWord(fingerprint, True, by, why, AT)

    async def distrust_key(self, fingerprint, *, by, why):
        self.done.append(("distrust_key", fingerprint, by, why))
        self.words[fingerprint] = TrustWord(fingerprint, False, by, why, AT)

    async def plan_campaign(
        self, version, serials, *, bench, at_once, dwell_s, pull, file="", downgrade_why=""
    ):
        asked = ("plan_campaign", version, tuple(serials), tuple(bench), at_once, dwell_s, pull)
        self.done.append((*asked, downgrade_why) if downgrade_why else asked)
        image = next(one.image for one in SHELF if one.image.file == file)
        vouched = {entry[2] for entry in self.done if entry[0] == "vouch"}
        left_out, refusals, candidates = {}, {}, []
        for serial in serials:
            unit = self.house.units[serial]
            key = key_of(unit.found.sheet)
            if unit.line.label == "U05" and key not in vouched:
                left_out["U05"] = f"nobody has vouched for {image.version} there: somebody has to"
                refusals["U05"] = RefusalKind.UNKNOWN
            elif unit.line.label in self.newer and not downgrade_why:
                left_out[unit.line.label] = (
                    "the image's sequence 40 is lower than the unit's, 44: going back is a person's "
                    "decision"
                )
                refusals[unit.line.label] = RefusalKind.SEQUENCE
            else:
                kind = next(r.kind for r in self.house.plan.rooms if r.key == unit.line.room)
                candidates.append(Candidate(serial, unit.line.label, key, unit.line.room, kind))
        labels = {self.house.units[serial].line.label for serial in bench}
        terms = CampaignTerms(at_once, dwell_s, pull, bool(downgrade_why), "", downgrade_why)
        return CampaignPlan(image, terms, plan_waves(candidates, labels), left_out, refusals)

    async def start_campaign(self, campaign, *, by):
        self.done.append(("start_campaign", campaign.image.version, by))
        begun = Campaign(
            1, campaign.image, CampaignState.RUNNING, campaign.updates, by, "", campaign.terms
        )
        self.change(replace(self.house, campaign=begun))

    async def pause_campaign(self):
        self._stand("pause_campaign", CampaignState.PAUSED)

    async def resume_campaign(self, *, by, why="", shelf=None):
        more = () if shelf is None else (shelf,)
        self._stand("resume_campaign", CampaignState.RUNNING, by, why, *more)

    async def stop_campaign(self):
        self._stand("stop_campaign", CampaignState.STOPPED)

    async def vouch(self, image, key, *, word, by, reason):
        self.done.append(("vouch", image.version, key, word, by, reason))

    async def dry_run(self, changes):
        self.done.append(("dry_run", tuple(change.key for change in changes)))
        return tuple(
            Rehearsal(change.label, "settings", True, "would be written", (change.key,))
            for change in changes
        )

    async def put_right(self, key, remedy, *, by):
        self.done.append(("put_right", key, remedy, by))
        if remedy is Remedy.ROLL_BACK:
            return StepResult(
                "U03", "settings", StepState.PARTLY, "only some of it", PARTLY_ITEMS, key
            )
        self._finish(key)
        return StepResult("U03", "settings", StepState.DONE, "read back", key=key)

    async def let_be(self, key, *, by, reason):
        self.done.append(("let_be", key, by, reason))
        self._finish(key)

    async def kept_sheets(self, serial):
        return kept_of(self.house, serial)

    async def plan_restore(self, serial, key):
        self.done.append(("plan_restore", serial, key))
        kept = next(one for one in kept_of(self.house, serial) if one.key == key)
        unit = self.house.units[serial]
        return restore_plan(unit.found, kept.sheet, label=unit.line.label)

    async def where_from(self, serial):
        self.done.append(("where_from", serial))
        return ORIGINS

    async def plan_swap(self, label, serial, *, kind=None, mount=None, chosen_areas=()):
        self.done.append(("plan_swap", label, serial, kind, mount, tuple(chosen_areas)))
        more = {"kind": kind, "mount": mount, "chosen_areas": chosen_areas}
        return swap_of(self.house, label, serial, **more)

    async def swap(self, plan, *, by, why):
        self.done.append(("swap", plan, by, why))

    def _stand(self, what, state, *more):
        self.done.append((what, *more))
        self.change(replace(self.house, campaign=replace(self.house.campaign, state=state)))

    def _finish(self, key):
        left = tuple(one for one in self.house.unfinished if one.key != key)
        self.change(replace(self.house, unfinished=left))
