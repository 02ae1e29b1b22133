"""Unit profiles on disk: those that come with the program, and the user's own.

The user's own come first, and one with the name of a shipped one stands in for it. A broken file is
told and left out; the others are used all the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fleet.description.limits import MAX_DOCUMENT_BYTES
from fleet.description.profile_check import Checked, check_profile
from fleet.description.profiles import Profile
from fleet.engine.files import schema
from fleet.model.errors import PlanError
from fleet.shipped import resources

_SUFFIX = ".json"
_MOST_FILES = 256


@dataclass(frozen=True, slots=True)
class ProfileFile:
    """One profile and where it lies."""

    profile: Profile
    path: Path


@dataclass(frozen=True, slots=True)
class ProfileFiles:
    """What was found in the folders of profiles.

    Attributes:
        files: sound ones, in the order in which they are tried on a unit.
        troubles: a sentence with file and line for each that can't be used.
    """

    files: tuple[ProfileFile, ...] = ()
    troubles: tuple[str, ...] = ()

    @property
    def profiles(self) -> tuple[Profile, ...]:
        """The profiles alone."""
        return tuple(file.profile for file in self.files)


def profile_folders(data: Path) -> tuple[Path, Path]:
    """Return the user's own folder of profiles, within the data folder, and the shipped one."""
    return data / "profiles", resources() / "profiles"


def load_profiles(folders: Sequence[Path]) -> ProfileFiles:
    """Read every profile of some folders; a folder that isn't there holds none.

    Args:
        folders: the one that counts most first.
    """
    files: dict[str, ProfileFile] = {}
    troubles: list[str] = []
    for folder in folders:
        for path in sorted(folder.glob(f"*{_SUFFIX}"))[:_MOST_FILES]:
            try:
                checked = check_file(path)
            except PlanError as reason:
                troubles.append(str(reason))
                continue
            troubles += [f"{path}:{wrong.line}: {wrong.sentence}" for wrong in checked.mistakes]
            if checked.profile is not None and not checked.mistakes:
                files.setdefault(checked.profile.name, ProfileFile(checked.profile, path))
    return ProfileFiles(tuple(files.values()), tuple(troubles))


def check_file(path: Path) -> Checked:
    """Try out the profile in a file.

    Raises:
        PlanError: the file can't be read at all.
    """
    try:
        with path.open("rb") as file:
            # One byte more than is allowed is enough to say that it is too long.
            raw = file.read(MAX_DOCUMENT_BYTES + 1)
    except OSError as reason:
        raise PlanError(
            f"the file can't be read: {reason.strerror or reason}.",
            subject=str(path),
            stands="No unit is brought in by it.",
            next_step="Check the path, and that you may read it.",
        ) from reason
    return check_profile(raw, str(path), schema("td-1.1"))
