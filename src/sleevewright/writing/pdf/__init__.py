"""PDF: the pattern tiled over sheets of paper, or on one page for a plotter.

The content is drawn once a piece, in millimetres, and placed on every sheet that shows it.
"""

from sleevewright.writing.pdf.plot import write_plot
from sleevewright.writing.pdf.tiled import write_pdf

__all__ = ["write_pdf", "write_plot"]
