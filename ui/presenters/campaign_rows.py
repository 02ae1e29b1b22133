"""A campaign under way: a row for each wave with its gate, and a row for each unit."""

from collections.abc import Sequence
from dataclasses import dataclass

from fleet.jobs.gates import FAILED, OPEN, RUN_IT, current_wave, proven
from fleet.jobs.update_time import campaign_left_s, duration
from fleet.model.firmware import Campaign, CampaignState, UnitUpdate, UpdateState, Wave
from fleet.model.snapshot import HouseState, ItemState
from ui.presenters.words import count_words, sentence

NO_CAMPAIGN = (
    "No build was brought to this house yet. A campaign takes one image through the units, wave by wave, "
    "and stops by itself where one fails."
)
_STATES = {
    UpdateState.WAITING: ItemState.TO_DO,
    UpdateState.RUNNING: ItemState.TO_DO,
    UpdateState.IN_DOUBT: ItemState.LOOK,
    UpdateState.DONE: ItemState.SHOWN,
    UpdateState.ALREADY: ItemState.SHOWN,
    UpdateState.REFUSED: ItemState.NOT_TESTED,
    UpdateState.OLD_BUILD: ItemState.LOOK,
    UpdateState.NOT_RECOVERED: ItemState.WRONG,
}
_WHOLE_PPM = 1_000_000


@dataclass(frozen=True, slots=True)
class UpdateRow:
    """A row of the campaign's list: a unit, or a wave and its gate.

    Attributes:
        key: serial of the unit, or the wave's words.
        head: the unit's label, or the wave.
        room: the room's name; "" for a wave.
        word, state: how it stands. said: a sentence, "" for none.
        share: how far it is, 0 to 1; None where no bar is shown.
        left: how long it may still take, "" for nothing.
        wave: whether it is a wave's row.
    """

    key: str
    head: str
    room: str
    word: str
    state: ItemState
    said: str
    share: float | None = None
    left: str = ""
    wave: bool = False


def campaign_rows(house: HouseState) -> tuple[UpdateRow, ...]:
    """Return the rows of the campaign: each wave, and below it its units in the order of their turn."""
    campaign = house.campaign
    if campaign is None:
        return ()
    names = {room.key: room.name for room in house.plan.rooms}
    rows: list[UpdateRow] = []
    for wave in Wave:
        members = [update for update in campaign.updates if update.wave is wave]
        if members:
            rows.append(_gate(campaign, wave, members))
            rows += [_unit(update, names.get(update.room, "")) for update in members]
    return tuple(rows)


def campaign_title(house: HouseState) -> str:
    """Say which campaign it is."""
    campaign = house.campaign
    return f"Campaign {campaign.number}: {campaign.image.version}" if campaign else "Campaign"


def campaign_note(house: HouseState) -> str:
    """Say how the campaign stands: "running · 4 of 14 have an end · 12 min left · by A. N."."""
    campaign = house.campaign
    if campaign is None:
        return "No campaign yet."
    ended = sum(update.state not in OPEN for update in campaign.updates)
    parts = [campaign.state.value, f"{ended} of {count_words(len(campaign.updates), 'unit')} ended"]
    if campaign.state not in (CampaignState.DONE, CampaignState.STOPPED):
        parts.append(f"about {duration(campaign_left_s(campaign))} left")
    if campaign.terms.allow_downgrade:
        parts.append("an older build is meant")
    return " · ".join([*parts, f"begun by {campaign.by}"])


def ended_ppm(campaign: Campaign | None) -> int:
    """Return the share of the units that have an end."""
    if campaign is None or not campaign.updates:
        return 0
    ended = sum(update.state not in OPEN for update in campaign.updates)
    return round(_WHOLE_PPM * ended / len(campaign.updates))


def proof_words(house: HouseState) -> str:
    """Say what the results so far prove, and why the campaign stands where it does."""
    campaign = house.campaign
    if campaign is None:
        return ""
    said, proof = sentence(campaign.said), proven(campaign.updates)
    # What a campaign says as it ends tells what that proves already.
    return said if proof in said else f"{said} {proof}".strip()


