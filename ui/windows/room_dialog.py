"""A room's checklist and its sign-off: ticks, exceptions with their reasons, name and role."""

from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QLineEdit, QWidget

from fleet.model.errors import WalkdownError
from fleet.model.findings import RoomResult
from fleet.model.house import Room
from fleet.model.snapshot import HouseState
from ui.bridge.session import Session
from ui.presenters.checklist_rows import checklist_rows, signed_words, what_is_missing
from ui.presenters.house_rows import room_note
from ui.widgets.checklist import Checklist
from ui.windows.dialog_parts import TroubleLine, button, follow, set_out, wrapped


class RoomDialog(QDialog):
    """The checklist of one room."""

    def __init__(self, session: Session, room: Room, parent: QWidget | None = None) -> None:
        """Show a room's checklist as it stands."""
        super().__init__(parent)
        self._session, self._room = session, room
        self._result: RoomResult | None = None
        self.setWindowTitle(f"Checklist: {room.name}")
        self.note, self.signed = wrapped(""), wrapped("", bold=True)
        self.checklist = Checklist()
        self.name, self.role = _line("Name of the person who accepts"), _line("Role of that person")
        self.role.setPlaceholderText("client, installer …")
        self.trouble = TroubleLine()
        self.sign = button("Sign", f"Sign {room.name}", default=True)
        self.missing = wrapped("")
        self._lay_out()
        self.checklist.tick_asked.connect(self._ask_tick)
        self.checklist.exceptions_changed.connect(self._weigh)
        self.name.textChanged.connect(self._weigh)
        self.role.textChanged.connect(self._weigh)
        self.sign.clicked.connect(self._ask_sign)
        session.feed.house_changed.connect(self._show)
        if session.house is not None:
            self._show(session.house)

    def _lay_out(self) -> None:
        close = button("Close")
        close.clicked.connect(self.reject)
        line = QHBoxLayout()
        for text, edit in (("&Name", self.name), ("&Role", self.role)):
            label = QLabel(text)
            label.setBuddy(edit)
            line.addWidget(label)
            line.addWidget(edit, 1)
        line.addWidget(close)
        line.addWidget(self.sign)
        set_out(
            self,
            wrapped(self._room.name, points=16, bold=True),
            self.note,
            self.checklist,
            self.signed,
            self.missing,
            self.trouble,
            line,
            stretched=2,
        )
        self.resize(760, 720)

    def _show(self, house: HouseState) -> None:
        result = house.rooms.get(self._room.key)
        self._result = result
        self.note.setText(room_note(result))
        if result is not None:
            self.checklist.show_rows(checklist_rows(result))
            self.signed.setText(signed_words(result))
        self._weigh()

    def _weigh(self) -> None:
        self.missing.setText(self._missing())
        self.missing.setVisible(bool(self._missing()))

    def _missing(self) -> str:
        if self._result is None:
            return "This room has no checklist yet."
        return what_is_missing(
            self._result, self.name.text(), self.role.text(), self.checklist.exceptions()
        )

    def _ask_tick(self, item: str) -> None:
        key, by = self._room.key, self._session.by
        operation = self._session.run(
            lambda visit: visit.tick(key, item, by=by, said=f"done, says {by}")
        )
        follow(self._session, operation, self, lambda _: None, self._fail)

    def _ask_sign(self) -> None:
        if self._missing():
            self.trouble.say(f"The room is not signed. {self._missing()}")
            return
        self.trouble.say("")
        key, exceptions = self._room.key, self.checklist.exceptions()
        name, role = self.name.text().strip(), self.role.text().strip()
        operation = self._session.run(
            lambda visit: visit.sign(key, name=name, role=role, exceptions=exceptions)
        )
        follow(self._session, operation, self, lambda _: self.accept(), self._fail)

    def _fail(self, error: WalkdownError) -> None:
        self.trouble.tell(error)


def _line(name: str) -> QLineEdit:
    edit = QLineEdit()
    edit.setAccessibleName(name)
    return edit
