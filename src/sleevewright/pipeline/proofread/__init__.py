"""Outputs proofread: each is read again, by other code than wrote it, and compared with its pattern.

Front doors: `proofread`, `proofread_of_all_sizes`; `read_as` for files whose pattern is not at hand.
What a proofreader raises says in what the file differs; here it becomes one `WriteError`, since such a
file must not be put in place.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from sleevewright.errors import Place, Problem, WriteError
from sleevewright.pattern.result import Result
from sleevewright.pipeline.places import output_name, variant_key


def proofread(name: str, data: bytes, result: Result) -> None:
    """Read an output and compare it with the result it is of.

    Args:
        name: its format.
        data: its bytes.
        result: what was written.

    Raises:
        WriteError: it cannot be read, or differs by more than the rounding of its numbers.
    """
    key = variant_key(result.block, result.recipe, result.settings, result.size)
    with _told(output_name(key, name)):
        _CHECKS[name](data, result)


def proofread_of_all_sizes(file: str, data: bytes, results: Sequence[Result]) -> None:
    """Read a file of `writing.of_all_sizes` and compare it with the results it is of.

    Args:
        file: its name.
        data: its bytes.
        results: one a size.

    Raises:
        WriteError: as `proofread` does.
    """
    with _told(file):
        _CHECKS_OF_ALL[file](data, results)


def read_as(ending: str, data: bytes) -> None:
    """Read a file of ours as what its ending says it is.

    Args:
        ending: "dxf", "svg", "json", "pdf", "html", "csv" or "xlsx".
        data: its bytes.

    Raises:
        ValueError: it is none, or is damaged.
    """
    try:
        _READERS[ending](data)
    except ValueError:
        raise
    except Exception as error:  # noqa: BLE001 (readers raise anything on a damaged file)
        raise ValueError(f"{type(error).__name__}: {error}") from None


# --- telling, and loading what a format needs -------------------------------------------------


@contextmanager
def _told(file: str) -> Iterator[None]:
    try:
        yield
    except MemoryError:  # a limit of the job, not a fault of the file
        raise
    except Exception as error:  # readers raise anything on a damaged file
        kind = "" if isinstance(error, ValueError) else f"{type(error).__name__}: "
        raise WriteError(
            Problem(
                f"it was not written, for it does not read as what was made: {kind}{error}",
                Place(file), "", "this is a fault of sleevewright or of a library: report it, with"
                " the block and the recipe",
            )
        ) from error  # fmt: skip


def _dxf(data: bytes, result: Result) -> None:
    from sleevewright.pipeline.proofread.dxf import compare_dxf  # noqa: PLC0415

    compare_dxf(data, result)


def _svg(data: bytes, result: Result) -> None:
    from sleevewright.pipeline.proofread.svg import compare_svg  # noqa: PLC0415

    compare_svg(data, result)


def _json(data: bytes, result: Result) -> None:
    from sleevewright.pipeline.proofread.record import compare_record  # noqa: PLC0415

    compare_record(data, result)


def _pdf(data: bytes, results: Sequence[Result]) -> None:
    from sleevewright.pipeline.proofread.pdf import compare_pdf  # noqa: PLC0415

    compare_pdf(data, results)


def _plot(data: bytes, result: Result) -> None:
    from sleevewright.pipeline.proofread.pdf import compare_plot  # noqa: PLC0415

    compare_plot(data, [result])


def _report(data: bytes, result: Result) -> None:
    from sleevewright.pipeline.proofread.page import compare_page  # noqa: PLC0415

    compare_page(data, result)


def _xlsx(data: bytes, result: Result) -> None:
    from sleevewright.pipeline.proofread.tables import compare_workbook  # noqa: PLC0415
    from sleevewright.writing.tables import (  # noqa: PLC0415
        cutting_list,
        measurement_chart,
        spec_sheet,
    )

    tables = [measurement_chart([result]), spec_sheet([result]), cutting_list(result)]
    compare_workbook(data, tables)


def _csv(data: bytes, result: Result) -> None:
    from sleevewright.pipeline.proofread.tables import compare_csv  # noqa: PLC0415
    from sleevewright.writing.tables import cutting_list  # noqa: PLC0415

    compare_csv(data, cutting_list(result))


_CHECKS: dict[str, Callable[[bytes, Result], None]] = {
    "dxf": _dxf, "svg": _svg, "json": _json, "pdf": lambda data, result: _pdf(data, [result]),
    "plot": _plot, "report": _report, "xlsx": _xlsx, "csv": _csv,
}  # fmt: skip


# --- files of all sizes -----------------------------------------------------------------------


def _xlsx_of_all(data: bytes, results: Sequence[Result]) -> None:
    from sleevewright.pipeline.proofread.tables import compare_workbook  # noqa: PLC0415
    from sleevewright.writing.tables import measurement_chart, spec_sheet  # noqa: PLC0415

    compare_workbook(data, [measurement_chart(results), spec_sheet(results)])


def _chart(data: bytes, results: Sequence[Result]) -> None:
    from sleevewright.pipeline.proofread.tables import compare_csv  # noqa: PLC0415
    from sleevewright.writing.tables import measurement_chart  # noqa: PLC0415

    compare_csv(data, measurement_chart(results))


def _spec(data: bytes, results: Sequence[Result]) -> None:
    from sleevewright.pipeline.proofread.tables import compare_csv  # noqa: PLC0415
    from sleevewright.writing.tables import spec_sheet  # noqa: PLC0415

    compare_csv(data, spec_sheet(results))


_CHECKS_OF_ALL: dict[str, Callable[[bytes, Sequence[Result]], None]] = {
    "all-sizes.pdf": _pdf, "all-sizes.xlsx": _xlsx_of_all, "measurement-chart.csv": _chart,
    "spec-sheet.csv": _spec,
}  # fmt: skip


# --- files whose pattern is not at hand -------------------------------------------------------


def _read_drawing(data: bytes) -> None:
    from sleevewright.pipeline.proofread.dxf import read_dxf  # noqa: PLC0415

    read_dxf(data)


def _read_svg(data: bytes) -> None:
    from sleevewright.pipeline.proofread.svg import read_svg  # noqa: PLC0415

    read_svg(data)


def _read_record(data: bytes) -> None:
    from sleevewright.pipeline.proofread.record import read_record  # noqa: PLC0415

    read_record(data)


def _read_pdf(data: bytes) -> None:
    from sleevewright.pipeline.proofread.pdf import read_pdf  # noqa: PLC0415

    read_pdf(data)


def _read_page(data: bytes) -> None:
    from sleevewright.pipeline.proofread.page import read_page  # noqa: PLC0415

    read_page(data)


def _read_csv(data: bytes) -> None:
    from sleevewright.pipeline.proofread.tables import read_csv  # noqa: PLC0415

    read_csv(data)


def _read_workbook(data: bytes) -> None:
    from sleevewright.pipeline.proofread.tables import read_workbook  # noqa: PLC0415

    read_workbook(data)


_READERS: dict[str, Callable[[bytes], None]] = {
    "dxf": _read_drawing, "svg": _read_svg, "json": _read_record, "pdf": _read_pdf,
    "html": _read_page, "csv": _read_csv, "xlsx": _read_workbook,
}  # fmt: skip
