"""Fit drag and fuel coefficients of a profile to tabulated fuel flows, by least squares.

The residual of a row is model over table, less one. Fuel flow alone shows drag only through the
fuel law: a slightly dirtier aircraft with slightly thriftier engines burns the same. So the
coefficients are admitted one by one, in the order of `candidates`, each only if the rows tell it
apart from those already admitted; the others keep the values of the start, and the answer says
why. Needs SciPy.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.optimize import least_squares

from decision.elementwise import FloatArray
from decision.performance.configuration import Configuration
from decision.performance.fuel_flow import level_flow_kg_per_h
from decision.profile import Profile
from decision.units import PERCENT
from decision.workbench.flow_rows import FlowRow

# [ASSUMED] a condition number of the Jacobian, columns scaled to length 1, above which coefficients
# are not told apart: a flow error of 0.5 % in a hundred rows then moves a coefficient by some 5 %
GREATEST_CONDITION: Final = 70.0
LEAST_EFFECT: Final = (
    1e-3  # [ASSUMED] rms change of flow by a doubled coefficient that rows must show
)
STEP: Final = 1e-4  # of a coefficient, for the columns of the Jacobian
BAND_FT: Final = 5_000.0
DETENTS: Final = "detents"

SortedWords = tuple[str, str]  # by what a group is sorted, and what it is called


@dataclass(frozen=True, slots=True, kw_only=True)
class Coefficient:
    """One value of a profile that may be fitted, with its bounds; detents are named by id."""

    section: str
    name: str
    low: float
    high: float

    @property
    def path(self) -> str:
        """Where it stands: `polar.cd0`, `detents.12.cd0`."""
        return f"{self.section}.{self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A fitted coefficient. `error` is its standard error, from the scatter of the rows."""

    coefficient: Coefficient
    start: float
    value: float
    error: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A coefficient that keeps its start value, and why."""

    coefficient: Coefficient
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Residuals of a group of rows, model over table less one, in percent."""

    group: str
    count: int
    mean_percent: float
    rms_percent: float
    greatest_percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """What came out: coefficients, those held, residuals, and the aircraft with the new values.

    `residuals` are in the order of the rows. `condition` is that of the scaled Jacobian.
    """

    profile: Profile
    estimates: tuple[Estimate, ...]
    held: tuple[Held, ...]
    residuals: tuple[float, ...]
    before: Scatter
    after: Scatter
    groups: tuple[Scatter, ...]
    condition: float


def fit_flows(profile: Profile, rows: Sequence[FlowRow], *, keep: Collection[str] = ()) -> Fit:
    """Fit a profile to rows of level flight in standard air.

    `keep` names coefficients, by path, that are known better than the rows can tell them.
    Raises: OutOfRange for a row faster than MMO; ValueError when no coefficient can be told, or
    one to keep is not among the candidates.
    """
    if unknown := sorted(set(keep) - {each.path for each in candidates(profile)}):
        known = ", ".join(each.path for each in candidates(profile))
        raise ValueError(f"{unknown[0]} is not fitted anyway; fitted are {known}")
    problem = _problem(profile, rows)
    before = problem.residuals((), np.array([]))
    admitted, held, condition = _admit(problem, keep)
    if not admitted:
        raise ValueError("these rows tell no coefficient of drag or fuel flow")
    start = np.array([value_of(profile, each) for each in admitted])
    low = np.array([each.low for each in admitted])
    high = np.array([each.high for each in admitted])
    found = least_squares(
        lambda scaled: problem.residuals(admitted, scaled * start),
        np.clip(1.0, low / start, high / start),
        bounds=(low / start, high / start),
    )
    values = found.x * start
    left = problem.residuals(admitted, values)
    errors = _standard_errors(found.jac, left) * np.abs(start)
    return Fit(
        profile=with_values(profile, admitted, values),
        estimates=tuple(
            Estimate(coefficient=c, start=float(s), value=float(v), error=float(e))
            for c, s, v, e in zip(admitted, start, values, errors, strict=True)
        ),
        held=held,
        residuals=tuple(map(float, left)),
        before=_scatter("start", before),
        after=_scatter("fitted", left),
        groups=tuple(_by_group(rows, left)),
        condition=condition,
    )


