"""Let `python -m lugbook` do what the `lugbook` command does."""

import sys

from lugbook.cli import main

if __name__ == "__main__":
    sys.exit(main())
