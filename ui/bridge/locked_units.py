"""Trying what a person typed at one unit, and only where it was let in, at the others; or what is kept."""

from collections.abc import Sequence

from fleet.model.credentials import Credential
from fleet.model.errors import UnitError
from fleet.model.meeting import LockedUnit
from ui.bridge.visit_like import VisitLike


async def try_secret(
    visit: VisitLike, secret: Credential, first: str, others: Sequence[str]
) -> tuple[str, ...]:
    """Keep a secret for one unit, then for others; return the keys of those that refused it.

    The others are asked one after another, and only once the first was let in: a wrong secret tried
    everywhere would lock a whole house.

    Args:
        visit: the running visit.
        secret: what was typed.
        first: the key of the unit that it was typed for.
        others: keys of the units that it is tried at as well.

    Raises:
        UnitError: the first unit refused it.
        InventoryError, PlanError: it can't be kept; it is used at this visit all the same.
    """
    if not await _lets_in(visit, first, secret):
        raise UnitError(
            "it refused what was typed.",
            stands="It is locked still.",
            next_step="Look on its own label or in its papers, and type it again.",
        )
    return tuple([key for key in others if not await _lets_in(visit, key, secret)])


async def send_kept(visit: VisitLike, unit: LockedUnit, *, by: str) -> None:
    """Send what is kept under the id that a unit says to its address: a person's act.

    Args:
        visit: the running visit.
        unit: it waits for what is kept under its `kept_under`.
        by: who says that it is that unit.

    Raises:
        UnitError: the unit refused it.
        InventoryError, PlanError: nothing is kept there, or it can't be kept for the address.
    """
    await visit.send_kept_secret(unit.kept_under, unit.key, by=by)
    if _is_locked(visit, unit.key):
        raise UnitError(
            "it refused the one that is kept.",
            stands="It is locked still.",
            next_step="Make sure that it is the unit that you take it for; then type its own.",
        )


async def _lets_in(visit: VisitLike, key: str, secret: Credential) -> bool:
    """Keep a secret, which meets the unit again; one that is still among the locked ones refused it."""
    await visit.keep_secret(key, secret)
    return not _is_locked(visit, key)


def _is_locked(visit: VisitLike, key: str) -> bool:
    return any(unit.key == key for unit in visit.snapshot().house.locked)
