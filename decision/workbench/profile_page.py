"""The page of aircraft profiles, written from the types that read them.

The tables of the format come from the dataclasses that the loader checks with, the reports of the
check from the gates themselves; a test holds the page to both.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce

from decision.profile import Profile, load_profile, profile_ids
from decision.profile.describe import Key, Table, tables
from decision.workbench.plausibility import GATES, check_profile
from decision.workbench.report import check_report
from decision.workbench.systems_format import systems_section

HEAD = """# Aircraft profiles

A decision needs to know one aircraft: what it burns, climbs, lands in, and what its systems feed.
All of that is in two files that an operator owns, and nothing of it is in the program.

## Bringing an aircraft

1. Copy `decision/data/profiles/xtj150.toml` and `xtj150.systems.toml` to `ID.toml` and
   `ID.systems.toml`, and set `id` in the table `profile`.
2. Replace the values. Each states where it comes from: `source` is a key of the product's
   bibliography or one of your own, in a table of the profile that serves both files:

   ```
   [sources.PERFORMANCE-MANUAL]
   title = "Performance manual"
   edition = "revision 12"
   confidence = "found"
   ```

   `confidence` is one of found, quoted, memory, derived, assumed.
3. Check: `python -m decision.workbench check decision/data/profiles/ID.toml`. It tells every fault
   of both files at once, with its key and what would be accepted. When there are none, it works out
   what the aircraft would do and holds that against certification minima and what transport
   aeroplanes do.
   Exit code 0: fine; 1: a gate is not passed; 64: the file cannot be used.
4. Describe the systems and the failures in `ID.systems.toml` (below); what comes of them is on the
   page [Failures](failures.md).
5. Where you have tabulated fuel flows, fit the profile to them:
   [Operator tables](operator-tables.md).
6. Raise `version` with every change. A decision names version and digest of the profile it used.

The aircraft that come with the product are invented. Their figures are for nobody's flight. Copy
the one that is nearer to yours: `xtj150` is a small twin with two hydraulic supplies and a reserve,
`xtwide` a widebody twin with three. The loader takes two to four engines and any names for detents,
supplies and failures; a request that names none flies with flaps up, the first detent.

## What governs

- Of a limit of the profile and one that a failure brings, the stricter.
- Of the landing that the physics give and `landing_factors`, the longer; the rulebook's factor
  comes on top.
- Of the final reserve planned and the one in the configuration at arrival, the greater.
- Where an operator's table has rows, the table: [Operator tables](operator-tables.md).
- Policy of an operator tightens a rulebook, and loosens it only with a reason given.

## The file

A value stands in its table with unit and source, and a note where one helps. A row of an array of
tables has plain keys, the unit in the key, and one source.

```
[masses]
mlw_kg = { value = 66000, unit = "kg", source = "ASSUMED", note = "optional" }

[[detents]]
id = "20"
deflection_deg = 20.0
cd0 = 0.012
clmax = 2.00
vfe_kt = 195
source = "ASSUMED"
```

Every key is required unless it says optional; there are no defaults. A value outside its range is
refused: the range catches a slipped digit or a wrong unit, it does not say what is usual. Files of
an operator's tables are named in a table `[tables]`, which is described with them.
"""
CHECKS = """## The check

A gate works out what the aircraft would do, with the functions that a decision uses, and holds that
against a limit. The report has a line for each figure: what it is, its value, the limit. `FAIL`
marks one that is not within its limits, `unknown` one that cannot be worked out, with the reason;
neither is passed. Sea level, standard and still air unless a line says otherwise.

- A gate of certification (CFR-25) is a minimum that the type has met: if yours does not, a figure
  of thrust, drag, lift or mass is wrong, whatever else fits.
- A gate marked ASSUMED is a band of what transport jets do, drawn wide: far outside means a slipped
  digit or a wrong unit. A figure just outside may be right for an unusual type; say so in a note.
- A gate of the profile itself compares two of its figures.
- Passing is necessary, not sufficient: hold the aircraft against its own manuals as well, which
  [fitting](operator-tables.md) does for fuel.

| gate | unit | where its limit comes from |
| --- | --- | --- |"""


def page() -> str:
    """The whole page as Markdown."""
    known = tuple(map(load_profile, profile_ids()))
    lines = [HEAD, *(line for table in tables() for line in _table(table, known)), CHECKS]
    lines += [f"| {gate.id} | {gate.unit} | {gate.source} |" for gate in GATES]
    lines += [line for profile in known for line in _aircraft(profile)]
    return "\n".join((*lines, *systems_section())) + "\n"


def _table(table: Table, profiles: tuple[Profile, ...]) -> Iterator[str]:
    """One table of the format: its keys, and beside them what the loaded aircraft say."""
    shown = () if table.rows else profiles
    brackets = f"[[{table.name}]]" if table.rows else f"[{table.name}]"
    head = ["key", "meaning", "unit", "accepted", *(profile.id for profile in shown)]
    yield f"### `{brackets}`"
    yield ""
    yield table.meaning
    yield ""
    yield f"| {' | '.join(head)} |"
    yield f"|{' --- |' * len(head)}"
    for key in table.keys:
        yield _row(table, key, shown)
    yield ""


def _row(table: Table, key: Key, profiles: tuple[Profile, ...]) -> str:
    accepted = f"{key.accepted}, optional" if key.optional else key.accepted
    values = [_shown(_value(profile, f"{table.name}.{key.name}")) for profile in profiles]
    return f"| {' | '.join((f'`{key.name}`', key.meaning, key.unit, accepted, *values))} |"


def _value(profile: Profile, path: str) -> object:
    return reduce(getattr, path.split("."), profile)


def _shown(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case float():
            return f"{value:.10g}"
        case _:
            return str(value)


def _aircraft(profile: Profile) -> Iterator[str]:
    """What the check finds for one aircraft, and its figures."""
    yield ""
    yield f"### What it finds for {profile.id}"
    yield ""
    yield f"    python -m decision.workbench check decision/data/profiles/{profile.id}.toml"
    yield ""
    yield "```"
    yield check_report(profile, check_profile(profile)).rstrip()
    yield "```"
    yield ""
    yield f"![Fuel flow of {profile.id} by level](figures/{profile.id}-fuel-flow.svg)"
    yield ""
    yield f"![Specific range of {profile.id} by level](figures/{profile.id}-specific-range.svg)"
    yield ""
    yield f"![Diversion fuel of {profile.id} by distance](figures/{profile.id}-diversion-fuel.svg)"
    yield ""
