"""The ways of this machine onto a network, as a person chooses among them."""

from collections.abc import Sequence
from dataclasses import dataclass

from fleet.model.meeting import Interface

ALL = "All interfaces"


@dataclass(frozen=True, slots=True)
class InterfaceRow:
    """A choice: what it says, and the address to listen on ("" for all)."""

    text: str
    address: str


def interface_rows(interfaces: Sequence[Interface]) -> tuple[InterfaceRow, ...]:
    """Return the choices: all, then each with its name, address and network, loopback last."""
    ordered = sorted(interfaces, key=lambda each: each.loopback)
    return (
        InterfaceRow(ALL, ""),
        *(InterfaceRow(_words(each), each.address) for each in ordered),
    )


def chosen_row(rows: Sequence[InterfaceRow], listened_on: str) -> int:
    """Return the number of the choice that is listened on; 0, all, where none of them is."""
    return next((n for n, row in enumerate(rows) if row.address and row.address == listened_on), 0)


def _words(each: Interface) -> str:
    network = "this machine alone" if each.loopback else f"network {each.network}"
    return f"{each.name} · {each.address} · {network}"
