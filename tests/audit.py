"""`python -m tests.audit PIP_AUDIT`: ask for known faults of the libraries that the service needs.

`PIP_AUDIT` is that program, which no test needs and `.ci/run` installs for itself. Ends with 1
where a fault is known. Where nobody can be asked, or not about all, that is said and is no failure:
what was not looked at is not called fine.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

ROOT: Final = Path(__file__).parents[1]
REQUIREMENTS: Final = ROOT / "service" / "requirements.txt"
OPTIONS: Final = (
    *("--requirement", str(REQUIREMENTS), "--disable-pip", "--require-hashes"),
    *("--format", "json", "--progress-spinner", "off", "--timeout", "15"),
)
FAULTY: Final = 1
LONGEST_S: Final = 300


def told(output: str) -> tuple[list[str], int]:
    """What an audit says in words, and the exit code."""
    try:
        rows: list[dict[str, Any]] = json.loads(output)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return ["Audit: nobody could be asked; the libraries were not audited."], 0
    faults = [
        f"Audit: {row['name']} {row['version']}: {fault['id']}, mended in"
        f" {', '.join(fault['fix_versions']) or 'no version yet'}"
        for row in rows
        for fault in row.get("vulns", ())
    ]
    asked = [row for row in rows if "skip_reason" not in row]
    count = f"Audit: {len(asked)} of {len(rows)} libraries were asked about"
    if len(asked) < len(rows):
        count += "; the index that is used here has no word on the others"
    return [*faults, f"{count}; {len(faults)} known faults."], FAULTY if faults else 0


def main(arguments: Sequence[str]) -> int:
    """Ask, and tell; the exit code."""
    (program,) = arguments
    try:
        done = subprocess.run(
            [program, *OPTIONS], capture_output=True, text=True, check=False, timeout=LONGEST_S
        )
        output = done.stdout
    except (OSError, subprocess.TimeoutExpired):
        output = ""
    lines, code = told(output)
    print(*lines, sep="\n")
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
