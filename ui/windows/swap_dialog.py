"""Swapping a unit or its module: what carries over, what is dropped, what lapses, what is to do again."""

from PySide6.QtWidgets import QDialog, QHBoxLayout, QLineEdit, QWidget

from fleet.jobs.swapping import SwapPlan
from fleet.model.errors import WalkdownError
from fleet.model.snapshot import HouseState
from ui.bridge.session import Session
from ui.presenters.swap_rows import SwapRequest, sign_of, sign_words, successors, swap_sections
from ui.widgets.section_pane import SectionPane
from ui.windows.dialog_parts import Noted, TroubleLine, buddied, button, follow, set_out, wrapped
from ui.windows.swap_choices import SwapChoices

_LEAD = (
    "Who stands in its place now? Nothing is sent to a unit by the swap itself: settings and areas that "
    "carry over wait in the review afterwards."
)
_NEED = "Nothing was swapped: say who swaps it, and why."


class SwapDialog(QDialog):
    """Who takes over, what that comes to, and a person's word."""

    def __init__(
        self,
        session: Session,
        house: HouseState,
        serial: str,
        label: str,
        parent: QWidget | None = None,
    ) -> None:
        """Offer who may take over.

        Args:
            session: the engine.
            house: the state.
            serial, label: the unit whose place is taken over.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._label = session, label
        self._plan: SwapPlan | None = None
        self._house = house
        self._waits_for: SwapRequest | None = None
        self.setWindowTitle(f"Swap {label}")
        unit, sign = house.units.get(serial), sign_of(house, label)
        pose = unit.line.pose if unit is not None else None
        self.choices = SwapChoices(successors(house, serial), sign, pose)
        self.pane, self.sign = SectionPane("What the swap comes to"), Noted(sign_words(sign))
        self.said, self.trouble = wrapped(""), TroubleLine()
        self.why, self.by = QLineEdit(), QLineEdit(session.by)
        self.why.setAccessibleName("Why it is swapped")
        self.why.setPlaceholderText("for example: it stayed away after a power cut")
        self.by.setAccessibleName("Who swaps it")
        self.swap = button("Swap", f"Swap {label}")
        self.swap.setEnabled(False)
        self._lay_out()
        self.choices.changed.connect(self._ask_plan)
        self.swap.clicked.connect(self._ask_swap)
        self._ask_plan()

    def _lay_out(self) -> None:
        words = QHBoxLayout()
        close = button("Cancel")
        close.clicked.connect(self.reject)
        for widget in (buddied("&Why", self.why), self.why, buddied("B&y", self.by), self.by):
            words.addWidget(widget)
        for one in (close, self.swap):
            words.addWidget(one)
        set_out(
            self,
            wrapped(f"Swap {self._label}", points=16, bold=True),
            wrapped(_LEAD),
            self.sign,
            self.choices,
            self.said,
            self.pane,
            self.trouble,
            words,
            stretched=5,
        )
        self.resize(860, 620)

    def _ask_plan(self) -> None:
        request, label = self.choices.request(), self._label
        self._plan, self._waits_for = None, request
        self.swap.setEnabled(False)
        self.trouble.say("")
        self._say("Nobody can take over: scan first." if request is None else "Working it out …")
        if request is not None:
            operation = self._session.run(
                lambda visit: visit.plan_swap(
                    label,
                    request.serial,
                    kind=request.kind,
                    mount=request.mount,
                    chosen_areas=request.chosen_areas,
                )
            )
            follow(
                self._session,
                operation,
                self,
                lambda plan: self._show(request, plan),
                lambda error: self._fail_planning(request, error),
            )

    def _show(self, request: SwapRequest, plan: SwapPlan) -> None:
        if request != self._waits_for:  # something else was chosen meanwhile
            return
        self._plan = plan
        self._say("")
        house = self._session.house or self._house
        self.choices.show_plan(plan)
        self.pane.show_sections(swap_sections(house, plan))
        self.swap.setEnabled(not house.read_only)

    def _fail_planning(self, request: SwapRequest, error: WalkdownError) -> None:
        if request == self._waits_for:
            self.pane.show_sections(())
            self._fail(error)

    def _ask_swap(self) -> None:
        plan, by, why = self._plan, self.by.text().strip(), self.why.text().strip()
        if plan is None:
            return
        if not by or not why:
            self.trouble.say(_NEED)
            return
        self.trouble.say("")
        self.swap.setEnabled(False)
        operation = self._session.run(lambda visit: visit.swap(plan, by=by, why=why))
        follow(self._session, operation, self, lambda _: self.accept(), self._fail)

    def _say(self, text: str) -> None:
        self.said.setText(text)
        self.said.setVisible(bool(text))

    def _fail(self, error: WalkdownError) -> None:
        self._say("")
        self.swap.setEnabled(self._plan is not None)
        self.trouble.tell(error)
