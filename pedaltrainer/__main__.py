"""Run the trainer as `python -m pedaltrainer`."""

import sys

from pedaltrainer.cli import main

if __name__ == "__main__":
    sys.exit(main())
