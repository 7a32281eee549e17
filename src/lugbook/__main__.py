"""The `lugbook` command, also by `python -m lugbook`."""

import gc
import sys

__all__ = ["run"]


def run() -> int:
    """Run one command in a process of its own.

    Returns:
        Exit status. [-]
    """
    # A command is over before its rubbish matters, and looking for it costs a tenth of
    # the answer's time. `serve`, which stays, turns the search on again.
    gc.disable()
    from lugbook.cli import main

    status = main()
    gc.freeze()  # nothing is looked through on the way out either
    return status


if __name__ == "__main__":
    sys.exit(run())
