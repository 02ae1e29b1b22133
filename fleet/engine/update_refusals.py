"""What speaks against updating a unit now, found by reading, before a byte of an image goes out."""

from fleet.description.requests import invoke_request
from fleet.description.vocabulary import INSTALL_FIRMWARE
from fleet.engine.applying import open_step_of
from fleet.engine.installation_values import lacking, order_for, read_installation
from fleet.engine.update_means import UpdateMeans
from fleet.jobs.install_rules import RefusalKind, check_install
from fleet.jobs.matching_builds import MATCH_SAID, said_in
from fleet.link.unit_link import UnitLink
from fleet.model.errors import PlanError
from fleet.model.firmware import InstallState, UpdateState
from fleet.model.units import Reading

AN_ADDRESS = "http://192.0.2.1/image"
"""Stands for the one that is served later (RFC 5737): the unit's schema may rule it out."""

_BUSY = (
    InstallState.FETCHING,
    InstallState.VERIFYING,
    InstallState.APPLYING,
    InstallState.REBOOTING,
    InstallState.CONFIRMING,
)


async def refusal(
    means: UpdateMeans, link: UnitLink, reading: Reading
) -> tuple[UpdateState, str] | None:
    """Return the end of a unit that nothing is sent to, and why; None where nothing is against it.

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
    try:
        _hold_order(means, link)
    except PlanError as reason:
        return UpdateState.REFUSED, str(reason)
    now = await read_installation(link)
    if now.state in _BUSY:
        return UpdateState.REFUSED, f"it is at an installation already ({now.state})"
    return None


def _hold_order(means: UpdateMeans, link: UnitLink) -> None:
    """Hold what the unit will be told against its description; raises `PlanError` where it doesn't fit."""
    action = link.need_action(INSTALL_FIRMWARE)
    url = AN_ADDRESS if means.terms.pull else ""
    backwards = means.terms.allow_downgrade
    invoke_request(link.thing, action, order_for(action, means.image, url=url, backwards=backwards))
