"""The first minutes: go on at a site, open the demo house, start a site, open a folder of sites."""

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QFileDialog, QListWidget, QListWidgetItem, QWidget

from ui.presenters.cautions import PURPOSE
from ui.windows.dialog_parts import (
    TroubleLine,
    button,
    caution_box,
    keep_together,
    set_out,
    wrapped,
)

_MOST_LINES, _SPACING_PX, _MARGIN_PX = 6, 3, 8
_WIDTH_PX = 460


class StartDialog(QDialog):
    """The ways in.

    Signals:
        site_chosen: name of another site of the inventory that is open.
        demo_asked: the demo house.
        plan_chosen: path of a plan file.
        folder_chosen: path of a folder with an inventory.
    """

    site_chosen = Signal(str)
    demo_asked = Signal()
    plan_chosen = Signal(Path)
    folder_chosen = Signal(Path)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Offer the ways in."""
        super().__init__(parent)
        self.setWindowTitle("Start")
        self.trouble = TroubleLine()
        self.sites_said = wrapped("Sites of this inventory", bold=True)
        self.sites, self.go_on = QListWidget(), button("Go on there", "Go on at the chosen site")
        self.sites.setAccessibleName("Sites of this inventory")
        self.sites.setSpacing(_SPACING_PX)
        self.demo = button("Open the demo house", default=True)
        self.start_site = button("Start a site from a plan file …", "Start a site from a plan file")
        self.open_folder = button("Open a folder of sites …", "Open a folder of sites")
        self.go_on.clicked.connect(self._choose_site)
        self.sites.itemActivated.connect(lambda _: self._choose_site())
        self.sites.currentRowChanged.connect(lambda _: self._offer())
        self.demo.clicked.connect(self.demo_asked)
        self.start_site.clicked.connect(self._ask_for_plan)
        self.open_folder.clicked.connect(self._ask_for_folder)
        set_out(
            self,
            wrapped("Where do you begin?", points=16, bold=True),
            self.sites_said,
            self.sites,
            self.go_on,
            self.demo,
            wrapped("An invented house, simulated on this machine. Nothing real is touched."),
            self.start_site,
            wrapped("Rooms, unit schedule and planned values from a JSON file."),
            self.open_folder,
            wrapped("Go on with sites that were kept in another folder."),
            caution_box((PURPOSE,)),
            self.trouble,
        ).addStretch(1)
        self.show_sites((), "")

    def show_sites(self, names: tuple[str, ...], current: str) -> None:
        """Offer the sites of the inventory that is open; one alone is no choice."""
        self._current = current
        self.sites.clear()
        for name in names:
            here = ", open now" if name == current else ""
            item = QListWidgetItem(f"{name}{here}", self.sites)
            item.setData(Qt.ItemDataRole.UserRole, name)
        line_px = max(self.sites.sizeHintForRow(0), 0) + 2 * _SPACING_PX
        shown = min(len(names), _MOST_LINES)
        self.sites.setFixedHeight(line_px * shown + 2 * self.sites.frameWidth() + _MARGIN_PX)
        for one in (self.sites_said, self.sites, self.go_on):
            one.setVisible(len(names) > 1)
        (self.go_on if len(names) > 1 else self.demo).setDefault(True)
        self._offer()
        keep_together(self, _WIDTH_PX)

    def _chosen(self) -> str:
        at = self.sites.currentRow()
        return str(self.sites.item(at).data(Qt.ItemDataRole.UserRole)) if at >= 0 else ""

    def _offer(self) -> None:
        self.go_on.setEnabled(self._chosen() not in ("", self._current))

    def _choose_site(self) -> None:
        if self.go_on.isEnabled():
            self.site_chosen.emit(self._chosen())

    def _ask_for_plan(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Plan file", "", "Plans (*.json)")
        if chosen:
            self.plan_chosen.emit(Path(chosen))

    def _ask_for_folder(self) -> None:
        chosen = QFileDialog.getExistingDirectory(self, "Folder of sites")
        if chosen:
            self.folder_chosen.emit(Path(chosen))
