"""One piece of work in the engine's thread, as the window sees it."""

from PySide6.QtCore import QObject, Qt, Signal, Slot

from fleet.model.errors import WalkdownError


class Operation(QObject):
    """A handle on work that runs elsewhere; its signals are emitted in the thread that made it.

    Signals:
        done: what the work returned.
        failed: the WalkdownError that ended it.
    """

    done = Signal(object)
    failed = Signal(object)
    _settled = Signal(object, object)

    def __init__(self) -> None:
        """Wait for the work to end."""
        super().__init__()
        self.over = False
        # Queued by name: the worker emits, and whoever listens is called in the window's thread.
        self._settled.connect(self._tell, Qt.ConnectionType.QueuedConnection)

    def settle(self, result: object, error: WalkdownError | None) -> None:
        """Say how the work ended; from any thread, once."""
        self._settled.emit(result, error)

    @Slot(object, object)
    def _tell(self, result: object, error: WalkdownError | None) -> None:
        self.over = True
        if error is None:
            self.done.emit(result)
        else:
            self.failed.emit(error)
