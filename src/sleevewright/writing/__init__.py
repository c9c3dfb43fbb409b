"""A finished pattern to files: front doors `FORMATS`, `of_all_sizes` and `write_files`.

`FORMATS` is the one table of formats: name -> function that gives the bytes of a file. Formats that
need a heavy library load it when they are used.
"""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from sleevewright.pattern.result import Result
from sleevewright.writing.dxf import write_dxf
from sleevewright.writing.json import write_json
from sleevewright.writing.sheet import Sheet, lay_out
from sleevewright.writing.svg import write_svg
from sleevewright.writing.whole_files import write_files


def _pdf(result: Result) -> bytes:
    from sleevewright.writing.pdf import write_pdf  # noqa: PLC0415

    return write_pdf([result])


def _plot(result: Result) -> bytes:
    from sleevewright.writing.pdf import write_plot  # noqa: PLC0415

    return write_plot([result])


def _report(result: Result) -> bytes:
    from sleevewright.writing.report import write_report  # noqa: PLC0415

    return write_report(result)


def _xlsx(result: Result) -> bytes:
    from sleevewright.writing.tables import (  # noqa: PLC0415
        cutting_list,
        measurement_chart,
        spec_sheet,
        to_xlsx,
    )

    return to_xlsx([measurement_chart([result]), spec_sheet([result]), cutting_list(result)])


def _csv(result: Result) -> bytes:
    from sleevewright.writing.tables import cutting_list, to_csv  # noqa: PLC0415

    return to_csv(cutting_list(result))


#: Name of a format -> the function that makes the bytes of its file.
FORMATS: Mapping[str, Callable[[Result], bytes]] = MappingProxyType(
    {
        "dxf": write_dxf, "svg": write_svg, "json": write_json, "pdf": _pdf, "plot": _plot,
        "report": _report, "xlsx": _xlsx, "csv": _csv,
    }
)  # fmt: skip


def of_all_sizes(results: Sequence[Result], formats: Sequence[str]) -> Mapping[str, bytes]:
    """Return the files that are of all sizes of a variant together, file name -> bytes.

    With `pdf`: the sizes nested on one another; with `xlsx` and `csv`: measurement chart and spec
    sheet with a column a size. Nothing where there is one size.
    """
    found: dict[str, bytes] = {}
    if len(results) < 2:
        return found
    if "pdf" in formats:
        from sleevewright.writing.pdf import write_pdf  # noqa: PLC0415

        found["all-sizes.pdf"] = write_pdf(results)
    if "xlsx" in formats or "csv" in formats:
        from sleevewright.writing.tables import (  # noqa: PLC0415
            measurement_chart,
            spec_sheet,
            to_csv,
            to_xlsx,
        )

        chart, spec = measurement_chart(results), spec_sheet(results)
        if "xlsx" in formats:
            found["all-sizes.xlsx"] = to_xlsx([chart, spec])
        if "csv" in formats:
            found["measurement-chart.csv"] = to_csv(chart)
            found["spec-sheet.csv"] = to_csv(spec)
    return found


__all__ = ["FORMATS", "Sheet", "lay_out", "of_all_sizes", "write_files"]
