"""What became of an installation, judged from what the unit says and from how long it said nothing new.

1. What the unit runs decides, not what its progress says: a unit that runs the new build, confirmed, has
   it, whatever answers were lost on the way; one that doesn't hasn't.
2. Each stage has a limit for silence, since a stage of which nothing new is heard may last for ever. Time
   in which the unit can't be reached counts as its restart.
3. Progress that stood there before, or is about another image, is no progress of this one.
4. A unit that goes on for longer than its limit is *lost*: it is named, with what to do; nothing is sent.
"""

from dataclasses import dataclass
from enum import StrEnum

from fleet.model.firmware import Image, Installation, InstallState


class Ending(StrEnum):
    """What became of an installation; `GOES_ON` is no end."""

    GOES_ON = "goes on"
    NEW_BUILD = "runs the new build"
    OLD_BUILD = "runs its old build"
    NOT_BEGUN = "didn't begin"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class StageLimits:
    """For how long nothing new may be heard in a stage, house seconds. Rules of thumb of ours, no source.

    Attributes:
        fetching: until the unit says that more has come.
        verifying, applying: until it says that it got further.
        staged: until an installation begins.
        rebooting: for which it can't be reached.
        confirming: until it confirms the new build by itself.
        whole: for all of it, however much new is heard: a unit that starts anew again and again.
    """

    fetching: float = 180.0
    verifying: float = 180.0
    staged: float = 60.0
    applying: float = 600.0
    rebooting: float = 300.0
    confirming: float = 600.0
    whole: float = 3600.0

    def of(self, state: InstallState | None) -> float:
        """Return the limit of a stage; of one that isn't known, or of none, that of a beginning."""
        return {
            InstallState.FETCHING: self.fetching,
            InstallState.VERIFYING: self.verifying,
            InstallState.APPLYING: self.applying,
            InstallState.REBOOTING: self.rebooting,
            InstallState.CONFIRMING: self.confirming,
            InstallState.COMPLETED: self.confirming,
        }.get(state or InstallState.IDLE, self.staged)


class Runs(StrEnum):
    """What a unit runs, against an installation."""

    NEW = "the new build"
    NEW_UNCONFIRMED = "the new build, not confirmed yet"
    OLD = "its old build"
    OTHER = "neither its old build nor the new one"


@dataclass(frozen=True, slots=True)
class Seen:
    """All that is seen of a unit at one moment.

    Attributes:
        answers: it could be read.
        installation: its progress as last read.
        before: its progress before it was told to install.
        runs: what it runs, None where that wasn't read.
        silent_s: for how long nothing new was heard, house seconds.
    """

    answers: bool
    installation: Installation
    before: Installation
    runs: Runs | None
    silent_s: float


REASONS = {
    "digest-mismatch": "what it got isn't the image that it was told of",
    "signature": "the image's own signature isn't right for it",
    "incompatible": "the image is for another class of units or another board",
    "downgrade": "the image is older than what runs",
    "no-space": "it has no room for the image",
    "fetch": "the image didn't come, or not whole",
    "power-loss": "its power was cut, or it was restarted",
    "timeout": "nothing came for too long",
    "boot-failed": "the new build didn't start",
}
"""The words of the unit interface for a failure, in a person's; any other stands as the unit says it."""

_UNDER_WAY = (
    InstallState.FETCHING,
    InstallState.VERIFYING,
    InstallState.APPLYING,
    InstallState.REBOOTING,
    InstallState.CONFIRMING,
)
_ENDED_BADLY = (InstallState.FAILED, InstallState.ROLLED_BACK)


def needs_build(installation: Installation) -> bool:
    """Say whether what the unit runs matters now."""
    return installation.state not in _UNDER_WAY[:4]


def judge(seen: Seen, image: Image, limits: StageLimits) -> tuple[Ending, str]:
    """Return what became of an installation, and why in words."""
    if not seen.answers:
        return _overdue(seen, limits.rebooting, "it hasn't answered")
    if seen.runs is Runs.NEW:
        return Ending.NEW_BUILD, ""
    if seen.runs is Runs.OTHER:
        return Ending.LOST, "it runs neither its old build nor the new one"
    now = seen.installation
    limit_s = limits.of(now.state)
    if now.state in _UNDER_WAY or seen.runs is Runs.NEW_UNCONFIRMED:
        return _overdue(seen, limit_s, f"it says {_word(now)} and nothing new")
    if now.state in _ENDED_BADLY and _is_about(now, image) and now != seen.before:
        return Ending.OLD_BUILD, f"it says {_word(now)}{_because(now)}"
    if seen.silent_s <= limit_s:
        return Ending.GOES_ON, ""
    return Ending.NOT_BEGUN, "it didn't begin to install the image"


def _overdue(seen: Seen, limit_s: float, said: str) -> tuple[Ending, str]:
    if seen.silent_s <= limit_s:
        return Ending.GOES_ON, ""
    return Ending.LOST, f"{said} for {round(seen.silent_s)} s"


def _is_about(installation: Installation, image: Image) -> bool:
    return installation.digest.lower() in {"", image.sha256}


def _word(installation: Installation) -> str:
    return repr(installation.state.value) if installation.state else "nothing that is known"


def _because(installation: Installation) -> str:
    reason = installation.reason
    return f": {REASONS.get(reason, reason)}" if reason else ""
