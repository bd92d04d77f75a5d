"""Reports of a case: for the customer or the kit's supplier, and for the job folder.

`report_of` makes the record from an assessment, `blocks_of` says in which order and words it is
told, `report_html` makes one web page of it; `ui.report_pdf` puts it on paper.
"""

from diagnose.report.file import ReportError, write_report
from diagnose.report.gather import program_version, report_of
from diagnose.report.order import blocks_of, foot_line, head_line
from diagnose.report.page import report_html
from diagnose.report.paper import PAPERS, SHEETS, Paper
from diagnose.report.record import EDITIONS, Edition, Photograph, Report
from diagnose.report.stored import photographs_of
from diagnose.report.told import spoken_day

__all__ = [
    "EDITIONS",
    "PAPERS",
    "SHEETS",
    "Edition",
    "Paper",
    "Photograph",
    "Report",
    "ReportError",
    "blocks_of",
    "foot_line",
    "head_line",
    "photographs_of",
    "program_version",
    "report_html",
    "report_of",
    "spoken_day",
    "write_report",
]
