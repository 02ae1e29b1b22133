"""Long work that is running: what it is, how far it got, and whether somebody asked it to stop."""

from dataclasses import replace

from fleet.model.snapshot import OperationView


class Operation:
    """A handle on one running piece of work; a context that takes itself off the list at its end."""

    def __init__(self, book: "OperationBook", view: OperationView) -> None:
        """Stand on the book's list from now on."""
        self._book = book
        self._view = view
        self.stop_asked = False

    @property
    def view(self) -> OperationView:
        """How it stands."""
        return self._view

    def say(self, said: str, done: float | None = None) -> None:
        """Tell how far it got.

        Args:
            said: what it is at, in words.
            done: share of the whole, 0 to 1; None while unknown.
        """
        done_ppm = None if done is None else round(done * 1e6)
        self._view = replace(self._view, said=said, done_ppm=done_ppm)

    def __enter__(self) -> "Operation":
        """Begin."""
        return self

    def __exit__(self, *_: object) -> None:
        """End, however it ended."""
        self._book.running.pop(self._view.key, None)


class OperationBook:
    """All running operations, by key."""

    def __init__(self) -> None:
        """Start with none."""
        self.running: dict[int, Operation] = {}
        self._next_key = 1

    def begin(self, title: str, *, can_stop: bool = False) -> Operation:
        """Begin an operation."""
        view = OperationView(self._next_key, title, None, can_stop=can_stop)
        self._next_key += 1
        operation = Operation(self, view)
        self.running[view.key] = operation
        return operation

    def views(self) -> tuple[OperationView, ...]:
        """Return how all of them stand."""
        return tuple(operation.view for operation in self.running.values())
