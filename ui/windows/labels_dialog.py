"""Labels for the units: which sticker of the first sheet is free, and into which file."""

from pathlib import Path

from PySide6.QtWidgets import QDialog, QFileDialog, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from fleet.model.errors import WalkdownError
from ui.bridge.session import Session
from ui.presenters.words import count_words
from ui.widgets.sheet_picker import PLACES, SheetPicker
from ui.windows.dialog_parts import TroubleLine, buddied, button, follow, set_out, wrapped


class LabelsDialog(QDialog):
    """A sheet to click on, and a file."""

    def __init__(
        self, session: Session, labels: int, path: Path, parent: QWidget | None = None
    ) -> None:
        """Offer a new sheet.

        Args:
            session: the engine.
            labels: how many will be written.
            path: the file that is offered.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._labels = session, labels
        self.setWindowTitle("Labels")
        self.sheet, self.path = SheetPicker(labels), QLineEdit(str(path))
        self.path.setAccessibleName("File of the labels")
        self.said, self.count, self.trouble = wrapped(""), wrapped(""), TroubleLine()
        self.write = button("Write the PDF", default=True)
        self._lay_out()
        self.sheet.start_changed.connect(lambda _: self._count())
        self.write.clicked.connect(self._ask)
        self._count()

    def _lay_out(self) -> None:
        choose, close = button("Choose …", "Choose the file"), button("Close")
        choose.clicked.connect(self._choose)
        close.clicked.connect(self.reject)
        where = QHBoxLayout()
        where.addWidget(self.path, 1)
        where.addWidget(choose)
        words = QVBoxLayout()
        for part in (
            wrapped("An A4 sheet of 24 stickers, 70 × 37 mm: each with the unit’s label, room, serial "
                    "and a code that a phone reads."),
            wrapped("Part of the sheet used up? Click the first free sticker, or use the arrow keys."),
            self.count,
        ):  # fmt: skip
            words.addWidget(part)
        words.addStretch(1)
        middle = QHBoxLayout()
        middle.setSpacing(16)
        middle.addWidget(self.sheet)
        middle.addLayout(words, 1)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(close)
        buttons.addWidget(self.write)
        set_out(
            self,
            wrapped("Labels for the units", points=16, bold=True),
            middle,
            buddied("&File", self.path),
            where,
            self.said,
            self.trouble,
            buttons,
            stretched=1,
        )
        self.setMinimumWidth(640)

    def _count(self) -> None:
        sheets = -(-(self.sheet.start() - 1 + self._labels) // PLACES)
        self.count.setText(
            f"{count_words(self._labels, 'label')} on {count_words(sheets, 'sheet')}, "
            f"from sticker {self.sheet.start()} on."
        )

    def _choose(self) -> None:
        chosen, _ = QFileDialog.getSaveFileName(self, "Labels", self.path.text(), "PDF (*.pdf)")
        if chosen:
            self.path.setText(chosen)

    def _ask(self) -> None:
        path, start = self.path.text().strip(), self.sheet.start()
        if not path:
            self.trouble.say("No label was written: name the file.")
            return
        self.trouble.say("")
        self.write.setEnabled(False)
        self.said.setText("The labels are being laid out …")
        operation = self._session.run(lambda visit: visit.write_labels(Path(path), start_at=start))
        follow(self._session, operation, self, lambda n: self._tell(n, path), self._fail)

    def _tell(self, written: int, path: str) -> None:
        self.write.setEnabled(True)
        self.said.setText(f"{count_words(written, 'label')} written: {path}")

    def _fail(self, error: WalkdownError) -> None:
        self.write.setEnabled(True)
        self.said.setText("")
        self.trouble.tell(error)
