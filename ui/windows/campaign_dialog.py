"""Beginning a campaign: an image and its units first, then the waves, and only then the start."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from PySide6.QtWidgets import QDialog, QHBoxLayout, QLineEdit, QStackedWidget, QWidget

from fleet.engine.campaign_plan import CampaignPlan
from fleet.engine.shelf_keys import ShelfLook
from fleet.model.errors import WalkdownError
from fleet.model.house import MatchWord
from fleet.model.snapshot import Snapshot
from ui.bridge.operation import Operation
from ui.bridge.session import Session
from ui.presenters.campaign_plan_rows import OLDER_MEANT, LeftOut, downgrade_said
from ui.presenters.words import sentence
from ui.windows.dialog_parts import TroubleLine, buddied, button, follow, set_out, wrapped
from ui.windows.image_page import ImagePage
from ui.windows.key_question import AskOfKey, ask_trust, ask_withdrawal
from ui.windows.reason_dialog import ReasonDialog
from ui.windows.waves_page import WavesPage

_LEAD = "Nothing is sent before Start. It goes on while other work is done, and stops by itself."
_GO_BACK = "Plan the older build"
_WORDS = {"They go together": MatchWord.ALLOWED, "They don’t": MatchWord.BLOCKED}


class CampaignDialog(QDialog):
    """Two pages: the image and its units; the waves.

    Attributes:
        question: the question to a person that is open, or was open last.
    """

    def __init__(
        self,
        session: Session,
        snapshot: Snapshot,
        wanted: Sequence[str] = (),
        parent: QWidget | None = None,
    ) -> None:
        """Offer the units of the schedule.

        Args:
            session: the engine.
            snapshot: the visit now.
            wanted: serials that are ticked to begin with; () for all.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._house = session, snapshot.house
        self._plan: CampaignPlan | None = None
        self._downgrade_why = ""
        self.question: ReasonDialog | None = None
        self.setWindowTitle("New campaign")
        self.image = ImagePage(snapshot.house, snapshot.at.date(), wanted)
        self.waves, self.pages = WavesPage(), QStackedWidget()
        self.trouble = TroubleLine()
        self.by = QLineEdit(session.by)
        self.by.setAccessibleName("Who starts it")
        self.name = buddied("B&y", self.by)
        self.close_button, self.back = button("Cancel"), button("Back")
        self.next, self.start = button("Waves …", "Plan the waves", default=True), button("Start")
        self._lay_out()
        self._connect()
        self._turn(self.image)
        self.image.open_last(snapshot.house.shelf)

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for widget in (self.name, self.by):
            buttons.addWidget(widget)
        buttons.addStretch(1)
        for one in (self.close_button, self.back, self.next, self.start):
            buttons.addWidget(one)
        for page in (self.image, self.waves):
            self.pages.addWidget(page)
        set_out(
            self,
            wrapped("New campaign", points=16, bold=True),
            wrapped(_LEAD),
            self.pages,
            self.trouble,
            buttons,
            stretched=2,
        )
        self.resize(960, 720)

    def _connect(self) -> None:
        self.image.shelf_asked.connect(self._open_shelf)
        self.image.choice_changed.connect(self._offer)
        self.image.band.trust_asked.connect(lambda key: self._ask_of_key(ask_trust, key))
        self.image.band.withdraw_asked.connect(lambda key: self._ask_of_key(ask_withdrawal, key))
        self.waves.vouch_asked.connect(self._vouch)
        self.waves.downgrade_asked.connect(self._ask_downgrade)
        self.close_button.clicked.connect(self.reject)
        self.back.clicked.connect(lambda: self._turn(self.image))
        self.next.clicked.connect(self._ask_first_plan)
        self.start.clicked.connect(self._ask_start)

    def _turn(self, page: QWidget) -> None:
        first = page is self.image
        self.pages.setCurrentWidget(page)
        self.next.setVisible(first)
        for widget in (self.back, self.start, self.name, self.by):
            widget.setVisible(not first)
        (self.next if first else self.start).setDefault(True)
        self.trouble.say("")
        self._offer()

    def _offer(self) -> None:
        line = self.image.line
        ready = line is not None and line.trusted and bool(self.image.units.chosen())
        self.next.setEnabled(ready)
        self.start.setEnabled(self._plan is not None and bool(self._plan.updates))

    def _open_shelf(self, folder: Path) -> None:
        self.trouble.say("")
        self.image.open.setEnabled(False)
        self._follow(self._session.run(lambda visit: visit.open_shelf(folder)), self._show_shelf)

    def _show_shelf(self, look: ShelfLook) -> None:
        self.image.open.setEnabled(True)
        self.image.show_shelf(look)
        (self.image.images if look.images else self.image.folder).setFocus()
        self._offer()

    def _ask_of_key(self, ask: AskOfKey, fingerprint: str) -> None:
        """A word on the shelf's key; the shelf is looked through again after it."""
        folder = Path(self.image.folder.text().strip())
        self._ask(ask(self._session, fingerprint, self, lambda: self._open_shelf(folder)))

    def _ask_first_plan(self) -> None:
        """An older build is never meant by default: whoever meant one says so of each plan anew."""
        self._downgrade_why = ""
        self._ask_plan()

    def _ask_plan(self) -> None:
        line, page = self.image.line, self.image
        if line is None or not line.trusted:
            return
        chosen, bench = page.units.chosen(), page.units.on_bench()
        at_once, dwell_s, pull = page.at_once.value(), page.dwell.value(), page.pull.isChecked()
        why = self._downgrade_why
        self.next.setEnabled(False)
        operation = self._session.run(
            lambda visit: visit.plan_campaign(
                line.image.version,
                chosen,
                bench=bench,
                at_once=at_once,
                dwell_s=dwell_s,
                pull=pull,
                file=line.image.file,
                downgrade_why=why,
            )
        )
        self._follow(operation, self._show_plan)

    def _show_plan(self, plan: CampaignPlan) -> None:
        self._plan = plan
        self.waves.show_plan(self._session.house or self._house, plan)
        self._turn(self.waves)

    def _ask_start(self) -> None:
        plan, by = self._plan, self.by.text().strip()
        if plan is None:
            return
        if not by:
            self.trouble.say("Nothing was sent: say who starts it, in the line “By”.")
            return
        self.start.setEnabled(False)
        operation = self._session.run(lambda visit: visit.start_campaign(plan, by=by))
        self._follow(operation, lambda _: self.accept())

    def _vouch(self, left_out: LeftOut) -> None:
        plan = self._plan
        if plan is None:
            return
        question = ReasonDialog(
            self._session,
            f"{left_out.label}: does it go together?",
            f"{sentence(left_out.why)} Your word counts for every unit of that kind, at every site, "
            "and stands in the journal with your reason.",
            tuple(_WORDS),
            parent=self,
        )
        question.chosen.connect(
            lambda word, reason, by: question.wait_for(
                self._session.run(
                    lambda visit: visit.vouch(
                        plan.image, left_out.key, word=_WORDS[word], by=by, reason=reason
                    )
                ),
                lambda _: self._ask_plan(),
            )
        )
        self._ask(question)

    def _ask_downgrade(self) -> None:
        plan, house = self._plan, self._session.house or self._house
        if plan is None:
            return
        question = ReasonDialog(
            self._session,
            "Is an older build meant?",
            downgrade_said(house, plan),
            [_GO_BACK],
            tick=OLDER_MEANT,
            parent=self,
        )
        question.chosen.connect(lambda _, why, by: self._mean_older(question, why, by))
        self._ask(question)

    def _mean_older(self, question: ReasonDialog, why: str, by: str) -> None:
        question.accept()
        self.by.setText(by)
        self._downgrade_why = why
        self._ask_plan()

    def _ask(self, question: ReasonDialog) -> None:
        self.question = question
        question.open()

    def _follow(self, operation: Operation, done: Callable[[Any], object]) -> None:
        follow(self._session, operation, self, done, self._fail)

    def _fail(self, error: WalkdownError) -> None:
        self.image.open.setEnabled(True)
        self._offer()
        self.trouble.tell(error)
