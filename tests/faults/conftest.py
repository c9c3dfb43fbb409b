"""The modules of the harness import each other by name, as its script does."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
