"""From a worker thread that needs a passphrase to the window that asks for it, and back."""

import threading
from concurrent.futures import Future

from PySide6.QtCore import QObject, Qt, Signal


class PassphrasePrompt(QObject):
    """Made and closed in the window's thread; asked from a worker's.

    Signals:
        wanted: a Future; whoever shows the question sets what was typed, "" for nothing.
    """

    wanted = Signal(object)
    _asked = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        """Wait to be asked."""
        super().__init__(parent)
        self._lock = threading.Lock()
        self._waiting: set[Future[str]] = set()
        self._closed = False
        # Queued by name: the question is shown in the window's thread, whoever asks.
        self._asked.connect(self.wanted, Qt.ConnectionType.QueuedConnection)

    def ask(self) -> str:
        """Ask the person at the window and wait, in a worker thread; "" once the window is closing."""
        answer: Future[str] = Future()
        with self._lock:
            if self._closed:
                return ""
            self._waiting.add(answer)
        self._asked.emit(answer)
        try:
            return answer.result()
        finally:
            with self._lock:
                self._waiting.discard(answer)

    def close(self) -> None:
        """Let everybody go who waits: nobody will answer any more."""
        with self._lock:
            self._closed = True
            waiting = tuple(self._waiting)
        for answer in waiting:
            if not answer.done():
                answer.set_result("")
