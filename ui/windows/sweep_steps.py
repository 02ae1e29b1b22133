"""A sweep of identify: units blink one after another while somebody walks and says which was found."""

from collections.abc import Callable, Mapping

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication, QWidget

from fleet.model.errors import WalkdownError
from fleet.model.snapshot import Snapshot
from ui.bridge.session import Session
from ui.presenters.sweep_words import (
    TITLE,
    Found,
    SweepState,
    end_words,
    said_words,
    shown,
    ticked,
    where_words,
)
from ui.widgets.house_tree import HouseTree
from ui.windows.plan_column import PlanColumn

SECONDS_EACH = 10
"""Enough to look about a room; a unit that is missed is seen in the next sweep."""


class SweepSteps(QObject):
    """Follows a sweep in the band, on the plan, in the tree, and by a tone."""

    def __init__(
        self,
        session: Session,
        plan: PlanColumn,
        tree: HouseTree,
        *,
        place: Callable[[str], None],
        tone: Callable[[], None] = QApplication.beep,
        parent: QWidget | None = None,
    ) -> None:
        """Wait for `start`.

        Args:
            session: the engine.
            plan: its band says which unit shows itself.
            tree: marks its row.
            place: offers to place the unit of a serial.
            tone: sounded at each change.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._plan, self._tree = session, plan, tree
        self._place, self.tone = place, tone
        self._state: SweepState | None = None
        band = plan.band
        band.found.connect(lambda: self._tick(Found.THERE))
        band.elsewhere.connect(lambda: self._tick(Found.ELSEWHERE))
        band.stop_asked.connect(self._stop)
        band.closed.connect(band.hide)
        session.feed.snapshot_changed.connect(self._follow)
        session.opened.connect(self._forget)

    def start(self) -> None:
        """Have all units show themselves, one after another."""
        if self._state is not None:
            return
        self._state = SweepState()
        self._plan.meet.diagnosis.hide()
        self._plan.band.show_unit("The first unit is asked to blink …", "", ticking=False)
        operation = self._session.run(lambda visit: visit.sweep(SECONDS_EACH))
        operation.done.connect(self._end)
        operation.failed.connect(self._fail)

    def _follow(self, snapshot: Snapshot) -> None:
        if self._state is None or snapshot.showing == self._state.showing:
            return
        self._state = shown(self._state, snapshot.showing)
        if snapshot.showing:
            self.tone()
            self._tree.point_out(snapshot.showing)
            self._plan.point_out(snapshot.showing)
        self._say()

    def _say(self) -> None:
        state, house = self._state, self._session.house
        if state is None or house is None or not state.showing:
            return
        self._plan.band.show_unit(
            where_words(house, state.showing), said_words(house, state), ticking=True
        )

    def _tick(self, what: Found) -> None:
        if self._state is None or not self._state.showing:
            return
        self._state = ticked(self._state, what)
        self._say()
        serial, by, there = self._state.showing, self._session.by, what is Found.THERE
        kept = self._session.run(lambda visit: visit.say_seen(serial, where_planned=there, by=by))
        kept.failed.connect(self._not_kept)
        if what is Found.ELSEWHERE:
            self._place(serial)

    def _not_kept(self, error: WalkdownError) -> None:
        """What was said of a unit isn't written down, and has to be said again another time."""
        if self._state is not None:
            self._plan.band.show_trouble(f"◆ Not written down. {error}")
        else:
            self._session.failed.emit(error)

    def _stop(self) -> None:
        snapshot = self._session.snapshot
        for operation in snapshot.operations if snapshot else ():
            if operation.title.startswith(TITLE):
                self._session.stop_operation(operation.key)

    def _end(self, trouble: Mapping[str, str]) -> None:
        state, house = self._state, self._session.house
        self._leave()
        if state is not None and house is not None:
            self._plan.band.show_end(end_words(house, state, trouble))

    def _fail(self, error: WalkdownError) -> None:
        self._leave()
        self._plan.band.show_end(f"◆ {error}")

    def _leave(self) -> None:
        self._state = None
        self._plan.point_out("")

    def _forget(self) -> None:
        """Another site was opened: what ran was ended with the one before."""
        self._leave()
        self._plan.band.hide()
