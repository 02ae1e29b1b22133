"""What speaks against updating a unit at this moment, found by reading, before a byte of an image goes out."""

from typing import TYPE_CHECKING

from fleet.engine.applying import open_step_of
from fleet.engine.installation_values import lacking, read_installation
from fleet.jobs.install_rules import RefusalKind, check_install
from fleet.jobs.matching_builds import MATCH_SAID, said_in
from fleet.link.unit_link import UnitLink
from fleet.model.firmware import InstallState, UpdateState
from fleet.model.units import Reading

if TYPE_CHECKING:
    from fleet.engine.installing import UpdateMeans

_BUSY = (
    InstallState.FETCHING,
    InstallState.VERIFYING,
    InstallState.APPLYING,
    InstallState.REBOOTING,
    InstallState.CONFIRMING,
)


async def refusal(
    means: "UpdateMeans", link: UnitLink, reading: Reading
) -> tuple[UpdateState, str] | None:
    """Return the end that a unit has without anything being sent, and why; None where nothing is against it.

    Raises:
        LinkError, UnitError: its progress can't be read.
    """
    doubtful = open_step_of(means.inventory, reading.serial)
    if doubtful is not None:
        said = f"a write of its {doubtful.step.part} is in doubt: have that settled first"
        return UpdateState.REFUSED, said
    against = check_install(
        means.image,
        reading.sheet,
        reading.other,
        means.matches,
        said_in(means.inventory.journal_of(MATCH_SAID)),
        allow_downgrade=means.terms.allow_downgrade,
    )
    if against is not None:
        already = against.kind is RefusalKind.SAME_BUILD
        return (UpdateState.ALREADY if already else UpdateState.REFUSED), against.said
    if missing := lacking(link.thing, pull=means.terms.pull):
        said = f"its description has no {' and no '.join(missing)}: nothing would be known of it"
        return UpdateState.REFUSED, said
    now = await read_installation(link)
    if now.state in _BUSY:
        return UpdateState.REFUSED, f"it is at an installation already ({now.state})"
    return None
