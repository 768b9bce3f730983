"""`python -m tests.licences`: write what is installed under which licence, by its own metadata.

`service/licences.csv` has what the service needs, `tests/licences.csv` what its tests need besides.
What a package says of itself is told as it stands: an expression (PEP 639), else its classifiers,
else the first line of what it wrote, else that of its licence file. A row of what is not installed
here stays as it was.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, distribution, metadata
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[1]
PIN: Final = re.compile(r"^([a-z0-9][a-z0-9._-]*)==([^ ;\\]+)", re.MULTILINE)
CLASSIFIER: Final = "License :: "
LISTS: Final = {
    ROOT / "service" / "licences.csv": ROOT / "service" / "requirements.txt",
    ROOT / "tests" / "licences.csv": ROOT / "tests" / "requirements.txt",
}
LONGEST: Final = 80


def pins(requirements: Path) -> dict[str, str]:
    """The versions of a file of hashed requirements, by name."""
    return dict(PIN.findall(requirements.read_text(encoding="utf-8")))


def rows_of(listed: Path) -> dict[str, tuple[str, str]]:
    """Version and licence by name, as a list has them."""
    with listed.open(encoding="utf-8", newline="") as file:
        return {row["package"]: (row["version"], row["licence"]) for row in csv.DictReader(file)}


def licence_of(name: str) -> str | None:
    """What an installed package says; None where it is not installed."""
    try:
        told = metadata(name)
    except PackageNotFoundError:
        return None
    if "License-Expression" in told:
        return told["License-Expression"]
    classifiers = [
        each.rpartition(" :: ")[2]
        for each in told.get_all("Classifier") or ()
        if each.startswith(CLASSIFIER)
    ]
    if classifiers:
        return " AND ".join(sorted(classifiers))
    said = told["License"].strip() if "License" in told else _licence_file(name)
    return said.splitlines()[0][:LONGEST] if said else "not said"


def _licence_file(name: str) -> str:
    """What stands in the file of an installed package that has its licence; empty without one."""
    package = distribution(name)
    for file in package.metadata.get_all("License-File") or ():
        text = package.read_text(f"licenses/{file}") or package.read_text(file)
        if text:
            return text.strip()
    return ""


def written(wanted: Mapping[str, str], before: Mapping[str, tuple[str, str]]) -> str:
    """The text of a list."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("package", "version", "licence"))
    for name, version in sorted(wanted.items()):
        found = licence_of(name) or before.get(name, ("", "not installed here"))[1]
        writer.writerow((name, version, found))
    return out.getvalue()


def main() -> None:
    """Write both lists; a package of both stands in that of the service alone."""
    taken: set[str] = set()
    for listed, requirements in LISTS.items():
        wanted = {name: at for name, at in pins(requirements).items() if name not in taken}
        before = rows_of(listed) if listed.exists() else {}
        listed.write_text(written(wanted, before), encoding="utf-8")
        taken |= set(wanted)


if __name__ == "__main__":
    main()
