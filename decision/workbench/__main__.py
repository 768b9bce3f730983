"""`python -m decision.workbench`: what is done at a developer's or an operator's desk.

check FILE.toml                               every fault at once; else what each gate finds
fit TABLE.csv --start ID -o DRAFT.toml        least squares of drag and fuel coefficients;
    [--keep polar.k ...]                      those named keep their value
pages FOLDER                                  write the pages of failures, profiles and rules,
                                              those of the service: service/docs

Exit code: 0 fine, 1 a gate is not passed, 64 a file cannot be used.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, NoReturn

from decision.errors import DataError
from decision.profile.load import PROFILES, SUFFIX, load_profile, profile_ids, read_profile
from decision.profile.systems_data import SUFFIX as SYSTEMS_SUFFIX
from decision.profile.types import Profile
from decision.workbench import failure_page, profile_page, rules_page
from decision.workbench.draft import Replacement, draft_text, rounded
from decision.workbench.flow_rows import read_flow_rows
from decision.workbench.plausibility import check_profile
from decision.workbench.report import check_report, fit_report

if TYPE_CHECKING:
    from decision.workbench.fitting import Fit

EXIT_FINE: Final = 0
EXIT_NOT_PASSED: Final = 1
EXIT_BAD_FILE: Final = 64  # EX_USAGE of sysexits.h
NAME: Final = re.compile(r"[A-Za-z0-9_-]+")  # becomes the profile's id
NO_SCIPY: Final = 'fitting needs SciPy; install it with: pip install "scipy>=1.14"'
PAGES: Final[Mapping[str, Callable[[], str]]] = MappingProxyType(
    {
        "failures.md": failure_page.page,
        "profiles.md": profile_page.page,
        "rules.md": rules_page.page,
    }
)


class Unusable(Exception):
    """A file, or a command, that cannot be used; says what is wrong with it."""


class _Parser(argparse.ArgumentParser):
    """A parser whose complaints have the exit code of bad input."""

    def error(self, message: str) -> NoReturn:
        raise Unusable(f"{self.format_usage()}{message}")


def main(arguments: Sequence[str]) -> int:
    """Run a command; returns the exit code."""
    try:
        asked = _parser().parse_args(arguments)
        if asked.command == "check":
            return check(Path(asked.file), systems=asked.systems and Path(asked.systems))
        if asked.command == "pages":
            return write_pages(Path(asked.folder))
        draft = Path(asked.output)
        return fit(Path(asked.table), start=asked.start, draft=draft, keep=asked.keep)
    except Unusable as error:
        sys.stderr.write(f"{error}\n")
    except OSError as error:
        sys.stderr.write(f"{error.filename}: {error.strerror}\n")
    except UnicodeDecodeError as error:
        sys.stderr.write(f"not a text in UTF-8: {error}\n")
    return EXIT_BAD_FILE


def _parser() -> _Parser:
    parser = _Parser(prog="python -m decision.workbench")
    commands = parser.add_subparsers(dest="command", required=True)
    checking = commands.add_parser("check", help="is the file an aircraft, and a plausible one")
    checking.add_argument("file", metavar="FILE.toml")
    checking.add_argument("systems", metavar="FILE.systems.toml", nargs="?")
    fitting = commands.add_parser("fit", help="fit drag and fuel flow to tabulated flows")
    fitting.add_argument("table", metavar="TABLE.csv")
    fitting.add_argument("--start", required=True, choices=profile_ids())
    fitting.add_argument("-o", dest="output", required=True, metavar="DRAFT.toml")
    fitting.add_argument("--keep", action="append", default=[], metavar="COEFFICIENT")
    writing = commands.add_parser("pages", help="write the pages that are made from data")
    writing.add_argument("folder", metavar="FOLDER")
    return parser


# --- check --------------------------------------------------------------------------------------


def check(path: Path, *, systems: Path | None = None) -> int:
    """Read a profile, print what the gates find. Raises: Unusable with every fault of its files."""
    profile = _profile(path, systems=systems)
    findings = check_profile(profile)
    sys.stdout.write(check_report(profile, findings))
    return EXIT_FINE if all(finding.passed for finding in findings) else EXIT_NOT_PASSED


def _profile(path: Path, *, systems: Path | None = None) -> Profile:
    if path.suffix != SUFFIX:
        raise Unusable(f"{path}: a profile is a file NAME{SUFFIX}")
    reading = read_profile(path, systems_path=systems)
    if reading.profile is None:
        raise Unusable(_faults(reading.faults))
    return reading.profile


def _faults(faults: Sequence[DataError]) -> str:
    """Every fault under the name of its file, a line each."""
    by_file: dict[str, list[DataError]] = {}
    for fault in faults:
        by_file.setdefault(fault.file.partition(" line ")[0], []).append(fault)
    return "\n".join(line for file in by_file.items() for line in _of_file(*file))


def _of_file(name: str, faults: Sequence[DataError]) -> Iterator[str]:
    yield f"{name}: {len(faults)} fault{'s' * (len(faults) > 1)}"
    yield from map(_words, faults)


def _words(fault: DataError) -> str:
    _, line, place = fault.file.rpartition("line ")
    return (
        f"{line}{place}, {fault.key}: {fault.problem}" if line else f"{fault.key}: {fault.problem}"
    )


# --- fit ----------------------------------------------------------------------------------------


def fit(table: Path, *, start: str, draft: Path, keep: Sequence[str]) -> int:
    """Fit a profile to a table, write a draft and its systems, print how well it fits."""
    try:
        from decision.workbench.fitting import fit_flows  # noqa: PLC0415 - needs an extra
    except ImportError:
        raise Unusable(NO_SCIPY) from None
    if draft.suffix != SUFFIX or not NAME.fullmatch(draft.stem) or draft.exists():
        raise Unusable(f"{draft}: must be a new file NAME{SUFFIX}, of letters, digits, - and _")
    found = read_flow_rows(table, profile=load_profile(start))
    if found.faults:
        raise Unusable(_faults(found.faults))
    try:
        fitted = fit_flows(load_profile(start), found.rows, keep=keep)
    except ValueError as error:
        raise Unusable(f"{table}: {error}") from None
    _write(fitted, start=start, draft=draft, table=table.name)
    sys.stdout.write(fit_report(fitted, table=table.name))
    sys.stdout.write(f"\n{draft} written; next: python -m decision.workbench check {draft}\n")
    return EXIT_FINE


def _write(fitted: Fit, *, start: str, draft: Path, table: str) -> None:
    """The draft, and beside it the systems of the start unless there are some already."""
    values = {
        each.coefficient.path: Replacement(
            value=rounded(each.value), note=f"from {table}, standard error {each.error:.1g}"
        )
        for each in fitted.estimates
    }
    text = draft_text(
        (PROFILES / f"{start}{SUFFIX}").read_text(encoding="utf-8"),
        profile_id=draft.stem,
        title=f"draft, {start} fitted to {table}",
        values=values,
    )
    draft.write_text(text, encoding="utf-8")
    systems = draft.with_name(f"{draft.stem}{SYSTEMS_SUFFIX}")
    if not systems.exists():
        shutil.copyfile(PROFILES / f"{start}{SYSTEMS_SUFFIX}", systems)
    _profile(draft)


# --- pages --------------------------------------------------------------------------------------


def write_pages(folder: Path) -> int:
    """Write every page anew where it has changed. Raises: OSError where that cannot be done."""
    for name, page in PAGES.items():
        path, text = folder / name, page()
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
            sys.stdout.write(f"{path} written\n")
    return EXIT_FINE


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
