"""Issuing the hand-over record: into which folder, by whom, with the cautions that go with it."""

from pathlib import Path

from PySide6.QtWidgets import QDialog, QFileDialog, QFormLayout, QHBoxLayout, QLineEdit, QWidget

from fleet.model.errors import WalkdownError
from ui.bridge.passphrase import Passphrase
from ui.bridge.session import Session
from ui.presenters.cautions import record_cautions
from ui.windows.dialog_parts import (
    TroubleLine,
    buddied,
    button,
    caution_box,
    follow,
    set_out,
    wrapped,
)


class RecordDialog(QDialog):
    """Folder, name, and what the record says besides."""

    def __init__(
        self, session: Session, passphrase: Passphrase, folder: Path, parent: QWidget | None = None
    ) -> None:
        """Offer a folder to begin with."""
        super().__init__(parent)
        self._session, self._passphrase = session, passphrase
        self.setWindowTitle("Hand-over record")
        self.folder, self.by, self.secret = (
            QLineEdit(str(folder)),
            QLineEdit(session.by),
            QLineEdit(),
        )
        self.folder.setAccessibleName("Folder of the record")
        self.by.setAccessibleName("Who issues it")
        self.secret.setAccessibleName("Passphrase of the signing key")
        self.secret.setEchoMode(QLineEdit.EchoMode.Password)
        self.secret.setPlaceholderText("only where this machine has no keyring")
        self.trouble, self.said = TroubleLine(), wrapped("")
        self.issue = button("Issue the record", default=True)
        self._lay_out()
        self.issue.clicked.connect(self._ask_issue)

    def _lay_out(self) -> None:
        choose, close = button("Choose …", "Choose the folder"), button("Close")
        choose.clicked.connect(self._choose)
        close.clicked.connect(self.reject)
        where = QHBoxLayout()
        where.addWidget(self.folder, 1)
        where.addWidget(choose)
        form = QFormLayout()
        form.addRow(buddied("&Folder", self.folder), where)
        form.addRow("B&y", self.by)
        form.addRow("&Passphrase", self.secret)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(close)
        buttons.addWidget(self.issue)
        set_out(
            self,
            wrapped("Issue the hand-over record", points=16, bold=True),
            wrapped(
                "A new folder: record.json, its signature, the public key, a PDF and a register."
            ),
            form,
            caution_box(record_cautions()),
            self.said,
            self.trouble,
            buttons,
        )
        self.setMinimumWidth(680)

    def _choose(self) -> None:
        chosen = QFileDialog.getExistingDirectory(self, "Folder of the record", self.folder.text())
        if chosen:
            self.folder.setText(chosen)

    def _ask_issue(self) -> None:
        folder, by = self.folder.text().strip(), self.by.text().strip()
        if not folder or not by:
            self.trouble.say("No record was issued: name the folder and who issues it.")
            return
        self.trouble.say("")
        self._passphrase.keep(self.secret.text())
        self.secret.clear()
        self.issue.setEnabled(False)
        self.said.setText("The record is being laid out and signed …")
        operation = self._session.run(lambda visit: visit.issue(Path(folder), by=by))
        follow(self._session, operation, self, self._finish, self._fail)

    def _finish(self, folder: Path) -> None:
        self._passphrase.keep("")
        self.issue.setEnabled(True)
        self.said.setText(f"The record lies in {folder}. Check it: walkdown check {folder}")

    def _fail(self, error: WalkdownError) -> None:
        self._passphrase.keep("")
        self.issue.setEnabled(True)
        self.said.setText("")
        self.trouble.tell(error)
