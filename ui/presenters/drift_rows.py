"""Drift in the jobs column: a line for each way in which builds stand apart, with what to do about it."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from fleet.model.firmware import Campaign, CampaignState, DriftLine
from fleet.model.snapshot import HouseState, ItemState, Job
from ui.presenters.words import count_words

CURRENT = "current"
UPDATE, LOOK, OPEN = "Update …", "Look", "Open"
CAMPAIGN_KEY = "campaign"
DRIFT_KEY, _MOST_NAMED = "drift:", 4
_TO_UPDATE = ("behind", "support ended")
_ENDED = (CampaignState.DONE, CampaignState.STOPPED)
_WRONG = ("wrong hardware", "support ended")
_ORDER = ("wrong hardware", "support ended", "behind", "unknown build", "ahead", "nothing approved")


def is_open(campaign: Campaign | None) -> bool:
    """Say whether a campaign has no end yet."""
    return campaign is not None and campaign.state not in _ENDED


def build_jobs(house: HouseState, room: str = "") -> tuple[Job, ...]:
    """Return the lines of the group Builds: the campaign, drift by kind, and matches nobody knows.

    Args:
        house: the state.
        room: key of the room; "" for the whole house.
    """
    lines = [line for line in house.drift if not room or line.room == room]
    told = {line.label for line in lines if line.word != CURRENT}
    others = [
        job
        for job in house.jobs
        if job.group == "builds"
        and (not room or job.room == room)
        and not (job.unit in told and job.key.endswith("build-behind"))
    ]
    return (*_campaign_jobs(house.campaign), *_drift_jobs(house, lines), *others)


def build_count(house: HouseState, room: str = "") -> str:
    """Say how many builds drift: "1 of 14 drifts"; "" where nobody says."""
    lines = [line for line in house.drift if not room or line.room == room]
    apart = sum(line.word != CURRENT for line in lines)
    if not lines:
        return ""
    return f"{apart} of {len(lines)} {'drifts' if apart == 1 else 'drift'}"


def serials_of(house: HouseState, job: Job) -> tuple[str, ...]:
    """Return the serials of the units that a drift line is about."""
    return tuple(line.serial for line in _lines_of(house, job) if line.serial)


def drift_sentences(house: HouseState, job: Job) -> tuple[str, ...]:
    """Return a sentence for each unit that a drift line is about."""
    return tuple(f"{line.label} {_one_said(line)}." for line in _lines_of(house, job))


def read_words(read_at: datetime | None) -> str:
    """Say when a build was read: "read 25 Nov 2026 09:30 UTC"."""
    return "never read" if read_at is None else f"read {read_at:%d %b %Y %H:%M} UTC"


def _campaign_jobs(campaign: Campaign | None) -> Iterable[Job]:
    if campaign is None or not is_open(campaign):
        return
    state = ItemState.LOOK if campaign.state is CampaignState.AT_GATE else ItemState.TO_DO
    said = campaign.said or f"{count_words(len(campaign.updates), 'unit')}, by {campaign.by}"
    yield Job(
        CAMPAIGN_KEY,
        "builds",
        "",
        "",
        f"Campaign {campaign.number}: {campaign.image.version}",
        f"{campaign.state.value}; {said}",
        OPEN,
        state,
    )


def _drift_jobs(house: HouseState, lines: Sequence[DriftLine]) -> Iterable[Job]:
    words = {line.word for line in lines if line.word != CURRENT}
    for word in sorted(words, key=_rank):
        yield _drift_job(house, word, [line for line in lines if line.word == word])


def _drift_job(house: HouseState, word: str, lines: Sequence[DriftLine]) -> Job:
    first, alone = lines[0], len(lines) == 1
    return Job(
        key=f"{DRIFT_KEY}{word}",
        group="builds",
        room=first.room if len({line.room for line in lines}) == 1 else "",
        unit=first.label if alone else "",
        title=f"{first.label if alone else count_words(len(lines), 'unit')} {word}",
        reason=_one_said(first) if alone else _all_said(lines),
        action=UPDATE if word.startswith(_TO_UPDATE) and _may_update(house) else LOOK,
        state=ItemState.WRONG if word in _WRONG else ItemState.LOOK,
    )


def _lines_of(house: HouseState, job: Job) -> list[DriftLine]:
    word = job.key.removeprefix(DRIFT_KEY)
    return [
        line
        for line in house.drift
        if line.word == word and (not job.room or line.room == job.room)
    ]


def _may_update(house: HouseState) -> bool:
    return not house.read_only and not is_open(house.campaign)


def _one_said(line: DriftLine) -> str:
    if line.reason.startswith("runs "):  # it names the builds itself
        return f"{line.reason}; {read_words(line.read_at)}"
    runs = line.running or "an unknown build"
    approved = f", approved {line.approved}" if line.approved else ""
    return f"runs {runs}{approved}: {line.reason}; {read_words(line.read_at)}"


def _all_said(lines: Sequence[DriftLine]) -> str:
    """Labels, why the first stands so, and the oldest reading: a value's age is always said."""
    labels = [line.label for line in lines]
    more = f" and {len(labels) - _MOST_NAMED} more" if len(labels) > _MOST_NAMED else ""
    read = [line.read_at for line in lines]
    known = [at for at in read if at is not None]
    oldest = read_words(None if len(known) < len(read) else min(known))
    return f"{', '.join(labels[:_MOST_NAMED])}{more}: {lines[0].reason}; the oldest {oldest}"


def _rank(word: str) -> tuple[int, int]:
    """Return the place of a word; of those behind, the farthest first."""
    place = next((at for at, one in enumerate(_ORDER) if word.startswith(one)), len(_ORDER))
    last = word.rpartition(" ")[2]
    return place, -int(last) if last.isdecimal() else 0
