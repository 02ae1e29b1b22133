"""The first page of a new campaign: an image from a shelf, the units that take part, how it is run."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from fleet.engine.shelf_keys import ShelfLook
from fleet.model.firmware import ImageLine
from fleet.model.snapshot import HouseState
from ui.presenters.campaign_plan_rows import image_sections, image_text, trust_state, unit_choices
from ui.widgets.section_pane import SectionPane
from ui.widgets.state_glyph import glyph_icon
from ui.widgets.unit_ticks import UnitTicks
from ui.windows.dialog_parts import buddied, button, wrapped
from ui.windows.shelf_band import ShelfBand

AT_ONCE, MOST_AT_ONCE = 8, 32
DWELL_S, MOST_DWELL_S = 120, 86_400
_LIST_LINES = 5


class ImagePage(QWidget):
    """Shelf, images, what is said of the chosen one, units, terms.

    Signals:
        shelf_asked: a Path.
        choice_changed: another image or other units.
    """

    shelf_asked = Signal(object)
    choice_changed = Signal()

    def __init__(self, house: HouseState, today: date, wanted: Sequence[str]) -> None:
        """Show the units.

        Args:
            house: the state.
            today: by the house's clock.
            wanted: serials that are ticked; () for all.
        """
        super().__init__()
        self._today = today
        self._lines: tuple[ImageLine, ...] = ()
        self.folder = QLineEdit()
        self.folder.setAccessibleName("Folder of the shelf")
        self.folder.setPlaceholderText("a folder, or a USB stick, with a signed manifest")
        self.choose, self.open = button("Choose …", "Choose the folder"), button("Open shelf")
        self.images, self.facts = QListWidget(), SectionPane("What is said of the image")
        self.images.setAccessibleName("Images on the shelf")
        self.images.setWordWrap(True)
        self.images.setSpacing(2)
        self.images.setFixedHeight(self.images.fontMetrics().height() * _LIST_LINES)
        self.band = ShelfBand()
        self.no_image = wrapped("Open a shelf: its images stand here, each with its signature.")
        self._locked = False
        self.units = UnitTicks()
        self.units.show_choices(unit_choices(house, wanted))
        self.at_once = _figure("Units at once", AT_ONCE, 1, MOST_AT_ONCE, "")
        self.dwell = _figure("Seconds of good reports", DWELL_S, 0, MOST_DWELL_S, " s")
        self.pull = QCheckBox("Units fetch it themselves")
        self.pull.setAccessibleName("Units fetch the image themselves")
        self._lay_out()
        self._connect()

    @property
    def line(self) -> ImageLine | None:
        """The image that is chosen."""
        at = self.images.currentRow()
        return self._lines[at] if 0 <= at < len(self._lines) else None

    def show_shelf(self, look: ShelfLook) -> None:
        """Show whose key signed the shelf, and what lies on it where that key is trusted."""
        self._lines, self._locked = look.images, not look.trusted
        self.band.show_look(look)
        self.images.clear()
        for line in self._lines:
            item = QListWidgetItem(glyph_icon(trust_state(line)), image_text(line), self.images)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, image_text(line))
        if not self._lines:
            self.no_image.setText("No image lies on that shelf.")
        self.images.setCurrentRow(0 if self._lines else -1)
        self._show_facts()

    def open_last(self, folder: str) -> None:
        """Look again through the shelf that was opened last; "" for none."""
        self.folder.setText(folder)
        self._ask()

    def _lay_out(self) -> None:
        shelf = QHBoxLayout()
        shelf.addWidget(buddied("S&helf", self.folder))
        for one in (self.folder, self.choose, self.open):
            shelf.addWidget(one)
        terms = QGridLayout()
        terms.addWidget(buddied("At &once", self.at_once), 0, 0)
        terms.addWidget(self.at_once, 0, 1)
        terms.addWidget(buddied("&Watched afterwards for", self.dwell), 1, 0)
        terms.addWidget(self.dwell, 1, 1)
        terms.addWidget(self.pull, 2, 0, 1, 2)
        left, columns = QVBoxLayout(), QHBoxLayout()
        left.addWidget(wrapped("Units that take part", bold=True))
        left.addWidget(self.units, 1)
        left.addLayout(terms)
        columns.addLayout(left, 1)
        columns.addWidget(self.facts, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(shelf)
        layout.addWidget(self.band)
        layout.addWidget(self.no_image)
        layout.addWidget(self.images)
        layout.addLayout(columns, 1)
        self.images.hide()

    def _connect(self) -> None:
        self.choose.clicked.connect(self._choose_folder)
        self.open.clicked.connect(self._ask)
        self.folder.returnPressed.connect(self._ask)
        self.images.currentRowChanged.connect(lambda _: self._show_facts())
        self.at_once.valueChanged.connect(lambda _: self._show_facts())
        self.units.ticks_changed.connect(self.choice_changed)

    def _choose_folder(self) -> None:
        folder = QFileDialog.getExistingDirectory(self, "Folder of the shelf")
        if folder:
            self.folder.setText(folder)
            self._ask()

    def _ask(self) -> None:
        if self.folder.text().strip():
            self.shelf_asked.emit(Path(self.folder.text().strip()))

    def _show_facts(self) -> None:
        line = self.line
        self.images.setVisible(bool(self._lines))
        self.no_image.setVisible(not self._lines and not self._locked)
        at_once = self.at_once.value()
        self.facts.show_sections(
            image_sections(line, self._today, at_once=at_once) if line is not None else ()
        )
        self.choice_changed.emit()


def _figure(name: str, value: int, least: int, most: int, suffix: str) -> QSpinBox:
    box = QSpinBox()
    box.setAccessibleName(name)
    box.setRange(least, most)
    box.setValue(value)
    box.setSuffix(suffix)
    return box
