"""The lap: one person, one room after another, a minute of house time each, prompts in large type."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QProgressBar, QWidget

from fleet.model.errors import WalkdownError
from fleet.model.house import Room
from fleet.model.snapshot import Snapshot
from ui.bridge.session import Session
from ui.presenters.lap_words import before_room, lap_done
from ui.widgets.theme import enlarge
from ui.windows.dialog_parts import TroubleLine, button, follow, set_out, wrapped

PROMPT_POINTS = 28


class LapDialog(QDialog):
    """Leads through the rooms."""

    def __init__(
        self, session: Session, rooms: tuple[Room, ...], parent: QWidget | None = None
    ) -> None:
        """Begin before the first room."""
        super().__init__(parent)
        self._session, self._rooms = session, rooms
        self._at, self._walked = 0, 0
        self._walking = self._over = False
        self.setWindowTitle("Lap")
        self.room = wrapped("", points=20, bold=True)
        self.prompt = wrapped("", points=PROMPT_POINTS, bold=True)
        self.prompt.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.prompt.setAccessibleName("What to do now")
        self.progress = QProgressBar()
        self.progress.setAccessibleName("How much of this room's minute is over")
        self.trouble = TroubleLine()
        self.go = button("I am there", "I am in the room and the doors are shut", default=True)
        self.skip = button("Next room", "Leave this room out, go to the next")
        self.stop = button("Stop the lap", "Stop the lap and work out what was walked")
        self._lay_out()
        self.go.clicked.connect(self._walk)
        self.skip.clicked.connect(self._next)
        self.stop.clicked.connect(self._finish)
        session.feed.snapshot_changed.connect(self._follow)
        self._show_room()

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for widget in (self.stop, self.skip, self.go):
            enlarge(widget)
            buttons.addWidget(widget)
        set_out(self, self.room, self.prompt, self.progress, self.trouble, buttons, stretched=1)
        self.resize(820, 480)

    def _show_room(self) -> None:
        if self._at >= len(self._rooms):
            self._finish()
            return
        room = self._rooms[self._at]
        self.room.setText(f"{room.name}, room {self._at + 1} of {len(self._rooms)}")
        self.prompt.setText(before_room(room))
        self.progress.setRange(0, 1_000_000)
        self.progress.setValue(0)
        self._enable(waiting=True)

    def _walk(self) -> None:
        key = self._rooms[self._at].key
        self._walking = True
        self._enable(waiting=False)
        self.trouble.say("")
        operation = self._session.run(lambda visit: visit.walk_room(key))
        follow(self._session, operation, self, self._walked_one, self._fail)

    def _walked_one(self, _: object) -> None:
        self._walking = False
        self._walked += 1
        self._next()

    def _next(self) -> None:
        self._at += 1
        self._show_room()

    def _follow(self, snapshot: Snapshot) -> None:
        if not self._walking:
            return
        if snapshot.prompt and snapshot.prompt != self.prompt.text():
            self.prompt.setText(snapshot.prompt)
        for operation in snapshot.operations:
            if operation.title.startswith("Lap") and operation.done_ppm is not None:
                self.progress.setValue(operation.done_ppm)

    def _finish(self) -> None:
        self._enable(waiting=False)
        self.prompt.setText("Working out what the lap shows …")
        if not self._walked:
            self._end("No room was walked, so nothing new is shown.")
            return
        operation = self._session.run(lambda visit: visit.finish_lap())
        follow(
            self._session,
            operation,
            self,
            lambda _: self._end(lap_done(self._walked, len(self._rooms))),
            self._fail,
        )

    def reject(self) -> None:
        """Closed on the way: what was walked counts all the same."""
        if self._walked and not self._over:
            operation = self._session.run(lambda visit: visit.finish_lap())
            operation.failed.connect(self._session.failed)
        super().reject()

    def _end(self, said: str) -> None:
        self._over = True
        self.room.setText("The lap is over")
        self.prompt.setText(said)
        self.stop.setText("Close")
        self.stop.setAccessibleName("Close")
        self.stop.clicked.disconnect()
        self.stop.clicked.connect(self.accept)
        self.stop.setEnabled(True)
        self.stop.setFocus()

    def _fail(self, error: WalkdownError) -> None:
        self._walking = False
        self.trouble.tell(error)
        self._enable(waiting=True)

    def _enable(self, *, waiting: bool) -> None:
        rooms_left = self._at < len(self._rooms)
        for widget in (self.go, self.skip):
            widget.setEnabled(waiting and rooms_left)
        self.stop.setEnabled(waiting)
