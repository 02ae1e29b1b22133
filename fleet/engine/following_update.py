"""Following an installation to its end, by reading alone: nothing is sent that changes the unit."""

from dataclasses import dataclass

from fleet.engine.installation_values import RunningBuild, read_build
from fleet.engine.installation_watch import InstallationWatch, LinkTo
from fleet.jobs.install_rules import runs
from fleet.jobs.update_outcomes import Ending, Runs, Seen, StageLimits, judge, needs_build
from fleet.model.clock import Clock
from fleet.model.errors import WalkdownError
from fleet.model.firmware import Image, Installation
from fleet.model.sheets import Sheet

LOOK_EVERY_S = 2.0
"""House seconds between two reads where nothing new is heard."""


@dataclass(frozen=True, slots=True)
class Followed:
    """An installation that is followed.

    Attributes:
        link: gives the way to the unit, which may change when it starts anew.
        image: what it installs.
        as_found: its sheet before.
        before: its progress before it was told to install.
    """

    link: LinkTo
    image: Image
    as_found: Sheet
    before: Installation


async def follow(
    followed: Followed, watch: InstallationWatch, clock: Clock, limits: StageLimits
) -> tuple[Ending, str]:
    """Wait until an installation has an end, or said nothing new for too long; return that, and why."""
    began_s = clock.monotonic_s()
    watch.forget()
    while True:
        seen = await _seen(followed, watch)
        ending, why = judge(seen, followed.image, limits)
        if ending is not Ending.GOES_ON:
            return ending, why
        if clock.monotonic_s() - began_s > limits.whole:
            return Ending.LOST, f"it has been at it for {round(limits.whole)} s"
        await watch.news(LOOK_EVERY_S)


def what_runs(build: RunningBuild, image: Image, as_found: Sheet) -> Runs:
    """Return what a unit runs, against an image and its sheet before."""
    if runs(image, build.sheet):
        return Runs.NEW_UNCONFIRMED if build.confirmed is False else Runs.NEW
    return Runs.OLD if _same_build(as_found, build.sheet) else Runs.OTHER


def _same_build(one: Sheet, other: Sheet) -> bool:
    digests = one.get("build.image_digest"), other.get("build.image_digest")
    if all(digests):
        return digests[0] == digests[1]
    keys = ("build.version", "build.id", "build.sequence")
    return all(one.get(key) == other.get(key) for key in keys)


async def _seen(followed: Followed, watch: InstallationWatch) -> Seen:
    answers, found = await watch.look(), None
    if answers and needs_build(watch.latest):
        try:
            build = await read_build(followed.link())
        except WalkdownError:
            answers = False
        else:
            found = what_runs(build, followed.image, followed.as_found)
    return Seen(answers, watch.latest, followed.before, found, watch.silent_s)