def lost_units(house: HouseState) -> tuple[str, ...]:
    """Return what has to be shouted: each unit that isn't recovered, and what to do about it."""
    if house.campaign is None:
        return ()
    names = {room.key: room.name for room in house.plan.rooms}
    return tuple(
        f"{update.label}, {names.get(update.room, 'on the bench')}: NOT RECOVERED. {sentence(update.said)}"
        for update in house.campaign.updates
        if update.state is UpdateState.NOT_RECOVERED
    )


def found_open_words(campaign: Campaign) -> str:
    """Offer to go on with a campaign that was open when the visit began."""
    ended = sum(update.state not in OPEN for update in campaign.updates)
    doubtful = [
        u.label for u in campaign.updates if u.state in (UpdateState.RUNNING, UpdateState.IN_DOUBT)
    ]
    cut = f" {', '.join(doubtful)} will be read first, before anything is sent." if doubtful else ""
    return (
        f"This campaign was open when the visit began: {campaign.image.version}, begun by {campaign.by}, "
        f"{ended} of {count_words(len(campaign.updates), 'unit')} ended.{cut} Go on with it?"
    )


def needs_reason(campaign: Campaign) -> bool:
    """Say whether going on accepts failures, so that a person has to say why."""
    return any(update.state in FAILED and not update.accepted for update in campaign.updates)


def offers(campaign: Campaign | None, *, found_open: bool = False) -> tuple[bool, bool, bool, bool]:
    """Say what can be pressed: pause, resume, stop, and a new campaign.

    Args:
        campaign: the last one.
        found_open: it was open when the visit began, so nobody runs it, whatever was kept of it.
    """
    if campaign is None or campaign.state in (CampaignState.DONE, CampaignState.STOPPED):
        return False, False, False, True
    running = campaign.state is CampaignState.RUNNING and not found_open
    return running, not running, True, False


def row_words(row: UpdateRow) -> str:
    """Say a whole row in one sentence, for a screen reader."""
    share = "" if row.share is None else f"{100 * row.share:.0f} %"
    parts = (row.head, row.room, row.word, share, row.left, row.said)
    return ", ".join(part for part in parts if part)


def _unit(update: UnitUpdate, room: str) -> UpdateRow:
    away = update.state in (UpdateState.RUNNING, UpdateState.IN_DOUBT)
    share = (update.done_ppm or 0) / _WHOLE_PPM if away else None
    word = f"{update.state.value}, accepted" if update.accepted else update.state.value
    stage = update.stage.value if away and not update.said else ""
    left = f"{duration(update.left_s)} left" if away and update.left_s is not None else ""
    return UpdateRow(
        key=update.serial,
        head=update.label,
        room=room or "on the bench",
        word=word,
        state=_STATES[update.state],
        said=update.said or stage,
        share=share,
        left=left,
    )


def _gate(campaign: Campaign, wave: Wave, members: Sequence[UnitUpdate]) -> UpdateRow:
    ended = sum(update.state not in OPEN for update in members)
    passed = sum(update.state in RUN_IT for update in members)
    failed = sum(update.state in FAILED and not update.accepted for update in members)
    counted = f"{passed} of {len(members)} passed"
    title = wave.value.capitalize()
    if ended < len(members):
        now = current_wave(campaign.updates) is wave
        word = "its turn" if now else "waits for the gate before it"
        checks = f"Checked of each before the next wave: {_checks(campaign)}."
        return UpdateRow(wave.value, title, "", word, ItemState.TO_DO, checks, wave=True)
    if failed or not passed:
        said = f"{counted}. Checked: {_checks(campaign)}."
        return UpdateRow(wave.value, title, "", "gate shut", ItemState.WRONG, said, wave=True)
    said = f"{counted}: {_checks(campaign)}. {_proof(members)}"
    return UpdateRow(wave.value, title, "", "gate passed", ItemState.SHOWN, said, wave=True)


def _checks(campaign: Campaign) -> str:
    dwell = duration(campaign.terms.dwell_s)
    return (
        f"new build confirmed, settings and areas read back as found, reports flowing and none lost for "
        f"{dwell}"
    )


def _proof(members: Sequence[UnitUpdate]) -> str:
    said = proven(members)
    return f"What that proves: {said[0].lower()}{said[1:]}"
