"""`python -m sleevewright.cli`."""

from sleevewright.cli import main

main()
