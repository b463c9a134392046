"""Run ``python -m pcompare``."""

import sys

from pcompare.cli import program

if __name__ == "__main__":
    sys.exit(program())
