"""Passphrases for a machine without a keyring: of the signing key, and of the units' kept passwords.

A passphrase is typed in the window's thread. A worker thread that needs one waits for the window; the
engine's loop never waits: there only what was typed beforehand is handed over.
"""

import asyncio
from collections.abc import Callable
from pathlib import Path

from fleet.model.errors import PlanError


class Passphrase:
    """What a person typed, handed over once and then forgotten.

    Attributes:
        ask_person: asks a person from a worker thread and waits, "" for no answer; None without a window.
        vault: the file of the kept passwords; None where none is known. One that isn't there yet is
            made with the passphrase that is typed, so that is typed twice.
    """

    def __init__(self) -> None:
        """Know none."""
        self._typed = ""
        self.ask_person: Callable[[], str] | None = None
        self.vault: Path | None = None

    def keep(self, typed: str) -> None:
        """Keep what was typed until it is asked for."""
        self._typed = typed

    def ask(self) -> bytes:
        """Hand it over, and forget it; b"" where a person was asked and gave none.

        Raises:
            PlanError: none was typed, and nobody can be asked from here.
        """
        typed, self._typed = self._typed, ""
        if typed:
            return typed.encode("utf-8")
        if self.ask_person is not None and not _in_a_loop():
            return self.ask_person().encode("utf-8")
        raise PlanError(
            "this machine has no keyring, so the signing key needs a passphrase.",
            stands="No record was issued.",
            next_step="Type one beside the folder, and issue again.",
        )

    def is_first(self) -> bool:
        """Say whether the passphrase that is typed now will be that of a new vault."""
        return self.vault is not None and not self.vault.exists()


def _in_a_loop() -> bool:
    try:
        asyncio.get_running_loop()
    except RuntimeError:
        return False
    return True
