"""Taking the visit's snapshot once a frame, and saying so only where it is another one."""

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from fleet.model.snapshot import HouseState, Snapshot

FRAME_MS = 33


class SnapshotFeed(QObject):
    """A timer of the window that looks at one reference.

    Signals:
        snapshot_changed: the new Snapshot, at most once a frame.
        house_changed: the new HouseState; emitted before the snapshot that brought it.
    """

    snapshot_changed = Signal(object)
    house_changed = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        """Wait for `follow`."""
        super().__init__(parent)
        self._take: Callable[[], Snapshot] | None = None
        self._snapshot: Snapshot | None = None
        self._house: HouseState | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self.look)

    @property
    def snapshot(self) -> Snapshot | None:
        """The last snapshot that was taken."""
        return self._snapshot

    def follow(self, take: Callable[[], Snapshot]) -> None:
        """Look at what `take` returns, from now on."""
        self._take = take
        self._snapshot = self._house = None
        self._timer.start()
        self.look()

    def stop(self) -> None:
        """Look no more."""
        self._timer.stop()
        self._take = None

    @Slot()
    def look(self) -> None:
        """Look once."""
        if self._take is None:
            return
        snapshot = self._take()
        if snapshot is self._snapshot:
            return
        self._snapshot = snapshot
        if snapshot.house is not self._house:
            self._house = snapshot.house
            self.house_changed.emit(snapshot.house)
        self.snapshot_changed.emit(snapshot)
