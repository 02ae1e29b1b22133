"""Builds: which one a unit should run, how far behind it is, and whether it goes with the module.

An approved build is keyed by hardware revision and module type; a match by those, the module's own
firmware and the build's version. What nobody has vouched for is *unknown*, never allowed.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from fleet.model.house import ApprovedBuild, Match, MatchWord
from fleet.model.sheets import Sheet


@dataclass(frozen=True, slots=True)
class BuildDrift:
    """How a unit's build stands against the approved one.

    Attributes:
        version: what it runs; "" where it doesn't say.
        approved: what it should run; None where nothing is approved for its hardware and module.
        behind: how many builds behind; 0 for none, None where the version isn't one we know.
        match: whether the approved build goes with this hardware and module.
    """

    version: str
    approved: ApprovedBuild | None
    behind: int | None
    match: MatchWord

    @property
    def current(self) -> bool:
        """Whether the unit runs the approved build."""
        return self.approved is not None and self.behind == 0


def approved_for(
    hardware_revision: str, module_type: str, builds: Iterable[ApprovedBuild]
) -> ApprovedBuild | None:
    """Return the build that units of this hardware and module should run, if one is approved."""
    for build in builds:
        if (build.hardware_revision, build.module_type) == (hardware_revision, module_type):
            return build
    return None


def match_of(
    hardware_revision: str,
    module_type: str,
    module_firmware: str,
    version: str,
    matches: Iterable[Match],
) -> MatchWord:
    """Return what is known of a build on this hardware with this module; unknown unless vouched for."""
    key = (hardware_revision, module_type, module_firmware, version)
    for match in matches:
        if (
            match.hardware_revision,
            match.module_type,
            match.module_firmware,
            match.version,
        ) == key:
            return match.match
    return MatchWord.UNKNOWN


def drift(found: Sheet, builds: Iterable[ApprovedBuild], matches: Iterable[Match]) -> BuildDrift:
    """Hold the build that was read from a unit against the approved one."""
    hardware = str(found.get("hardware.revision", ""))
    module = str(found.get("module.type", ""))
    firmware = str(found.get("module.firmware", ""))
    version = str(found.get("build.version", ""))
    approved = approved_for(hardware, module, builds)
    if approved is None:
        return BuildDrift(version, None, None, MatchWord.UNKNOWN)
    match = match_of(hardware, module, firmware, approved.version, matches)
    return BuildDrift(version, approved, listed_behind(version, approved), match)


def listed_behind(version: str, approved: ApprovedBuild) -> int | None:
    """Count how many builds a version is behind the approved one; None where its list doesn't know it."""
    known = (approved.version, *approved.earlier)
    return known.index(version) if version in known else None
