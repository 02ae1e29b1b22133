"""The first minutes: open the demo house, start a site from a plan file, open a folder of sites."""

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDialog, QFileDialog, QWidget

from ui.presenters.cautions import PURPOSE
from ui.windows.dialog_parts import TroubleLine, button, caution_box, set_out, wrapped


class StartDialog(QDialog):
    """Three ways in.

    Signals:
        demo_asked: the demo house.
        plan_chosen: path of a plan file.
        folder_chosen: path of a folder with an inventory.
    """

    demo_asked = Signal()
    plan_chosen = Signal(Path)
    folder_chosen = Signal(Path)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Offer the ways in."""
        super().__init__(parent)
        self.setWindowTitle("Start")
        self.trouble = TroubleLine()
        self.demo = button("Open the demo house", default=True)
        self.start_site = button("Start a site from a plan file …", "Start a site from a plan file")
        self.open_folder = button("Open a folder of sites …", "Open a folder of sites")
        self.demo.clicked.connect(self.demo_asked)
        self.start_site.clicked.connect(self._ask_for_plan)
        self.open_folder.clicked.connect(self._ask_for_folder)
        set_out(
            self,
            wrapped("Where do you begin?", points=16, bold=True),
            self.demo,
            wrapped("An invented house, simulated on this machine. Nothing real is touched."),
            self.start_site,
            wrapped("Rooms, unit schedule and planned values from a JSON file."),
            self.open_folder,
            wrapped("Go on with sites that were kept in another folder."),
            caution_box((PURPOSE,)),
            self.trouble,
        ).addStretch(1)
        self.setMinimumWidth(460)

    def _ask_for_plan(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Plan file", "", "Plans (*.json)")
        if chosen:
            self.plan_chosen.emit(Path(chosen))

    def _ask_for_folder(self) -> None:
        chosen = QFileDialog.getExistingDirectory(self, "Folder of sites")
        if chosen:
            self.folder_chosen.emit(Path(chosen))
