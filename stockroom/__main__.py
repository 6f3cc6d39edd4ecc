"""The console without screen and demo: python -m stockroom."""

import sys

from stockroom.cli import run

sys.exit(run())
