"""What a command is called with. A wrong option ends with 64, as any bad input does here.

The parser of the standard library ends with 2, which for a decision is no code at all.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Final, NoReturn

EXIT_BAD_INPUT: Final = 64  # EX_USAGE of sysexits.h
EXIT_CODE: Final = {"GO": 0, "GO_WITH_CAUTION": 10, "NO_GO": 20, "INSUFFICIENT_DATA": 30}
EXIT_CODES: Final = (
    "exit code: "
    + ", ".join(f"{code} {verdict}" for verdict, code in EXIT_CODE.items())
    + f", {EXIT_BAD_INPUT} bad input;\nany other code is no decision"
)


class Options(argparse.ArgumentParser):
    """A parser for one command: `name` when it is installed, else `python -m module`."""

    def __init__(self, *, name: str, module: str, description: str, after: str = "") -> None:
        installed = Path(sys.argv[0]).stem == name
        super().__init__(
            prog=name if installed else f"python -m {module}",
            description=description,
            epilog=after,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )

    def error(self, message: str) -> NoReturn:
        """End with the usage and what is wrong on standard error."""
        self.print_usage(sys.stderr)
        self.exit(EXIT_BAD_INPUT, f"{self.prog}: {message}\n")
