"""The window's session: one visit after another in one engine thread, and the feed of its snapshots."""

from collections.abc import Awaitable, Callable
from typing import Any

from PySide6.QtCore import QObject, Signal

from fleet.model.errors import PlanError, WalkdownError
from fleet.model.snapshot import HouseState, Snapshot
from ui.bridge.collecting import Collecting
from ui.bridge.engine_thread import EngineThread
from ui.bridge.operation import Operation
from ui.bridge.snapshot_feed import SnapshotFeed
from ui.bridge.visit_like import VisitLike

MakeVisit = Callable[[], Awaitable[VisitLike]]


class Session(QObject):
    """What the window does with the engine.

    Attributes:
        feed: snapshots of the visit that is open.
        by: who does what is done, for the journal.

    Signals:
        opened: a visit is under way.
        failed: a WalkdownError of an operation that nobody else shows.
    """

    opened = Signal()
    failed = Signal(object)

    def __init__(self, by: str, parent: QObject | None = None) -> None:
        """Start the engine's thread; no visit is open."""
        super().__init__(parent)
        self.by = by
        self.feed = SnapshotFeed(self)
        self._collecting = Collecting(self)
        self._engine = EngineThread()
        self._visit: VisitLike | None = None
        self._make_visit: MakeVisit | None = None

    @property
    def snapshot(self) -> Snapshot | None:
        """The last snapshot."""
        return self.feed.snapshot

    @property
    def house(self) -> HouseState | None:
        """The last state of the house."""
        return self.feed.snapshot.house if self.feed.snapshot else None

    def open(self, make_visit: MakeVisit) -> Operation:
        """End the visit that is open, and begin another."""
        before, self._visit = self._visit, None
        self._make_visit = make_visit
        self.feed.stop()
        operation = self._engine.submit(lambda: _begin(before, make_visit))
        operation.done.connect(self._follow)
        operation.failed.connect(self.failed)
        return operation

    def change_site(self, name: str) -> Operation:
        """End the visit that is open, and begin the next at another site of its inventory."""
        make_visit = self._make_visit

        async def make_there() -> VisitLike:
            visit = await _needed(make_visit)()
            try:
                await visit.choose_site(name)
            except WalkdownError:
                await visit.stop()
                raise
            return visit

        operation = self.open(make_there)
        self._make_visit = make_visit
        return operation

    def run(self, work: Callable[[VisitLike], Awaitable[Any]]) -> Operation:
        """Do something with the visit, in the engine's loop."""
        visit = self._visit
        return self._engine.submit(lambda: work(_open_one(visit)))

    def stop_operation(self, key: int) -> None:
        """Ask a running operation of the visit to stop."""
        visit = self._visit
        if visit is not None:
            self._engine.call_soon(lambda: visit.stop_operation(key))

    def close(self) -> bool:
        """End visit and thread; say whether they ended in time."""
        self.feed.stop()
        visit, self._visit = self._visit, None
        ended = self._engine.close(visit.stop if visit is not None else None)
        if ended:  # a thread that hangs on must go on without clearing
            self._collecting.stop()
        return ended

    def _follow(self, visit: VisitLike) -> None:
        self._visit = visit
        self.feed.follow(visit.snapshot)
        self.opened.emit()


async def _begin(before: VisitLike | None, make_visit: MakeVisit) -> VisitLike:
    if before is not None:
        await before.stop()
    visit = await make_visit()
    await visit.start()
    return visit


def _needed(make_visit: MakeVisit | None) -> MakeVisit:
    if make_visit is None:
        raise _none_open()
    return make_visit


def _open_one(visit: VisitLike | None) -> VisitLike:
    if visit is None:
        raise _none_open()
    return visit


def _none_open() -> PlanError:
    return PlanError("no site is open yet.", next_step="Open one first.")
