"""The jobs: four groups of lines, each with its state, subject, reason and one thing to do."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFont, QMouseEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from fleet.model.snapshot import Job
from ui.presenters.job_rows import JobGroup, job_title, job_words
from ui.widgets.state_glyph import StateGlyph


class JobsList(QScrollArea):
    """Groups of jobs, one under the other.

    Signals:
        job_chosen: a Job; its line was clicked, or its button took the focus.
        job_asked: a Job; its button was pressed.
    """

    job_chosen = Signal(object)
    job_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Show nothing yet."""
        super().__init__(parent)
        self.setAccessibleName("Jobs")
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._groups: tuple[JobGroup, ...] = ()
        self._lines: dict[str, JobLine] = {}
        self._chosen = ""

    def show_groups(self, groups: Sequence[JobGroup]) -> None:
        """Show these groups, keeping the focus and the place; nothing is done where they are the same."""
        if tuple(groups) == self._groups:
            return
        self._groups = tuple(groups)
        focused = next((k for k, line in self._lines.items() if line.button.hasFocus()), "")
        scrolled = self.verticalScrollBar().value()
        self._lines = {}
        page = QWidget()
        layout = QVBoxLayout(page)
        layout.setContentsMargins(0, 0, 8, 0)
        layout.setSpacing(4)
        for group in groups:
            self._add_group(layout, group)
        layout.addStretch(1)
        self.setWidget(page)
        self.verticalScrollBar().setValue(scrolled)
        if focused in self._lines:
            self._lines[focused].button.setFocus()
        self._mark(self._chosen)

    def choose(self, key: str) -> None:
        """Choose a line, as if a person had."""
        if key in self._lines:
            line = self._lines[key]
            self.ensureWidgetVisible(line)
            self._choose(line.job)

    def _add_group(self, layout: QVBoxLayout, group: JobGroup) -> None:
        heading = QHBoxLayout()
        title = QLabel(group.title)
        title.setObjectName("groupTitle")
        title.setFont(_bold(title.font()))
        heading.addWidget(title)
        heading.addStretch(1)
        heading.addWidget(QLabel(group.count))
        layout.addLayout(heading)
        rule = QFrame()
        rule.setFrameShape(QFrame.Shape.HLine)
        layout.addWidget(rule)
        for job in group.jobs:
            line = JobLine(job)
            line.chosen.connect(self._choose)
            line.button.clicked.connect(lambda _=False, job=job: self.job_asked.emit(job))
            self._lines[job.key] = line
            layout.addWidget(line)
        if not group.jobs:
            layout.addWidget(_wrapped(group.when_empty))
        layout.addSpacing(10)

    def _choose(self, job: Job) -> None:
        if job.key != self._chosen:
            self._chosen = job.key
            self._mark(job.key)
        self.job_chosen.emit(job)

    def _mark(self, key: str) -> None:
        for own, line in self._lines.items():
            line.mark(chosen=own == key)


class JobLine(QFrame):
    """One job.

    Signals:
        chosen: the Job.
    """

    chosen = Signal(object)

    def __init__(self, job: Job, parent: QWidget | None = None) -> None:
        """Show a job."""
        super().__init__(parent)
        self.job = job
        self.setObjectName("jobLine")
        self.setAccessibleName(job_words(job))
        self.setAutoFillBackground(True)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(6, 6, 4, 6)
        layout.addWidget(StateGlyph(job.state), 0, Qt.AlignmentFlag.AlignTop)
        words = QVBoxLayout()
        words.setSpacing(2)
        title = _wrapped(job_title(job))
        title.setFont(_bold(title.font()))
        words.addWidget(title)
        words.addWidget(_wrapped(f"{job.state}: {job.reason}"))
        layout.addLayout(words, 1)
        self.button = QPushButton(job.action)
        self.button.setAccessibleName(f"{job.action}: {job_title(job)}")
        self.button.installEventFilter(self)
        layout.addWidget(self.button, 0, Qt.AlignmentFlag.AlignTop)

    def mark(self, *, chosen: bool) -> None:
        """Look chosen or not."""
        role = self.palette().ColorRole
        self.setBackgroundRole(role.Highlight if chosen else role.Base)
        self.setForegroundRole(role.HighlightedText if chosen else role.Text)
        for label in self.findChildren(QLabel):
            label.setForegroundRole(role.HighlightedText if chosen else role.Text)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        """A click chooses the line."""
        super().mousePressEvent(event)
        self.chosen.emit(self.job)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        """The button's focus chooses the line, so that the plan turns to it by keyboard too."""
        if watched is self.button and event.type() is QEvent.Type.FocusIn:
            self.chosen.emit(self.job)
        return super().eventFilter(watched, event)


def _wrapped(text: str) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.MinimumExpanding)
    return label


def _bold(font: QFont) -> QFont:
    bold = QFont(font)
    bold.setBold(True)
    return bold
