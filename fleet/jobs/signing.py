"""Whether a room can be signed: every item shown, or signed for as an exception with a reason."""

from collections.abc import Mapping

from fleet.model.errors import PlanError
from fleet.model.findings import Outcome, RoomResult


def refuse_unfit_signature(
    result: RoomResult, room_name: str, name: str, role: str, exceptions: Mapping[str, str]
) -> None:
    """Let a signature through only where a named person answers for everything that isn't shown.

    Args:
        result: the room's checklist as it stands.
        room_name: for the message.
        name, role: who accepts.
        exceptions: item → why it is signed for though it isn't shown.

    Raises:
        PlanError: the name or role is empty, or an item is neither shown nor excepted.
    """
    if not name.strip() or not role.strip():
        raise PlanError(
            "a sign-off needs the name and the role of the person who accepts.",
            subject=room_name,
            stands="The room is not signed.",
        )
    open_items = [
        item.key
        for item in result.items
        if item.outcome is not Outcome.PASS
        and item.evidence != "signature"
        and not exceptions.get(item.key, "").strip()
    ]
    if open_items:
        raise PlanError(
            f"not shown and not excepted: {', '.join(open_items)}.",
            subject=room_name,
            stands="The room is not signed.",
            next_step="Show them, or write down for each why it is accepted all the same.",
        )
