"""The jobs column: four groups of lines, each naming its subject, the reason and one thing to do."""

from dataclasses import dataclass

from fleet.model.snapshot import HouseState, Job
from ui.presenters.drift_rows import build_count, build_jobs
from ui.presenters.partly_rows import partly_jobs
from ui.presenters.swap_rows import swap_jobs
from ui.presenters.words import count_words, item_words

_GROUPS = (
    ("builds", "Builds", "Every build that was read is the approved one."),
    ("settings", "Settings and areas", "Every unit that was read holds what the plan says."),
    ("sign-off", "Sign-off", "Every room is signed: issue the record."),
    ("snags", "Snags", "Nothing wrong was found. What wasn't walked can still hide something."),
)
_NOTHING_READ = "No unit was read yet: press Scan."
_NO_ROOMS = "No rooms yet: start a site from a plan file."


@dataclass(frozen=True, slots=True)
class JobGroup:
    """A group of jobs: its heading, how many, and what an empty one says."""

    key: str
    title: str
    count: str
    jobs: tuple[Job, ...]
    when_empty: str


def job_groups(house: HouseState, room: str = "") -> tuple[JobGroup, ...]:
    """Return the four groups, of one room or of the whole house.

    Args:
        house: the state.
        room: key of the room; "" for the whole house.
    """
    return tuple(_group(house, room, *group) for group in _GROUPS)


def job_title(job: Job) -> str:
    """Say a job's subject; an item of a sheet in words."""
    label, _, rest = job.title.partition(" ")
    if job.group == "settings" and "." in rest:
        return f"{label} {item_words(rest).lower()}"
    return job.title


def job_words(job: Job) -> str:
    """Say a whole job in one sentence, for a screen reader."""
    return f"{job_title(job)}, {job.state}: {job.reason}"


def _group(house: HouseState, room: str, key: str, title: str, when_empty: str) -> JobGroup:
    jobs = _jobs_of(house, room, key)
    count = count_words(len(jobs), "job") if jobs else "none"
    if key == "builds":
        count = build_count(house, room) or count
    return JobGroup(key, title, count, jobs, _said_when_empty(house, key, when_empty))


def _jobs_of(house: HouseState, room: str, key: str) -> tuple[Job, ...]:
    if key == "builds":
        return build_jobs(house, room)
    jobs = tuple(j for j in house.jobs if j.group == key and (not room or j.room == room))
    if key == "settings":
        return (*partly_jobs(house, room), *jobs)
    return (*swap_jobs(house, room), *jobs) if key == "snags" else jobs


def _said_when_empty(house: HouseState, key: str, when_empty: str) -> str:
    if not house.plan.rooms:
        return _NO_ROOMS
    read = any(unit.found is not None for unit in house.units.values())
    return when_empty if read or key == "sign-off" else _NOTHING_READ
