"""A report from the window: for whom, on which paper, with hours or without, and where to."""

from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import get_args

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QWidget

from diagnose.errors import PullOnceError
from diagnose.records.kept import KeptConflict
from diagnose.report import (
    Edition,
    Paper,
    Photograph,
    Report,
    program_version,
    report_html,
    report_of,
    spoken_day,
    write_report,
)
from ui import theme
from ui.jobs import Job, Jobs
from ui.report_pages import usual_paper
from ui.report_pdf import report_pdf
from ui.views.parts import labelled, quiet_button
from ui.weighing import Standing
from ui.widgets.field import Field
from ui.widgets.panel_dialog import PanelDialog
from ui.widgets.switch import Switch
from ui.widgets.text import Words

_EDITIONS: dict[Edition, tuple[str, str]] = {
    "customer": ("For the &customer or the kit's supplier", "findings, figures, conclusion"),
    "job": ("For the &job folder", "everything, with notes, weights and the plan"),
}
_PAPERS: dict[Paper, str] = {"a4": "A&4", "letter": "&Letter"}
_ENDINGS = {".pdf", ".html", ".htm"}
_WAIT = "Writing the report …"
_WRONG = "Name a file that ends in .pdf or in .html, in a folder that is there."


class ReportDialog(PanelDialog):
    """Asks what the report should be like, and writes it.

    Parameters
    ----------
    standing : Standing
        The case, what it is assessed as, and the advice.
    photographs : callable
        Gives the case's photographs; called beside the window.
    folder : str
        Where reports go, if nothing else is said.
    jobs : Jobs
    parent : QWidget
    conflicts : sequence of KeptConflict
        Answers of two people that nobody has settled.

    Signals
    -------
    written(object)
        The report is in this file, a `Path`.
    """

    written = Signal(object)

    def __init__(
        self,
        standing: Standing,
        photographs: Callable[[], Sequence[Photograph]],
        folder: str,
        jobs: Jobs,
        parent: QWidget,
        *,
        conflicts: Sequence[KeptConflict] = (),
    ) -> None:
        super().__init__("Report", parent)
        self._standing, self._photographs, self._jobs = standing, photographs, jobs
        self._conflicts = conflicts
        self.ask_path: Callable[[], str] = self._ask_path
        self.column.addWidget(Words("Report", role="title", weight="bold"))
        self.edition = Switch("For whom", [(k, text) for k, (text, _) in _EDITIONS.items()], most=2)
        self.edition.set_value("customer")
        self.edition.changed.connect(lambda _key: self._on_edition())
        self._means = Words("", role="small", tone="muted")
        self.hours = Switch("Hours", (("no", "&Without hours"), ("yes", "With ho&urs")), most=2)
        self.paper = Switch("Paper", list(_PAPERS.items()), most=2)
        self.paper.set_value(usual_paper())
        for widget in (self.edition, self._means, self.hours, self.paper):
            self.column.addWidget(widget)
        self.where = Field()
        self.where.setText(str(Path(folder or Path.home()) / f"{_file_name(standing)}.pdf"))
        about = "A file that ends in .pdf, or in .html for a web page"
        row = QHBoxLayout()
        row.setSpacing(theme.STEP)
        row.addWidget(labelled("Where &to", about, self.where, lines=30), 1)
        choose = quiet_button("Ch&oose …", self._on_choose)
        row.addWidget(choose, 0, Qt.AlignmentFlag.AlignBottom)
        self.column.addLayout(row)
        self.column.addWidget(Words(f"{about}. Nothing is opened.", role="small", tone="muted"))
        self.said = Words("")
        self.said.say("")
        self.column.addWidget(self.said)
        self.column.addStretch(1)
        self.buttons.addStretch(1)
        cancel = self.add_button("Close (Esc)")
        cancel.clicked.connect(self.reject)
        self.write = self.add_button("Write the &report", kind="primary")
        self.write.clicked.connect(lambda _=False: self._on_write())
        self.where.returnPressed.connect(self._on_write)
        self._on_edition()
        self.edition.buttons["customer"].setFocus(Qt.FocusReason.OtherFocusReason)

    def done(self, result: int, /) -> None:
        """Close it; a report that is being written is written, and nobody hears of it."""
        self._jobs.drop("report")
        super().done(result)

    def _on_edition(self) -> None:
        edition = self._edition()
        self._means.setText(_EDITIONS[edition][1].capitalize() + ".")
        self.hours.set_value("yes" if edition == "job" else "no")

    def _edition(self) -> Edition:
        return next(e for e in get_args(Edition) if e == self.edition.value)

    def _on_choose(self) -> None:
        chosen = self.ask_path()
        if chosen:
            self.where.setText(chosen)

    def _on_write(self) -> None:
        path = Path(self.where.text().strip()).expanduser()
        if path.suffix.lower() not in _ENDINGS or not path.parent.is_dir():
            self._say(_WRONG, tone="stop")
            self.where.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        paper = next(p for p in get_args(Paper) if p == self.paper.value)
        photographs = self._photographs
        report = partial(
            report_of,
            self._standing.assessment,
            self._standing.advice,
            edition=self._edition(),
            hours=self.hours.value == "yes",
            made=spoken_day(date.today()),
            conflicts=self._conflicts,
            program=program_version(),
        )
        self._say(_WAIT, tone="muted")
        self.write.setEnabled(False)
        self._jobs.start(
            "report",
            Job(
                lambda: _written(report(photographs=photographs()), path, paper),
                self._on_written,
                self._on_failed,
            ),
        )

    def _on_written(self, path: Path) -> None:
        self.accept()
        self.written.emit(path)

    def _on_failed(self, error: Exception) -> None:
        self.write.setEnabled(True)
        if not isinstance(error, PullOnceError):
            raise error
        self._say(f"{error.sentence} {error.next_step}", tone="stop")

    def _say(self, text: str, *, tone: str) -> None:
        self.said.set_tone(tone)
        self.said.say(text)
        self.fit()

    def _ask_path(self) -> str:
        kinds = "Reports (*.pdf *.html)"
        return QFileDialog.getSaveFileName(self, "The report", self.where.text(), kinds)[0]


def _file_name(standing: Standing) -> str:
    """Give a name for the file from that of the case: letters, digits and hyphens."""
    title = standing.assessment.case.title
    kept = "".join(sign if sign.isalnum() else " " for sign in title)
    return "-".join(kept.split())[:60] or "pull-once-report"


def _written(report: Report, path: Path, paper: Paper) -> Path:
    """Write a report; gives where it is.

    Raises
    ------
    ReportError
        If it can't be written.
    """
    if path.suffix.lower() == ".pdf":
        content = report_pdf(report, paper)
    else:
        content = report_html(report, paper).encode()
    write_report(path, content)
    return path
