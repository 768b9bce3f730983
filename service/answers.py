"""JSON Schemas of the answers. Open to new fields: a client must ignore what it does not know."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any, Final

from decision.profile.types import AccuracyOf
from decision.recommend.answer import RemedyKind

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


def about(schema: Schema, meaning: str) -> Schema:
    """The schema with what it means, and in which unit where its name does not say it."""
    return {**schema, "description": meaning}


def thing(**members: Schema) -> Schema:
    """An object of which every named member is always there."""
    return {"type": "object", "properties": members, "required": list(members)}


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
ORIGINS: Final = ("present", "last_clean_point", "missed_approach")
BREAK: Final = thing(
    rule=about(TEXT, "Code of the rule."),
    at=about(nullable(TEXT), "Aerodrome where it is broken."),
    text=about(TEXT, "What is broken, its value and its limit, in short."),
    breach=about(TEXT, "Kind of the breach; the kinds have an order, the worst first."),
    endangers=about(FLAG, "Whether people are in danger, and not only a rule or a margin."),
)
ATTEMPT: Final = thing(
    aerodrome=TEXT,
    role=about(
        one_of("missed", "alternate", "committed"),
        "What the approach is for: to be missed, to land after a diversion, to land without one.",
    ),
    approach=about(nullable(TEXT), "Procedure; null without one that can be flown."),
    runway=nullable(TEXT),
    at=about(INSTANT, "When it is flown."),
    window=about(thing(start=INSTANT, end=INSTANT), "Time over which its weather is judged."),
    flap=about(TEXT, "Detent of the landing."),
    approach_speed_kt=about(NUMBER, "Indicated airspeed in knots."),
    category=about(nullable(TEXT), "Approach category."),
    mass_kg=NUMBER,
    landing_distance_m=about(MAYBE, "Unfactored, in metres; null when it is not known."),
    lda_m=about(MAYBE, "Landing distance available, in metres."),
    condition_code=about(nullable(WHOLE), "Runway condition code, 0 to 6."),
    crosswind_kt=about(MAYBE, "Largest of the window, with its gust where that counts."),
    headwind_kt=about(MAYBE, "Smallest of the window, without gusts; negative is a tailwind."),
    tailwind_kt=about(MAYBE, "Largest of the window, with its gust where that counts."),
    missed_gradient_percent=about(MAYBE, "Climb gradient of the missed approach over ground."),
    unknown=about(FROM, "What is not known of it."),
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
    aerodrome=about(TEXT, "Where it ends."),
    runway=nullable(TEXT),
    **{"from": about(one_of(*ORIGINS), "Where the flight of this course turns away.")},
    legal=about(nullable(FLAG), "Null when something is not known and nothing is broken."),
    advised_against=about(FLAG, "Whether guidance, which does not bind, speaks against it."),
    breaks=about(many(ref("Break")), "The binding rules that it breaks."),
    touchdown_at=about(nullable(INSTANT), "When it lands; null when it is not flown."),
    minutes_to_touchdown=about(MAYBE, "Minutes from `as_of` to the landing."),
    rank=about(WHOLE, "1 is the best."),
    limited_by=about(nullable(TEXT), "The limit by which it cannot be flown."),
    unknown=about(FROM, "What is not known of its way or its fuel: its figures are at most."),
    rests_on=about(TEXT, "The group of a report that a hold waits for; empty without one."),
    emergency_basis=about(
        nullable(TEXT), "Citation of the pilot's emergency authority; null unless it is illegal."
    ),
    configuration=about(TEXT, "Of the flight after the approach, or of the way to the landing."),
    cruise_pressure_altitude_ft=MAYBE,
    cruise_cas_kt=MAYBE,
    fuel=nullable(
        thing(
            at_missed_approach_kg=MAYBE,
            counted_from_kg=about(NUMBER, "Usable fuel where the ledger counts from."),
            flight_kg=about(NUMBER, "Fuel burnt from there to the landing."),
            required_kg=about(NUMBER, "Flight and final reserve from where the ledger counts."),
            required_from=about(
                one_of(*ORIGINS),
                "Where `required_kg` and `flight_kg` count from.",
            ),
            required_now_kg=about(
                NUMBER, "Fuel on board now with which it would land on final reserve."
            ),
            at_most=about(FLAG, "Whether fuel is lost that is not known: figures are at most."),
            landing_kg=about(NUMBER, "Usable fuel on landing."),
            landing_min=about(MAYBE, "The same as minutes of holding there."),
            final_reserve_kg=about(NUMBER, "The greater of the next two: it governs."),
            planned_final_reserve_kg=about(NUMBER, "The legal limit."),
            configured_final_reserve_kg=about(
                NUMBER, "Half an hour in the configuration on arrival: policy."
            ),
            margin_kg=about(NUMBER, "Above final reserve on landing; negative is under it."),
            margin_p95_kg=MAYBE,
        )
    ),
    attempts=about(many(ref("Attempt")), "The approaches of it, in the order they are flown."),
    time=thing(missed_approach_at=nullable(INSTANT), arrive_at=nullable(INSTANT), hold_min=NUMBER),
    findings=many(ref("Finding")),
    after_miss_there=nullable(
        thing(
            endurance_min=NUMBER,
            next_aerodrome=nullable(TEXT),
            margin_kg=MAYBE,
            distance_unknown=many(TEXT),
            missed_gradient_percent=MAYBE,
            published_gradient_percent=MAYBE,
        )
    ),
    steps=nullable(many(ref("Step"))),
)
LEFT: Final[dict[str, Schema]] = {
    "lost": many(thing(function=TEXT, title=TEXT, degraded=FLAG, because=FROM)),
    "gear": thing(
        position=TEXT,
        extension=TEXT,
        retractable=FLAG,
        doors_after_extension=TEXT,
        because=FROM,
    ),
    "flap": thing(position=TEXT, reachable=many(TEXT), drive=TEXT, because=FROM),
    "slats": thing(position=TEXT, movable=FLAG, because=FROM),
    "engines_running": WHOLE,
    "pressurised": FLAG,
    "urgency": TEXT,
    "limits": many(thing(name=TEXT, value=NUMBER, unit=TEXT, because=TEXT)),
    "lost_approach_equipment": FROM,
    "irreversible": many(thing(what=TEXT, step=TEXT, because=FROM)),
}
CAPABILITY: Final = thing(
    **LEFT,
    landing_devices=about(
        many(thing(device=TEXT, left={})), "What is left of each device that stops the aircraft."
    ),
)
EXPANDED: Final = thing(**LEFT)
HELD: Final = nullable(thing(available_min=NUMBER, until=INSTANT, limited_by=TEXT))
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
        course=about(TEXT, "Label of the course that it flies."),
    ),
    basis=about(TEXT, "The row of the table of decisions that spoke."),
    headline=TEXT,
    fuel_on_board_kg=about(NUMBER, "All fuel on board at `as_of`, unusable fuel included."),
    fuel_state=one_of("NORMAL", "MINIMUM_FUEL", "MAYDAY_FUEL"),
    emergency=thing(
        level=one_of("NONE", "URGENCY", "DISTRESS"), reason=TEXT, phrase=TEXT, basis=TEXT
    ),
    messages=many(thing(to=one_of("air_traffic_control", "cabin", "dispatch"), text=TEXT)),
    deadline=about(
        nullable(
            thing(
                at=about(INSTANT, "The last moment; the text rounds it down."),
                what=about(TEXT, "What ends then."),
                aerodrome=about(TEXT, "The place that the deadline is for."),
                distance_to_go_nm=about(MAYBE, "Miles to the threshold then, in NM."),
                fuel_kg=about(MAYBE, "Usable fuel then, in kg."),
                holding_until=about(
                    nullable(INSTANT), "How long it stays open holding here, where that is longer."
                ),
            )
        ),
        "By when the action has to be begun; null where it has no deadline.",
    ),
    until_then=about(FROM, "What must not be done before leaving, since it cannot be undone."),
    instead=about(
        nullable(
            thing(
                course=about(TEXT, "Label of the second-best course."),
                aerodrome=about(TEXT, "Where it ends."),
                costs=about(FROM, "Minutes and kilograms that it costs beside the chosen one."),
                breaks=about(FROM, "What it breaks."),
            )
        ),
        "The second-best course and its price; null without another.",
    ),
    ways_out=about(WHOLE, "Aerodromes left after a missed approach at the destination."),
    other_runways=about(
        many(
            thing(
                aerodrome=TEXT,
                runway=TEXT,
                approach=nullable(TEXT),
                lacks=about(FROM, "What it breaks, or what is not known of it."),
            )
        ),
        "The second-best runway of each place.",
    ),
    ask=about(
        many(
            thing(
                what=about(TEXT, "What is not known and would turn the answer."),
                whom=about(TEXT, "Who can say it."),
                by_at=about(nullable(INSTANT), "By when; null: at once."),
            )
        ),
        "What to ask, of whom and by when.",
    ),
    minimum_fuel_to_start_kg=about(
        MAYBE, "Least fuel on board now to start the approach and keep a way out."
    ),
    reasons=many({"allOf": [ref("Finding"), thing(course=TEXT)]}),
    cautions=many(ref("Caution")),
    last_clean_diversion=nullable(
        thing(
            distance_to_go_nm=MAYBE,
            at=nullable(INSTANT),
            fuel_kg=MAYBE,
            aerodrome=about(nullable(TEXT), "The best place to leave for from there."),
            fuel_penalty_kg=MAYBE,
            penalties=about(
                many(
                    thing(
                        aerodrome=TEXT,
                        clean_kg=about(NUMBER, "Needed from there before the step, in kg."),
                        after_kg=about(MAYBE, "Needed from there after it; null: not in reach."),
                        fuel_penalty_kg=about(MAYBE, "What the step costs, in kg."),
                    )
                ),
                "One for each alternate; all counted from the last clean point.",
            ),
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
            kind=one_of(*RemedyKind),
            approach=nullable(TEXT),
            runway=nullable(TEXT),
            mass_kg=MAYBE,
            minutes=about(MAYBE, "Of holding, for burning off and a shorter hold."),
            text=TEXT,
            say=about(nullable(TEXT), "Words for air traffic control."),
        )
    ),
    holding=about(
        nullable(
            thing(
                available_min=MAYBE,
                until=nullable(INSTANT),
                limited_by=nullable(TEXT),
                clean_diversion=about(HELD, "Until a clean diversion is no longer legal."),
                approach_and_miss=about(
                    HELD, "Until an approach and a missed approach no longer leave a way out."
                ),
            )
        ),
        "`available_min` is the deadline that counts for the action; both stand beside it.",
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
    rulebooks_compared=about(
        nullable(
            many(
                thing(
                    rulebook=TEXT,
                    verdict=TEXT,
                    do=TEXT,
                    aerodrome=TEXT,
                    basis=TEXT,
                    headline=TEXT,
                    reasons=many({"allOf": [ref("Finding"), thing(course=TEXT)]}),
                )
            )
        ),
        "What the same case comes to under every rulebook, where that was asked for.",
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
        "Finding": FINDING,
        "Caution": CAUTION,
        "Step": STEP,
        "Break": BREAK,
        "Attempt": ATTEMPT,
        "Course": COURSE,
        "Capability": CAPABILITY,
        "Decision": DECISION,
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
            capability=EXPANDED,
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
        "Profile": HEADING,
        "Rulebook": HEADING,
        "LoadedAerodrome": thing(icao=TEXT, name=TEXT, elevation_ft=NUMBER),
        "Document": {"type": "object"},
    }
)
