"""From where it is listened: the interfaces of a choice as they are now, and what follows from them."""

from collections.abc import Sequence
from dataclasses import dataclass

from fleet.discovery.interfaces import Ear, Network, chosen_of, ears_on, networks_of
from fleet.model.meeting import Interface


@dataclass(frozen=True, slots=True)
class Standpoint:
    """One look at the interfaces.

    Attributes:
        present: those that are listened on.
        ears: how; none while the chosen interface is away.
        networks: what lies behind them.
        scope: the interface that a link-local address must belong to, "" where it could be several.
        name: of the interface that the chosen address was last on, "" for none chosen.
    """

    present: tuple[Interface, ...] = ()
    ears: tuple[Ear, ...] = ()
    networks: tuple[Network, ...] = ()
    scope: str = ""
    name: str = ""


def standpoint(choice: str, up: Sequence[Interface], before: Standpoint) -> Standpoint:
    """Return where a choice stands among the interfaces that are up.

    An address may change while its interface stays, as when a lease is renewed: then the interface counts.
    """
    chosen = chosen_of(choice, up)
    name = chosen[0].name if chosen and choice else before.name
    if not chosen and name:
        choice, chosen = name, chosen_of(name, up)
    ears = ears_on(choice, chosen)
    if not ears:
        return Standpoint(name=name)
    names = {each.name for each in chosen if not each.loopback}
    scope = names.pop() if len(names) == 1 else ""
    return Standpoint(chosen, ears, networks_of(chosen), scope, name)
