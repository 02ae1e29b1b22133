"""The head of the window: the site's name, what has to be said of it, the go-to box, and what to start."""

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QCompleter,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QWidget,
)

from ui.presenters.places import Place, find_place
from ui.windows.dialog_parts import button

SITE_POINTS = 14


class Head(QWidget):
    """Site, note, go-to box, buttons.

    Signals:
        place_chosen: a Place that was typed.
        not_found: what was typed and is no place.
    """

    place_chosen = Signal(object)
    not_found = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Say nothing yet."""
        super().__init__(parent)
        self.setObjectName("head")
        self._places: tuple[Place, ...] = ()
        self.site, self.note = QLabel(), QLabel()
        font = QFont(self.site.font())
        font.setPointSize(SITE_POINTS)
        font.setBold(True)
        self.site.setFont(font)
        self.note.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.go_to = QLineEdit()
        self.go_to.setPlaceholderText("Go to room, unit, job …  Ctrl+G")
        self.go_to.setAccessibleName("Go to room, unit or job")
        self.go_to.setMinimumWidth(280)
        self._names = QStringListModel(self)
        self._completer = QCompleter(self._names, self)
        self._completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self._completer.setFilterMode(Qt.MatchFlag.MatchContains)
        self.go_to.setCompleter(self._completer)
        self.go_to.returnPressed.connect(self._go)
        self.lap = _key_button("Start lap", "Ctrl+L")
        self.lap.setProperty("main", True)  # noqa: FBT003 - Qt's own call
        self.record = _key_button("Issue record", "Ctrl+I")
        self.sites = _key_button("Sites", "Ctrl+O")
        self.theme = _key_button("Dark", "Ctrl+T")
        layout = QHBoxLayout(self)
        layout.setContentsMargins(16, 8, 16, 8)
        layout.setSpacing(10)
        layout.addWidget(self.site)
        layout.addSpacing(12)
        layout.addWidget(self.note, 1)
        for widget in (self.go_to, self.lap, self.record, self.sites, self.theme):
            layout.addWidget(widget)

    def show_places(self, places: tuple[Place, ...]) -> None:
        """Know these places from now on."""
        self._places = places
        self._names.setStringList([place.text for place in places])

    def show_site(self, name: str, note: str) -> None:
        """Say which site it is."""
        if (self.site.text(), self.note.text()) != (name, note):
            self.site.setText(name)
            self.note.setText(note)
            self.note.setToolTip(note)

    def show_theme(self, theme: str) -> None:
        """Offer the other theme."""
        other = "Dark" if theme == "light" else "Light"
        self.theme.setText(other)
        self.theme.setAccessibleName(f"{other} colours")

    def _go(self) -> None:
        place = find_place(self._places, self.go_to.text())
        if place is None:
            self.not_found.emit(self.go_to.text().strip())
        else:
            self.go_to.clear()
            self.place_chosen.emit(place)


def _key_button(text: str, keys: str) -> QPushButton:
    made = button(text)
    made.setShortcut(keys)
    made.setToolTip(f"{text} ({keys})")
    return made