def residuals(profile: Profile, rows: Sequence[FlowRow]) -> tuple[float, ...]:
    """Model over table, less one, of a profile as it is, in the order of the rows."""
    return tuple(map(float, _problem(profile, rows).residuals((), np.array([]))))


def candidates(profile: Profile) -> tuple[Coefficient, ...]:
    """Coefficients in the order in which rows may tell them; drag first, then fuel."""
    drag = [
        Coefficient(section="polar", name="cd0", low=0.005, high=0.05),
        Coefficient(section="polar", name="k", low=0.015, high=0.12),
        Coefficient(section="gear", name="flaps_up_cd", low=0.001, high=0.1),
        *(
            Coefficient(section=f"{DETENTS}.{detent.id}", name="cd0", low=1e-5, high=0.15)
            for detent in profile.detents
            if detent.cd0 > 0.0
        ),
        Coefficient(section="gear", name="flaps_full_cd", low=0.001, high=0.1),
    ]
    fuel = [
        Coefficient(section="engine", name="fuel_ram", low=0.1, high=3.0),
        Coefficient(section="engine", name="fuel_linear", low=0.1, high=2.0),
        Coefficient(section="engine", name="fuel_constant", low=1e-4, high=0.3),
    ]
    return (*drag, *fuel)


def value_of(profile: Profile, coefficient: Coefficient) -> float:
    """The value of a coefficient in a profile."""
    section, _, flap = coefficient.section.partition(".")
    owner = profile.detent(flap) if section == DETENTS else getattr(profile, section)
    return float(getattr(owner, coefficient.name))


