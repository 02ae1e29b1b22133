"""The passphrase of the units' kept passwords, on a machine without a keyring."""

from concurrent.futures import Future

from PySide6.QtWidgets import QDialog, QFormLayout, QHBoxLayout, QLineEdit, QWidget

from ui.windows.dialog_parts import TroubleLine, button, keep_together, set_out, wrapped

_FIRST = (
    "This machine has no keyring, so the passwords of units are kept in a file that a passphrase "
    "seals. Think of one now; nobody can find it out for you later."
)
_AGAIN = (
    "The passwords of units are sealed in a file. Its passphrase opens them, once for this visit."
)
_WITHOUT = "Without it, units that want a password stay locked until you type theirs."


class PassphraseDialog(QDialog):
    """Asks once; whichever way it is closed, whoever waits is answered."""

    def __init__(
        self, answer: "Future[str]", *, first: bool, parent: QWidget | None = None
    ) -> None:
        """Ask.

        Args:
            answer: takes what was typed, "" for nothing.
            first: it will seal a new file, so it is typed twice.
            parent: the window.
        """
        super().__init__(parent)
        self._answer, self._first = answer, first
        self.setWindowTitle("Kept passwords")
        self.typed, self.again, self.trouble = _field("Passphrase"), _field("Again"), TroubleLine()
        self.open_it = button("Seal them" if first else "Open them", default=True)
        self.without = button("Go on without")
        form = QFormLayout()
        form.addRow("&Passphrase", self.typed)
        form.addRow("&Again", self.again)
        form.setRowVisible(self.again, first)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self.without)
        buttons.addWidget(self.open_it)
        set_out(
            self,
            wrapped("Kept passwords of units", points=16, bold=True),
            wrapped(_FIRST if first else _AGAIN),
            form,
            wrapped(_WITHOUT),
            self.trouble,
            buttons,
        )
        keep_together(self, 520)
        self.open_it.clicked.connect(self._give)
        self.without.clicked.connect(self.reject)
        self.finished.connect(lambda _: self._settle(""))

    def _give(self) -> None:
        typed, again = self.typed.text(), self.again.text()
        if not typed:
            self.trouble.say("Nothing was opened: the passphrase is missing.")
        elif self._first and typed != again:
            self.trouble.say("Nothing was sealed: the two aren’t the same.")
        else:
            self._settle(typed)
            self.accept()

    def _settle(self, typed: str) -> None:
        for field in (self.typed, self.again):
            field.clear()
        if not self._answer.done():
            self._answer.set_result(typed)


def _field(name: str) -> QLineEdit:
    field = QLineEdit()
    field.setAccessibleName(name)
    field.setEchoMode(QLineEdit.EchoMode.Password)
    return field
