"""What the check and the fit of a profile find, in lines for a terminal and for the pages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from decision.profile.types import Profile
from decision.workbench.plausibility import GateFinding

if TYPE_CHECKING:  # a check is told without SciPy
    from decision.workbench.fitting import Fit, Scatter

DECIMALS: Final = {"kg/h/t": 1, "kt": 1, "h": 1, "%": 2, "": 3}  # of a unit; of others none


def check_report(profile: Profile, findings: Sequence[GateFinding]) -> str:
    """What the gates found, a line each, those not passed marked and counted."""
    failed = sum(not finding.passed for finding in findings)
    head = f"{profile.id} {profile.version}: {profile.title}"
    verdict = f"{failed} not passed" if failed else "all passed"
    return "\n".join([head, *_lines(findings), f"{len(findings)} figures, {verdict}"]) + "\n"


def _lines(findings: Sequence[GateFinding]) -> Iterator[str]:
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


def _value(finding: GateFinding) -> str:
    digits = DECIMALS.get(finding.unit, 0)
    return "unknown" if finding.value is None else f"{finding.value:.{digits}f}"


def _limits(finding: GateFinding) -> str:
    """The limit or limits, with the unit."""
    digits = DECIMALS.get(finding.unit, 0)
    low, high = (None if x is None else f"{x:.{digits}f}" for x in (finding.low, finding.high))
    if low and high:
        return f"{low} to {high} {finding.unit}".rstrip()
    signs = ((">=", low), ("<=", high))
    return "".join(f"{sign} {bound} {finding.unit}" for sign, bound in signs if bound).rstrip()


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
