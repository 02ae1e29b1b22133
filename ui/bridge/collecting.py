"""Where Python's rings of dead objects are cleared away: in the window's thread alone.

Python clears them in whichever thread happens to allocate. A ring that holds a widget, cleared in the
engine's thread, takes the whole program with it. So while there is an engine, a timer of the window does
it, by the same counts as Python would; what stood before the window opened is left out, to keep it short.
"""

import gc

from PySide6.QtCore import QObject, QTimer, Slot

LOOK_MS = 250


class Collecting(QObject):
    """Makes the window's thread the only one that clears, until `stop`; several may run at once."""

    _running = 0

    def __init__(self, parent: QObject | None = None) -> None:
        """Take it over, in the window's thread."""
        super().__init__(parent)
        self._stopped = False
        if Collecting._running == 0:
            gc.disable()
            gc.freeze()
        Collecting._running += 1
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_MS)
        self._timer.timeout.connect(self.look)
        self._timer.start()

    @Slot()
    def look(self) -> None:
        """Clear the generations that have grown over their threshold, the youngest first."""
        for generation, threshold in enumerate(gc.get_threshold()):
            if gc.get_count()[generation] <= threshold:
                return
            gc.collect(generation)

    def stop(self) -> None:
        """Give it back; once the engine's thread has ended any thread may clear again."""
        if self._stopped:
            return
        self._stopped = True
        self._timer.stop()
        Collecting._running -= 1
        if Collecting._running == 0:
            gc.unfreeze()
            gc.enable()
