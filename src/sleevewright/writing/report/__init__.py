"""The report: one self-contained HTML page for a variant; front door `write_report`."""

from sleevewright.writing.report.page import write_report

__all__ = ["write_report"]
