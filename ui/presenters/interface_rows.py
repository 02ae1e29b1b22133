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


def interface_rows(
    interfaces: Sequence[Interface], listened_on: str = ""
) -> tuple[InterfaceRow, ...]:
    """Return the choices: all, then each with its name, address and network, loopback last.

    Args:
        interfaces: the machine's.
        listened_on: name or address of what is listened on; it is a choice even where the machine
            lists it no more, so that the list never says another one than is in force.
    """
    ordered = sorted(interfaces, key=lambda each: each.loopback)
    listed = {part for each in interfaces for part in (each.name, each.address)}
    is_other = listened_on and listened_on.casefold() != ALL.casefold()
    other = [f"{listened_on} · in use"] if is_other and listened_on not in listed else []
    return (
        InterfaceRow(ALL, ""),
        *(InterfaceRow(_words(each), each.address) for each in ordered),
        *(InterfaceRow(text, listened_on) for text in other),
    )


def chosen_row(rows: Sequence[InterfaceRow], listened_on: str) -> int:
    """Return the number of the choice that is listened on; 0, all, where none of them is."""
    return next(
        (
            number
            for number, row in enumerate(rows)
            if row.address and listened_on in (row.address, row.text.partition(" · ")[0])
        ),
        0,
    )


def _words(each: Interface) -> str:
    network = "this machine alone" if each.loopback else f"network {each.network}"
    return f"{each.name} · {each.address} · {network}"
