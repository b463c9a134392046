"""Run ``python -m pcompare``."""

import sys

from pcompare.cli import main

if __name__ == "__main__":
    sys.exit(main())
