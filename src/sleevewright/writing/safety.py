"""What is said on every page about a pattern before it is cut; docs/safety.md says more."""

#: One line, the same on reports and galleries.
SAFETY = (
    "Check the test square of a print before you cut cloth: 100 mm must be 100 mm, in both directions."
    " On children's wear, drawcords and loose parts: local safety rules come first."
)
