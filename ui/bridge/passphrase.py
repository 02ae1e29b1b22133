"""The passphrase of the signing key, for a machine without a keyring."""

from fleet.model.errors import PlanError


class Passphrase:
    """What a person typed into the record's window, handed over once and then forgotten."""

    def __init__(self) -> None:
        """Know none."""
        self._typed = ""

    def keep(self, typed: str) -> None:
        """Keep what was typed until it is asked for."""
        self._typed = typed

    def ask(self) -> bytes:
        """Hand it over, and forget it.

        Raises:
            PlanError: none was typed.
        """
        typed, self._typed = self._typed, ""
        if not typed:
            raise PlanError(
                "this machine has no keyring, so the signing key needs a passphrase.",
                stands="No record was issued.",
                next_step="Type one beside the folder, and issue again.",
            )
        return typed.encode("utf-8")
