"""Studio paperwork: measurement chart, spec sheet, cutting list, as CSV, Markdown or a workbook."""

from sleevewright.writing.tables.chart import measurement_chart
from sleevewright.writing.tables.csv import to_csv
from sleevewright.writing.tables.cutting import cutting_list
from sleevewright.writing.tables.markdown import to_markdown
from sleevewright.writing.tables.spec import spec_sheet
from sleevewright.writing.tables.table import Cell, Table
from sleevewright.writing.tables.xlsx import to_xlsx

__all__ = [
    "Cell",
    "Table",
    "cutting_list",
    "measurement_chart",
    "spec_sheet",
    "to_csv",
    "to_markdown",
    "to_xlsx",
]
