"""`python -m decision.profile check FILE.toml`: whether a file is an aircraft, and a plausible one.

Every fault of the file at once; if it has none, what each gate finds, value beside limit.
Exit code: 0 fine, 1 a gate is not passed, 64 the file cannot be used.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from decision.performance.plausibility import Finding, check_profile
from decision.profile.load import SUFFIX, read_profile
from decision.profile.types import Profile

EXIT_FINE: Final = 0
EXIT_NOT_PASSED: Final = 1
EXIT_BAD_FILE: Final = 64  # EX_USAGE of sysexits.h
DECIMALS: Final = {"kg": 0, "m": 0, "ft": 0, "MJ": 0, "kt": 1, "kg/h/t": 1, "%": 2, "": 3}
USAGE: Final = "usage: python -m decision.profile check FILE.toml"


def main(arguments: Sequence[str]) -> int:
    """Run the command; returns the exit code."""
    match arguments:
        case ["check", path]:
            return check(Path(path))
        case _:
            return _bad(USAGE)


def check(path: Path) -> int:
    """Read a profile, print its faults or what the gates find."""
    if path.suffix != SUFFIX:
        return _bad(f"{path}: a profile is a file NAME{SUFFIX}\n{USAGE}")
    try:
        reading = read_profile(path)
    except OSError as error:
        return _bad(f"{path}: {error.strerror}")
    if reading.profile is None:
        count = len(reading.faults)
        lines = [f"{fault.key}: {fault.problem}" for fault in reading.faults]
        return _bad("\n".join([f"{path.name}: {count} fault{'s' * (count > 1)}", *lines]))
    findings = check_profile(reading.profile)
    sys.stdout.write(report(reading.profile, findings))
    return EXIT_FINE if all(finding.passed for finding in findings) else EXIT_NOT_PASSED


def report(profile: Profile, findings: Sequence[Finding]) -> str:
    """What the gates found, a line each, those not passed marked and counted."""
    failed = sum(not finding.passed for finding in findings)
    head = f"{profile.id} {profile.version}: {profile.title}"
    verdict = f"{failed} not passed" if failed else "all passed"
    return "\n".join([head, *_lines(findings), f"{len(findings)} figures, {verdict}"]) + "\n"


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
    return "unknown" if finding.value is None else f"{finding.value:.{DECIMALS[finding.unit]}f}"


def _limits(finding: Finding) -> str:
    """The limit or limits, with the unit."""
    digits = DECIMALS[finding.unit]
    low, high = (None if x is None else f"{x:.{digits}f}" for x in (finding.low, finding.high))
    if low and high:
        return f"{low} to {high} {finding.unit}".rstrip()
    bounds = [
        f"{sign} {bound} {finding.unit}" for sign, bound in ((">=", low), ("<=", high)) if bound
    ]
    return "".join(bounds).rstrip()


def _bad(text: str) -> int:
    sys.stderr.write(text + "\n")
    return EXIT_BAD_FILE


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
