"""What was tried when no unit was heard, and how it is told, a line a trial."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from fleet.model.meeting import Interface


class Answer(Enum):
    """What came of asking one machine by TCP."""

    ANSWERS = "answers"
    REFUSES = "is there and refuses"
    NOTHING = "doesn't answer"


@dataclass(frozen=True, slots=True)
class Hearing:
    """What was heard on one interface after a question to everybody.

    Attributes:
        interface: its name.
        asked: the question could be sent there.
        echo: our own question came back to the listener beside it.
        others: addresses of other machines that were heard through multicast, without the gateway.
        alone: addresses that answered us alone, to the question to everybody or one put to them.
        units: how many instances of a unit's service type were named.
        reason: why it couldn't be sent or listened for, "" where it could.
    """

    interface: str
    asked: bool = True
    echo: bool = True
    others: frozenset[str] = frozenset()
    alone: frozenset[str] = frozenset()
    units: int = 0
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Known:
    """A unit that is known from earlier, asked at its address.

    Attributes:
        url: where its description lay.
        behind: the interface in whose network it lies, "" for none.
        answer: what came of it.
    """

    url: str
    behind: str
    answer: Answer


@dataclass(frozen=True, slots=True)
class Trials:
    """All that was tried.

    Attributes:
        chosen: what is listened on: an address or a name, "" for all.
        chosen_names: the interfaces it means; none where the chosen one isn't up.
        up: the interfaces that are up.
        heard: units that the scanner heard before.
        hearings: one an interface.
        known: units known from earlier.
        gateway: its address, "" where none is known.
        gateway_there: it answers; None where none is known.
        neighbours: addresses of other machines, without the gateway, that answered or refused.
    """

    chosen: str
    chosen_names: frozenset[str]
    up: tuple[Interface, ...]
    heard: int = 0
    hearings: tuple[Hearing, ...] = ()
    known: tuple[Known, ...] = ()
    gateway: str = ""
    gateway_there: bool | None = None
    neighbours: frozenset[str] = frozenset()

    @property
    def ours(self) -> tuple[Hearing, ...]:
        """What was heard on the interfaces of the choice."""
        return tuple(each for each in self.hearings if each.interface in self.chosen_names)

    @property
    def elsewhere(self) -> tuple[Hearing, ...]:
        """What was heard on the others."""
        return tuple(each for each in self.hearings if each.interface not in self.chosen_names)

    @property
    def reached(self) -> tuple[Known, ...]:
        """Known units whose machine is there."""
        return tuple(each for each in self.known if each.answer is not Answer.NOTHING)

    @property
    def others(self) -> frozenset[str]:
        """Machines heard through multicast on the interfaces of the choice."""
        return frozenset().union(*(each.others for each in self.ours))

    @property
    def echo(self) -> bool:
        """Our own question came back on one of them."""
        return any(each.asked and each.echo for each in self.ours)

    @property
    def alone(self) -> frozenset[str]:
        """Machines that answered us alone there and weren't heard through multicast."""
        return frozenset().union(*(each.alone for each in self.ours)) - self.others

    @property
    def somebody(self) -> bool:
        """Any machine but the gateway is known to be there."""
        return bool(self.others or self.alone or self.reached or self.neighbours)


def told_of(trials: Trials) -> Iterable[str]:
    """Yield what was tried and what came of it, a line each."""
    names = ", ".join(f"{each.name} {each.address}" for each in trials.up) or "none"
    yield f"Interfaces that are up: {names}."
    for hearing in trials.hearings:
        yield _told_of_hearing(hearing)
    for each in trials.known:
        where = (
            f"in the network of {each.behind}" if each.behind else "in no network of this machine"
        )
        yield f"{each.url}, {where}: {each.answer.value}."
    if trials.gateway:
        said = "answers" if trials.gateway_there else "doesn't answer"
        said = said if trials.gateway_there is not None else "whether it is there can't be told"
        yield f"Gateway {trials.gateway}: {said}."
    else:
        yield "Gateway: none is known."
    yield f"Neighbours that answered or refused: {_listed(trials.neighbours)}."


def _told_of_hearing(hearing: Hearing) -> str:
    if not hearing.asked:
        return f"{hearing.interface}: couldn't ask everybody ({hearing.reason})."
    echo = "came back" if hearing.echo else "didn't come back"
    return (
        f"{hearing.interface}: our own question {echo}; heard through multicast: "
        f"{_listed(hearing.others)}; answered us alone: {_listed(hearing.alone)}; "
        f"units named: {hearing.units}."
    )


def _listed(addresses: frozenset[str]) -> str:
    shown = sorted(addresses)[:5]
    more = len(addresses) - len(shown)
    return (", ".join(shown) + (f" and {more} more" if more else "")) or "nobody"
