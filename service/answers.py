"""JSON Schemas of the answers. Open to new fields: a client must ignore what it does not know."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any, Final

from decision.profile.types import AccuracyOf

Schema = dict[str, Any]

TEXT: Final[Schema] = {"type": "string"}
NUMBER: Final[Schema] = {"type": "number"}
WHOLE: Final[Schema] = {"type": "integer"}
FLAG: Final[Schema] = {"type": "boolean"}
INSTANT: Final[Schema] = {"type": "string", "format": "date-time"}


def nullable(schema: Schema) -> Schema:
    """The schema or null."""
    if "type" in schema and isinstance(schema["type"], str) and "enum" not in schema:
        return {**schema, "type": [schema["type"], "null"]}
    return {"anyOf": [schema, {"type": "null"}]}


def ref(name: str) -> Schema:
    """The schema of that name."""
    return {"$ref": f"#/components/schemas/{name}"}


def many(schema: Schema) -> Schema:
    """A list of the schema."""
    return {"type": "array", "items": schema}


def one_of(*words: str) -> Schema:
    """A closed set of words."""
    return {"type": "string", "enum": list(words)}


def thing(**members: Schema) -> Schema:
    """An object of which every named member is always there."""
    return {"type": "object", "properties": members, "required": list(members)}


PROBLEM: Final = thing(
    type={"type": "string", "format": "uri-reference"},
    title=TEXT,
    status=WHOLE,
    detail=TEXT,
    instance=TEXT,
    request_id=nullable(TEXT),
    errors=many(
        thing(pointer=TEXT, code=TEXT, message=TEXT, accepted=TEXT),
    ),
)

OUTCOME: Final = one_of("PASS", "FAIL", "UNKNOWN", "NOT_APPLICABLE")
MAYBE: Final = nullable(NUMBER)
FROM: Final = many(TEXT)
FINDING: Final = thing(
    rule=TEXT,
    title=TEXT,
    at=nullable(TEXT),
    outcome=OUTCOME,
    text=TEXT,
    value=MAYBE,
    limit=MAYBE,
    sense=nullable(one_of(">=", "<=")),
    margin=MAYBE,
    unit=nullable(TEXT),
    citation=TEXT,
)
CAUTION: Final = thing(
    code=TEXT, text=TEXT, weight=one_of("info", "caution", "warning"), because=FROM
)
STEP: Final = thing(
    name=TEXT,
    distance_nm=NUMBER,
    time_min=NUMBER,
    fuel_kg=NUMBER,
    pressure_altitude_ft=NUMBER,
    cas_kt=NUMBER,
    configuration=TEXT,
)
COURSE: Final = thing(
    course=TEXT,
    kind=one_of(
        "approach_then_divert",
        "divert_now",
        "hold_then_approach",
        "second_approach",
        "commit_to_land",
    ),
    aerodrome=TEXT,
    runway=nullable(TEXT),
    legal=nullable(FLAG),
    rank=WHOLE,
    limited_by=nullable(TEXT),
    configuration=TEXT,
    fuel=nullable(
        thing(
            at_missed_approach_kg=MAYBE,
            required_kg=NUMBER,
            landing_kg=NUMBER,
            final_reserve_kg=NUMBER,
            margin_kg=NUMBER,
            margin_p95_kg=MAYBE,
        )
    ),
    time=thing(missed_approach_at=nullable(INSTANT), arrive_at=nullable(INSTANT), hold_min=NUMBER),
    findings=many(ref("Finding")),
    after_miss_there=nullable(
        thing(
            endurance_min=NUMBER,
            next_aerodrome=nullable(TEXT),
            margin_kg=MAYBE,
            distance_unknown=many(TEXT),
        )
    ),
    steps=nullable(many(ref("Step"))),
)
CAPABILITY: Final = thing(
    lost=many(thing(function=TEXT, title=TEXT, degraded=FLAG, because=FROM)),
    gear=thing(position=TEXT, extension=TEXT, retractable=FLAG, because=FROM),
    flap=thing(position=TEXT, reachable=many(TEXT), drive=TEXT, because=FROM),
    slats=thing(position=TEXT, movable=FLAG, because=FROM),
    engines_running=WHOLE,
    pressurised=FLAG,
    urgency=TEXT,
    limits=many(thing(name=TEXT, value=NUMBER, unit=TEXT, because=TEXT)),
    irreversible=many(thing(what=TEXT, step=TEXT, because=FROM)),
)
LOOK: Final = thing(at=nullable(INSTANT), why=TEXT)
DATA: Final = thing(id=TEXT, version=TEXT, digest=TEXT)
DECISION: Final = thing(
    id=nullable({"type": "string", "format": "uuid"}),
    flight_id=TEXT,
    as_of=INSTANT,
    verdict=one_of("GO", "GO_WITH_CAUTION", "NO_GO", "INSUFFICIENT_DATA"),
    action=thing(
        do=one_of("APPROACH", "DIVERT", "HOLD", "COMMIT"),
        aerodrome=TEXT,
        runway=nullable(TEXT),
        latest_at=nullable(INSTANT),
    ),
    basis=TEXT,
    headline=TEXT,
    fuel_state=one_of("NORMAL", "MINIMUM_FUEL", "MAYDAY_FUEL"),
    emergency=thing(level=one_of("NONE", "URGENCY", "DISTRESS"), reason=TEXT, phrase=TEXT),
    messages=many(thing(to=one_of("air_traffic_control", "cabin", "dispatch"), text=TEXT)),
    minimum_fuel_to_start_kg=MAYBE,
    reasons=many({"allOf": [ref("Finding"), thing(course=TEXT)]}),
    cautions=many(ref("Caution")),
    last_clean_diversion=nullable(
        thing(
            distance_to_go_nm=MAYBE,
            at=nullable(INSTANT),
            fuel_kg=MAYBE,
            fuel_penalty_kg=MAYBE,
            reason=nullable(TEXT),
        )
    ),
    timeline=many(
        thing(
            step=TEXT,
            distance_to_go_nm=NUMBER,
            at=INSTANT,
            minutes=NUMBER,
            cannot_be_undone=FLAG,
            late_nm=NUMBER,
            because=FROM,
        )
    ),
    gear_extension=many(
        thing(
            distance_to_go_nm=NUMBER,
            planned=FLAG,
            at=INSTANT,
            at_missed_approach_kg=NUMBER,
            more_kg=NUMBER,
        )
    ),
    remedies=many(
        thing(
            kind=one_of("another_minimum", "another_runway", "less_mass"),
            approach=nullable(TEXT),
            runway=nullable(TEXT),
            mass_kg=MAYBE,
            text=TEXT,
        )
    ),
    holding=nullable(
        thing(available_min=MAYBE, until=nullable(INSTANT), limited_by=nullable(TEXT))
    ),
    next_look=LOOK,
    valid_until=LOOK,
    courses=many(ref("Course")),
    capability=ref("Capability"),
    weather={
        "type": "object",
        "description": "By location indicator.",
        "additionalProperties": thing(
            observation=nullable({"type": "object"}),
            governing=nullable({"type": "object"}),
            window=nullable(thing(start=INSTANT, end=INSTANT)),
            age_min=MAYBE,
            unread=many(TEXT),
            fetched=many(
                thing(
                    kind=one_of("observation", "forecast"),
                    at=nullable(INSTANT),
                    age_s=MAYBE,
                    stale=FLAG,
                    problem=nullable(TEXT),
                )
            ),
        ),
    },
    flip_points=nullable(
        many(thing(input=TEXT, present=MAYBE, flips_at=MAYBE, to_verdict=nullable(TEXT), unit=TEXT))
    ),
    uncertainty=nullable(
        thing(
            landing_fuel_p5_kg=NUMBER,
            landing_fuel_p50_kg=NUMBER,
            landing_fuel_p95_kg=NUMBER,
            below_final_reserve_probability=NUMBER,
            samples=WHOLE,
            seed=WHOLE,
        )
    ),
    unknowns=many(TEXT),
    assumptions=many(thing(field=TEXT, value={}, text=TEXT)),
    disclaimer=TEXT,
    accuracy=many(
        thing(
            of=one_of(*AccuracyOf),
            within=NUMBER,
            unit=one_of("percent", "point"),
            check=TEXT,
            source=TEXT,
        )
    ),
    provenance=thing(engine_version=TEXT, rulebook=DATA, profile=DATA, input_digest=TEXT),
)
SPAN: Final = thing(start=INSTANT, end=INSTANT)
GOVERNING: Final = thing(kind=TEXT, text=TEXT, why=TEXT)
CONDITIONS: Final = thing(
    window=SPAN,
    ceiling=thing(state=TEXT, feet=MAYBE, possibly_worse=FLAG, governing=GOVERNING),
    visibility=thing(metres=MAYBE, bound=TEXT, possibly_worse=FLAG, governing=GOVERNING),
    wind=thing(from_true_deg=MAYBE, speed_kt=MAYBE, gust_kt=MAYBE, governing=GOVERNING),
    disregarded=many(thing(text=TEXT, why=TEXT)),
    unread=many(TEXT),
    observation_age_min=MAYBE,
    unknown=many(TEXT),
    unknown_reasons=many(TEXT),
)
FROM_TO: Final = {
    "type": "object",
    "properties": {"from": {}, "to": {}},
    "required": ["from", "to"],
}
CHANGED: Final = thing(
    verdict=FROM_TO,
    action=FROM_TO,
    inputs=many(thing(pointer=TEXT, unit=nullable(TEXT))),
    weather=many(thing(what=one_of("came", "went"), report=TEXT)),
    findings=many(
        thing(course=TEXT, rule=TEXT, at=TEXT, outcome=FROM_TO, value=FROM_TO, text=TEXT)
    ),
    courses=many(thing(course=TEXT)),
    cautions=many(thing(what=one_of("came", "went"), text=TEXT)),
    why=TEXT,
)
HEADING: Final = thing(id=TEXT, version=TEXT, title=TEXT, digest=TEXT)
FLOWN: Final = {"feasible": FLAG, "limited_by": nullable(TEXT), "fuel_kg": MAYBE, "cas_kt": MAYBE}

ANSWERS: Final = MappingProxyType(
    {
        "Problem": PROBLEM,
        "Finding": FINDING,
        "Caution": CAUTION,
        "Step": STEP,
        "Course": COURSE,
        "Capability": CAPABILITY,
        "Decision": DECISION,
        "BatchLine": {
            "anyOf": [
                ref("Decision"),
                {"allOf": [ref("Problem"), thing(line=WHOLE)]},
                thing(end={"const": True}, count=WHOLE),
            ]
        },
        "History": thing(
            flight_id=TEXT,
            decisions=many(
                thing(
                    id=TEXT,
                    created_at=INSTANT,
                    as_of=INSTANT,
                    verdict=TEXT,
                    basis=TEXT,
                    headline=TEXT,
                    fuel_state=TEXT,
                    changed=nullable(CHANGED),
                )
            ),
            next_before=nullable(TEXT),
        ),
        "DecodedReports": thing(
            reports=many(
                thing(
                    raw=TEXT,
                    kind=nullable(one_of("METAR", "SPECI", "TAF")),
                    station=nullable(TEXT),
                    issued_at=nullable(INSTANT),
                    unread=many(TEXT),
                    problems=many(TEXT),
                )
            )
        ),
        "ConditionsOverWindow": thing(
            station=TEXT,
            as_of=INSTANT,
            rulebook=TEXT,
            conditions=CONDITIONS,
            timeline=many(thing(window=SPAN, conditions=CONDITIONS)),
            in_force=many(
                thing(
                    raw=TEXT,
                    kind=TEXT,
                    issued_at=INSTANT,
                    age_min=NUMBER,
                    expires_at=INSTANT,
                    unread=many(TEXT),
                )
            ),
            set_aside=many(thing(raw=TEXT, reason=TEXT)),
            other_stations=many(TEXT),
        ),
        "Expansion": thing(
            capability=ref("Capability"),
            sentences=many(TEXT),
            timeline=nullable(
                many(
                    thing(
                        step=TEXT,
                        distance_to_go_nm=NUMBER,
                        in_min=NUMBER,
                        minutes=NUMBER,
                        cannot_be_undone=FLAG,
                        late_nm=NUMBER,
                        because=FROM,
                    )
                )
            ),
        ),
        "Diversion": thing(
            **FLOWN, time_min=MAYBE, pressure_altitude_ft=MAYBE, steps=many(ref("Step"))
        ),
        "Landing": thing(
            distance_m=MAYBE,
            factored_m=MAYBE,
            approach_speed_kt=NUMBER,
            brake_energy_mj=MAYBE,
            limited_by=nullable(TEXT),
        ),
        "Climb": thing(
            gradient_percent=NUMBER,
            ground_gradient_percent=NUMBER,
            gradient_ft_per_nm=NUMBER,
            rate_fpm=NUMBER,
            cas_kt=NUMBER,
            ceiling_ft=MAYBE,
            reached=nullable(
                thing(height_gained_ft=NUMBER, pressure_altitude_ft=NUMBER, levelled_off=FLAG)
            ),
        ),
        "Holding": thing(**FLOWN, flow_kg_per_h=MAYBE),
        "Profiles": thing(profiles=many(HEADING)),
        "Profile": HEADING,
        "Rulebooks": thing(rulebooks=many(HEADING)),
        "Rulebook": HEADING,
        "LoadedAerodrome": thing(icao=TEXT, name=TEXT, elevation_ft=NUMBER),
        "Alive": thing(status=TEXT),
        "Ready": thing(
            status=TEXT,
            store=TEXT,
            profiles=many(TEXT),
            weather_source=one_of("none", "closed", "open", "half_open"),
        ),
        "Document": {"type": "object"},
    }
)
