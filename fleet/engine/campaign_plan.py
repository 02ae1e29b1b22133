"""Planning a campaign from what the inventory knows: which units, in which order, who is left out."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from fleet.inventory.inventory import Inventory
from fleet.jobs.install_rules import Refusal, RefusalKind, check_install
from fleet.jobs.matching_builds import MATCH_SAID, MatchKey, MatchSaid, said_in
from fleet.jobs.waves import Candidate, key_of, plan_waves
from fleet.model.errors import PlanError
from fleet.model.firmware import CampaignTerms, Image, UnitUpdate
from fleet.model.house import HousePlan, PlannedUnit
from fleet.model.units import Reading
from fleet.shelf.opening import Shelf


@dataclass(frozen=True, slots=True)
class CampaignPlan:
    """A campaign before it begins.

    Attributes:
        image, terms: what is installed, and how.
        updates: units in the order of their turn.
        left_out: label of each unit that was asked for and isn't updated → why, in words.
        refusals: label → the kind of refusal, of those of them that were refused by the rules.
    """

    image: Image
    terms: CampaignTerms
    updates: tuple[UnitUpdate, ...]
    left_out: Mapping[str, str]
    refusals: Mapping[str, RefusalKind] = field(default_factory=dict)


def plan_campaign(
    inventory: Inventory,
    image: Image,
    terms: CampaignTerms,
    *,
    labels: Collection[str] = (),
    bench: Collection[str] = (),
    met: Collection[str] | None = None,
) -> CampaignPlan:
    """Plan a campaign from the last readings; sends nothing.

    Args:
        inventory: with its site chosen.
        image, terms: what is installed, and how.
        labels: which units; () for all of the schedule.
        bench: labels of units that lie on the bench.
        met: serials of the units that answer now; None where nobody was asked.

    Raises:
        PlanError: there is no site, or a label isn't on the schedule.
    """
    plan = inventory.plan()
    chosen = _chosen(plan, {*labels, *bench} if labels else ())
    _hold_labels(plan, bench)
    readings = inventory.readings()
    said = said_in(inventory.journal_of(MATCH_SAID))
    left_out: dict[str, str] = {}
    refusals: dict[str, RefusalKind] = {}
    for line in chosen:
        reading = readings.get(line.serial)
        if reading is None:
            left_out[line.label] = "it was never read: start reads it"
        elif against := _against(said, plan, image, terms, reading):
            left_out[line.label], refusals[line.label] = against.said, against.kind
        elif met is not None and line.serial not in met:
            left_out[line.label] = "it doesn't answer now"
    kinds = {room.key: room.kind for room in plan.rooms}
    candidates = [
        Candidate(
            line.serial,
            line.label,
            key_of(readings[line.serial].sheet),
            "" if line.label in bench else line.room,
            None if line.label in bench else kinds[line.room],
        )
        for line in chosen
        if line.label not in left_out
    ]
    return CampaignPlan(image, terms, plan_waves(candidates, bench), left_out, refusals)


def image_named(shelf: Shelf, version: str, file: str = "") -> Image:
    """Return the image of a version on a shelf.

    Raises:
        PlanError: there is none, or several and no file is named.
    """
    found = [one for one in shelf.images if one.version == version and file in {"", one.file}]
    if len(found) == 1:
        return found[0]
    if not found:
        there = ", ".join(sorted({one.version for one in shelf.images})) or "none"
        said, do = f"it has no image of {version}.", f"It has: {there}."
    else:
        files = ", ".join(one.file for one in found)
        said, do = f"it has {len(found)} images of {version}.", f"Name one by --image: {files}."
    raise PlanError(said, subject=str(shelf.path), stands="Nothing was sent.", next_step=do)


def _chosen(plan: HousePlan, labels: Collection[str]) -> list[PlannedUnit]:
    _hold_labels(plan, labels)
    return [line for line in plan.units if not labels or line.label in labels]


def _hold_labels(plan: HousePlan, labels: Collection[str]) -> None:
    known = {line.label for line in plan.units}
    for label in sorted(set(labels) - known):
        raise PlanError(
            "there is no unit of that label on the schedule.",
            subject=label,
            stands="Nothing was sent.",
            next_step="See the schedule for the labels.",
        )


def _against(
    said: Mapping[MatchKey, MatchSaid],
    plan: HousePlan,
    image: Image,
    terms: CampaignTerms,
    reading: Reading,
) -> Refusal | None:
    return check_install(
        image,
        reading.sheet,
        reading.other,
        plan.matches,
        said,
        allow_downgrade=terms.allow_downgrade,
    )
