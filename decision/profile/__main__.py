"""`python -m decision.profile`: check a profile file, or fit a draft to tabulated fuel flows.

check FILE.toml                               every fault at once; else what each gate finds
fit TABLE.csv --start ID -o DRAFT.toml        least squares of drag and fuel coefficients;
    [--keep polar.k ...]                      those named keep their value

Exit code: 0 fine, 1 a gate is not passed, 64 a file cannot be used.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

from decision.errors import DataError
from decision.performance.plausibility import Finding, check_profile
from decision.profile.draft import Replacement, draft_text, rounded
from decision.profile.flow_rows import read_flow_rows
from decision.profile.load import PROFILES, SUFFIX, load_profile, profile_ids, read_profile
from decision.profile.systems_data import SUFFIX as SYSTEMS_SUFFIX
from decision.profile.types import Profile

if TYPE_CHECKING:
    from decision.performance.fitting import Fit, Scatter

EXIT_FINE: Final = 0
EXIT_NOT_PASSED: Final = 1
EXIT_BAD_FILE: Final = 64  # EX_USAGE of sysexits.h
DECIMALS: Final = {"kg/h/t": 1, "kt": 1, "h": 1, "%": 2, "": 3}  # of a unit; of others none
NAME: Final = re.compile(r"[A-Za-z0-9_-]+")  # becomes the profile's id
NO_SCIPY: Final = 'fitting needs SciPy; install it with: pip install "scipy>=1.14"'


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
    parser = _Parser(prog="python -m decision.profile")
    commands = parser.add_subparsers(dest="command", required=True)
    checking = commands.add_parser("check", help="is the file an aircraft, and a plausible one")
    checking.add_argument("file", metavar="FILE.toml")
    checking.add_argument("systems", metavar="FILE.systems.toml", nargs="?")
    fitting = commands.add_parser("fit", help="fit drag and fuel flow to tabulated flows")
    fitting.add_argument("table", metavar="TABLE.csv")
    fitting.add_argument("--start", required=True, choices=profile_ids())
    fitting.add_argument("-o", dest="output", required=True, metavar="DRAFT.toml")
    fitting.add_argument("--keep", action="append", default=[], metavar="COEFFICIENT")
    return parser


# --- check --------------------------------------------------------------------------------------


def check(path: Path, *, systems: Path | None = None) -> int:
    """Read a profile, print what the gates find. Raises: Unusable with every fault of its files."""
    profile = _profile(path, systems=systems)
    findings = check_profile(profile)
    sys.stdout.write(report(profile, findings))
    return EXIT_FINE if all(finding.passed for finding in findings) else EXIT_NOT_PASSED


def report(profile: Profile, findings: Sequence[Finding]) -> str:
    """What the gates found, a line each, those not passed marked and counted."""
    failed = sum(not finding.passed for finding in findings)
    head = f"{profile.id} {profile.version}: {profile.title}"
    verdict = f"{failed} not passed" if failed else "all passed"
    return "\n".join([head, *_lines(findings), f"{len(findings)} figures, {verdict}"]) + "\n"


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


def _lines(findings: Sequence[Finding]) -> Iterator[str]:
    gate = ""
    for finding in findings:
        if finding.gate != gate:
            gate = finding.gate
            yield f"\n{gate} [{finding.source}]"
        mark = "  ok " if finding.passed else "FAIL "
        yield f"{mark} {finding.what:<54} {_value(finding):>9}  {_limits(finding)}".rstrip()
        if finding.problem:
            yield f"      {finding.problem}"
    yield ""


def _value(finding: Finding) -> str:
    digits = DECIMALS.get(finding.unit, 0)
    return "unknown" if finding.value is None else f"{finding.value:.{digits}f}"


def _limits(finding: Finding) -> str:
    """The limit or limits, with the unit."""
    digits = DECIMALS.get(finding.unit, 0)
    low, high = (None if x is None else f"{x:.{digits}f}" for x in (finding.low, finding.high))
    if low and high:
        return f"{low} to {high} {finding.unit}".rstrip()
    signs = ((">=", low), ("<=", high))
    return "".join(f"{sign} {bound} {finding.unit}" for sign, bound in signs if bound).rstrip()


# --- fit ----------------------------------------------------------------------------------------


def fit(table: Path, *, start: str, draft: Path, keep: Sequence[str]) -> int:
    """Fit a profile to a table, write a draft and its systems, print how well it fits."""
    try:
        from decision.performance.fitting import fit_flows  # noqa: PLC0415 - needs an extra
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
    sys.stdout.write(f"\n{draft} written; next: python -m decision.profile check {draft}\n")
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


def fit_report(fitted: Fit, *, table: str) -> str:
    """Coefficients, those that the table does not tell, and what is left."""
    return "\n".join(_fit_lines(fitted, table)) + "\n"


def _fit_lines(fitted: Fit, table: str) -> Iterator[str]:
    yield f"{fitted.profile.id} fitted to {table}, {fitted.after.count} rows"
    yield ""
    yield f"{'coefficient':<22} {'start':>9} {'fitted':>9} {'standard error':>15}"
    for each in fitted.estimates:
        figures = f"{each.start:>9.5f} {each.value:>9.5f} {each.error:>15.5f}"
        yield f"{each.coefficient.path:<22} {figures}"
    yield f"condition number {fitted.condition:.0f}"
    yield ""
    yield "kept as at the start"
    for held in fitted.held:
        yield f"{held.coefficient.path:<22} {held.why}"
    yield ""
    head = f"{'rows':>5} {'mean %':>7} {'rms %':>7} {'greatest %':>11}"
    yield f"{'model over table, less one':<28} {head}"
    yield from map(_scatter_line, (fitted.before, fitted.after, *fitted.groups))


def _scatter_line(group: Scatter) -> str:
    mean, rms, greatest = group.mean_percent, group.rms_percent, group.greatest_percent
    return f"{group.group:<28} {group.count:>5} {mean:>7.2f} {rms:>7.2f} {greatest:>11.2f}"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