def with_values(
    profile: Profile, coefficients: Sequence[Coefficient], values: FloatArray
) -> Profile:
    """The profile with other values of some coefficients."""
    for coefficient, value in zip(coefficients, map(float, values), strict=True):
        section, _, flap = coefficient.section.partition(".")
        if section == DETENTS:  # of a detent, only its drag is fitted
            detents = (replace(d, cd0=value) if d.id == flap else d for d in profile.detents)
            profile = replace(profile, detents=tuple(detents))
        else:
            changed = replace(getattr(profile, section), **{coefficient.name: value})
            profile = replace(profile, **{section: changed})
    return profile


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Rows of one configuration as arrays; `places` is where they stand in the table."""

    configuration: Configuration
    places: FloatArray
    mass_kg: FloatArray
    pressure_altitude_ft: FloatArray
    cas_kt: FloatArray
    flow_kg_per_h: FloatArray


def _flown(row: FlowRow) -> Configuration:
    return Configuration(
        gear_down=row.gear_down,
        gear_doors_open=row.gear_doors_open,
        flap=row.flap,
        slats_out=row.slats_out,
        engines_running=row.engines_running,
    )


def _grouped(rows: Sequence[FlowRow]) -> tuple[_Group, ...]:
    members: dict[Configuration, list[int]] = defaultdict(list)
    for place, row in enumerate(rows):
        members[_flown(row)].append(place)
    return tuple(_group(rows, each, places) for each, places in members.items())


def _group(rows: Sequence[FlowRow], configuration: Configuration, places: list[int]) -> _Group:
    own = [rows[place] for place in places]
    return _Group(
        configuration=configuration,
        places=np.array(places),
        mass_kg=np.array([row.mass_kg for row in own]),
        pressure_altitude_ft=np.array([row.pressure_altitude_ft for row in own]),
        cas_kt=np.array([row.cas_kt for row in own]),
        flow_kg_per_h=np.array([row.fuel_flow_kg_per_h for row in own]),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Problem:
    """The rows, and the aircraft that the fit starts from."""

    profile: Profile
    groups: tuple[_Group, ...]
    count: int

    def residuals(self, coefficients: Sequence[Coefficient], values: FloatArray) -> FloatArray:
        """Model over table, less one, in the order of the rows."""
        profile = with_values(self.profile, coefficients, values)
        answer = np.empty(self.count)
        for group in self.groups:
            flow = level_flow_kg_per_h(
                profile,
                group.configuration,
                mass_kg=group.mass_kg,
                pressure_altitude_ft=group.pressure_altitude_ft,
                cas_kt=group.cas_kt,
            )
            answer[group.places] = flow / group.flow_kg_per_h - 1.0
        return answer

    def column(self, coefficient: Coefficient) -> FloatArray:
        """Change of the residuals per relative change of one coefficient, at the start."""
        start = value_of(self.profile, coefficient)
        ends = [start * (1.0 + step) for step in (STEP, -STEP)]
        above, below = (self.residuals((coefficient,), np.array([end])) for end in ends)
        return np.asarray((above - below) / (2.0 * STEP))


def _problem(profile: Profile, rows: Sequence[FlowRow]) -> _Problem:
    return _Problem(profile=profile, groups=_grouped(rows), count=len(rows))


def _admit(
    problem: _Problem, keep: Collection[str]
) -> tuple[tuple[Coefficient, ...], tuple[Held, ...], float]:
    """The coefficients that the rows tell apart, those held, and the condition number."""
    admitted: list[Coefficient] = []
    columns: list[FloatArray] = []
    held: list[Held] = []
    condition = 1.0
    for each in candidates(problem.profile):
        if each.path in keep:
            held.append(Held(coefficient=each, why="as asked"))
            continue
        column = problem.column(each)
        length = float(np.linalg.norm(column))
        if length < LEAST_EFFECT * problem.count**0.5:
            held.append(Held(coefficient=each, why="no row shows it"))
            continue
        with_it = float(np.linalg.cond(np.column_stack([*columns, column / length])))
        if with_it > GREATEST_CONDITION or len(admitted) + 1 >= problem.count:
            why = f"not told from the others (condition {with_it:.0f})"
            held.append(Held(coefficient=each, why=why))
            continue
        admitted.append(each)
        columns.append(column / length)
        condition = with_it
    return tuple(admitted), tuple(held), condition


def _standard_errors(jacobian: FloatArray, residuals: FloatArray) -> FloatArray:
    """Of the scaled coefficients, from the scatter that is left."""
    rows, unknowns = jacobian.shape
    variance = float(residuals @ residuals) / max(rows - unknowns, 1)
    return np.asarray(np.sqrt(np.diag(np.linalg.pinv(jacobian.T @ jacobian)) * variance))


def _scatter(group: str, residuals: FloatArray) -> Scatter:
    return Scatter(
        group=group,
        count=len(residuals),
        mean_percent=PERCENT * float(residuals.mean()),
        rms_percent=PERCENT * float((residuals**2).mean() ** 0.5),
        greatest_percent=PERCENT * float(np.abs(residuals).max()),
    )


def _by_group(rows: Sequence[FlowRow], residuals: FloatArray) -> Iterator[Scatter]:
    """By bands of level, then by configuration."""
    for words in (_band, _configuration):
        places: dict[SortedWords, list[int]] = defaultdict(list)
        for place, row in enumerate(rows):
            places[words(row)].append(place)
        for key in sorted(places):
            yield _scatter(key[1], residuals[places[key]])


def _band(row: FlowRow) -> SortedWords:
    low = int(row.pressure_altitude_ft // BAND_FT)
    return f"{low:03}", f"{low * BAND_FT:.0f} to {(low + 1) * BAND_FT:.0f} ft"


def _configuration(row: FlowRow) -> SortedWords:
    label = _flown(row).label
    return label, label
