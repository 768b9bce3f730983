"""What a decision means, sentence by sentence, each with the tests that hold it.

A reading without a test fails here, and so does a test that has gone.
"""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parents[2]


class Reading(NamedTuple):
    """One sentence and the tests that hold it, as file and function."""

    says: str
    held_by: tuple[str, ...]


def read(says: str, *held_by: str) -> Reading:
    return Reading(says, held_by)


ORIGIN_AND_FUEL = (
    read(
        "miles to run and between places are taken as given",
        "courses/test_courses.py::test_miles_are_as_given",
    ),
    read(
        "miles that are not given are the great circle times the routing factor",
        "courses/test_courses.py::"
        "test_miles_that_are_not_given_are_the_great_circle_with_the_routing_factor",
    ),
    read(
        "without miles and without a position a course is unknown",
        "courses/test_courses.py::"
        "test_miles_from_an_unknown_position_are_unknown_and_so_is_the_course",
    ),
    read(
        "the defaults of the policy are listed when they are used",
        "semantics/test_meant.py::"
        "test_defaults_of_the_policy_are_those_that_an_operator_would_find_listed",
        "case/test_build.py::test_every_default_that_was_used_is_listed",
    ),
    read(
        "mass less fuel must be a possible zero-fuel mass, and the fault names both",
        "case/test_build.py::test_an_impossible_zero_fuel_mass_names_both_figures_and_the_range",
    ),
    read(
        "fuel that cannot be used is on board and does not count",
        "courses/test_courses.py::test_unusable_fuel_never_counts",
        "recommend/test_forgotten_consequences.py::test_trapped_fuel_is_on_board_and_is_not_fuel",
    ),
    read(
        "a leak drains every phase, a hold among them",
        "courses/test_courses.py::test_a_leak_drains_in_every_phase",
        "semantics/test_meant.py::test_a_leak_drains_a_hold_too",
    ),
    read(
        "required holding comes before the approach in every course that has one",
        "courses/test_courses.py::test_a_hold_before_the_approach_burns_and_takes_its_minutes",
        "rules/test_delay.py::test_a_diversion_from_the_present_position_does_not_wait",
    ),
    read(
        "a delay told by control is held besides what is planned",
        "rules/test_delay.py::test_a_delay_comes_on_top_of_the_hold_that_is_planned",
    ),
    read(
        "checklists run on the way, those of the failures unless planned",
        "courses/test_courses.py::"
        "test_checklists_are_those_of_the_failures_or_the_plan_and_run_on_the_way",
    ),
    read(
        "fuel at the missed approach is counted at the minimum, after the whole flight to it",
        "semantics/test_meant.py::"
        "test_fuel_at_the_missed_approach_is_what_is_left_of_all_that_was_flown_to_the_minimum",
    ),
    read(
        "the flight to the minimum is clean to the extension point and then with the gear down",
        "courses/test_courses.py::test_the_gear_goes_down_at_the_profile_s_distance_or_as_planned",
    ),
    read(
        "what is required counts go-around, climb, ten miles back, diversion, landing and reserve",
        "semantics/test_meant.py::"
        "test_what_is_needed_after_a_miss_begins_with_the_go_around_and_its_miles",
        "courses/test_courses.py::"
        "test_an_approach_without_published_miss_goes_to_three_thousand_feet",
    ),
    read(
        "the margin is the same from both ends",
        "recommend/test_demo_cases.py::test_the_margin_is_the_same_from_both_ends",
    ),
    read(
        "the stated figures are those of the diversion alone",
        "physics/test_diversion.py::test_least_fuel_is_the_stated_one",
        "physics/test_diversion.py::test_the_scenario_that_turns_on_the_physics_needs_what_is_stated",
    ),
    read(
        "the greater of planned and configured reserve governs",
        "semantics/test_meant.py::test_one_engine_may_burn_less_and_the_planned_reserve_still_governs",
        "semantics/test_meant.py::"
        "test_gear_that_stays_down_needs_more_reserve_than_the_plan_and_then_that_governs",
        "courses/test_courses.py::test_a_planned_final_reserve_is_taken_as_it_is",
    ),
    read(
        "the planned reserve is one rule, the configured one another",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
    ),
    read(
        "the price of the step that cannot be undone is given for each alternate by name",
        "courses/test_courses.py::test_a_penalty_names_each_alternate_that_can_be_reached",
        "recommend/test_identities.py::"
        "test_a_penalty_is_the_need_after_the_step_less_the_need_before_it",
    ),
    read(
        "a flow more than five per cent above the model scales it and is a caution",
        "courses/test_attempts.py::test_a_flow_above_the_model_scales_it_and_one_below_does_not",
        "recommend/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
)
CONFIGURATION = (
    read(
        "gear and flap are taken as they are, so gear that is down and stays down is flown down",
        "courses/test_configure.py::"
        "test_gear_that_is_down_already_and_stays_down_leaves_nothing_to_lose",
        "courses/test_configure.py::test_gear_that_is_down_and_works_comes_up_for_a_diversion",
    ),
    read(
        "gear in transit or unsafe is never taken as up",
        "courses/test_configure.py::"
        "test_gear_that_is_not_known_to_be_up_counts_as_hanging_with_its_doors",
    ),
    read(
        "slats and flaps are separate",
        "courses/test_configure.py::test_slats_jammed_in_stay_in_with_the_flaps_out",
        "physics/test_profile.py::test_slats_and_flaps_lift_apart",
    ),
    read(
        "alternate extension leaves the doors open and costs fuel",
        "courses/test_configure.py::test_alternate_extension_leaves_the_doors_open",
        "recommend/test_failures.py::test_doors_that_hang_with_the_gear_up_cost_fuel",
    ),
    read(
        "retraction lost alone extends normally and the doors close",
        "systems/test_capability.py::"
        "test_gear_retraction_alone_extends_normally_and_closes_the_doors",
    ),
    read(
        "an engine takes its pump with it unless another source feeds the supply",
        "systems/test_capability.py::test_an_engine_takes_its_reverser_but_no_hydraulic_supply",
        "systems/test_capability.py::"
        "test_an_engine_and_the_electric_pump_of_its_supply_lose_the_supply",
    ),
    read(
        "every consumer of a supply is lost with it",
        "systems/test_capability.py::test_hydraulic_1_costs_all_that_it_feeds",
        "systems/test_capability.py::test_hydraulic_2_slows_flaps_and_slats",
    ),
    read(
        "after a miss flaps come in unless they are jammed; a slow drive takes minutes",
        "courses/test_courses.py::test_slow_flaps_cost_minutes_with_the_flaps_out_after_a_miss",
        "courses/test_configure.py::test_jammed_flaps_stay_where_they_are_in_every_phase",
    ),
    read(
        "a miss at the alternate is robustness only: minutes left, and the next aerodrome or none",
        "courses/test_second_miss.py::"
        "test_where_fuel_reaches_nothing_with_its_reserve_there_is_no_next_place",
        "courses/test_second_miss.py::test_more_fuel_lasts_longer_and_reaches_no_less",
        "courses/test_second_miss.py::test_the_best_legal_diversions_tell_it_and_no_others",
        "brief/test_brief.py::test_a_miss_at_the_end_of_the_way_is_told_with_what_it_leaves",
    ),
)
GATES_AND_WINDOWS = (
    read(
        "passing the last clean point wants a report no older than the policy allows",
        "recommend/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
    read(
        "the ban does not forbid starting, and says so",
        "rules/test_traps.py::"
        "test_visibility_is_converted_in_flight_in_europe_and_looked_up_in_the_united_states",
    ),
    read(
        "a ceiling never bars; under the minimum height a miss is likely",
        "rules/test_traps.py::test_a_ceiling_bars_no_approach_but_does_bar_an_alternate",
    ),
    read(
        "inside the gate the ban no longer applies",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
    ),
    read(
        "windows are of the course: a slower aircraft meets later weather",
        "recommend/test_forgotten_consequences.py::"
        "test_a_slower_aircraft_arrives_later_and_meets_the_weather_of_then",
    ),
    read(
        "the bar in flight looks a quarter of an hour on, the planning bar an hour either way",
        "semantics/test_meant.py::"
        "test_the_window_of_an_alternate_is_that_of_its_bar_and_wider_by_the_spread_of_the_arrival",
        "courses/test_judge.py::test_the_planning_window_does_not_reach_into_the_past",
    ),
    read(
        "in flight operating minima count, for planning the minima of planning",
        "rules/test_traps.py::test_the_planning_bar_is_higher_than_the_one_in_flight",
    ),
    read(
        "where the State is free, change groups are read as in Europe",
        "rules/test_rulebook.py::test_a_rulebook_says_how_it_reads_forecasts",
        "weather/test_conditions_tables.py::test_the_change_group_table_of_the_persistent_reading",
    ),
    read(
        "what a reading disregards is listed",
        "weather/test_conditions.py::test_a_storm_at_times_is_disregarded_for_planning_and_said_so",
        "weather/test_conditions.py::"
        "test_a_probable_temporary_group_is_disregarded_whatever_it_says",
    ),
    read(
        "the order of reports does not matter, the newest of issue is in force",
        "weather/test_collect.py::test_the_order_of_reports_does_not_matter",
        "weather/test_collect.py::test_the_observation_in_force",
    ),
    read(
        "a report from the future is ignored and listed",
        "weather/test_collect.py::test_a_report_from_the_future_is_ignored_and_listed",
    ),
    read(
        "an expired forecast is none",
        "weather/test_collect.py::test_an_expired_forecast_is_none",
    ),
    read(
        "a report of a place outside the case is kept and not used",
        "recommend/test_cautions.py::"
        "test_a_report_of_a_place_that_is_not_in_the_case_is_listed_as_unused",
    ),
    read(
        "day and hour stand in the nearest month",
        "weather/test_headers.py::test_the_month_is_the_nearest_that_the_time_of_receipt_allows",
    ),
    read(
        "a young observation governs for an hour unless trend or forecast is worse",
        "weather/test_conditions.py::test_how_long_an_observation_is_heard",
        "weather/test_conditions.py::test_the_worse_of_observation_and_forecast_wins",
    ),
    read(
        "a spot reading outranks an older report",
        "weather/test_conditions.py::test_a_spot_observation_outranks_an_older_report",
        "courses/test_attempts.py::test_braking_that_a_pilot_reports_counts_at_its_aerodrome_only",
    ),
    read(
        "a surface temperature is of the report, else of the winds, else unknown",
        "courses/test_attempts.py::test_what_is_not_reported_is_unknown_and_leaves_no_figure",
    ),
    read(
        "without winds it is calm, with a caution",
        "courses/test_attempts.py::test_without_winds_the_air_is_calm_and_standard",
        "recommend/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
    read(
        "between levels the wind is interpolated as a vector",
        "semantics/test_meant.py::test_between_two_levels_the_wind_is_that_of_the_mean_vector",
    ),
    read(
        "half of a headwind and one and a half times a tailwind count",
        "rules/test_minima_landing.py::"
        "test_half_of_a_headwind_and_one_and_a_half_of_a_tailwind_count",
    ),
    read(
        "the fuel of extending the gear at ten, seven and five miles is told side by side",
        "courses/test_extension.py::"
        "test_ten_seven_and_five_miles_are_priced_and_the_plan_is_one_of_them",
        "courses/test_extension.py::test_a_price_is_the_fuel_of_an_approach_planned_so",
    ),
    read(
        "a wind beyond the levels given is marked as taken from the nearest",
        "recommend/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
)
CLIMB_AND_ROUTE = (
    read(
        "with all engines their gradient is judged and the other is a caution",
        "recommend/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
    ),
    read(
        "with an engine out that gradient is the limit",
        "rules/test_rules.py::"
        "test_one_engine_out_is_judged_by_its_own_procedure_where_one_is_published",
    ),
    read(
        "a margin inside the error of the model is never a plain go",
        "recommend/test_verdict.py::test_each_row_of_the_truth_table_decides_as_written",
    ),
    read(
        "no engine-out procedure given is a caution, not taken as met",
        "recommend/test_cautions.py::"
        "test_a_published_engine_out_gradient_is_judged_and_not_asked_for",
    ),
    read(
        "ceiling, level and oxygen are judged before fuel and name their limit",
        "courses/test_courses.py::test_a_way_over_terrain_that_cannot_be_climbed_names_its_limit",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
    ),
    read(
        "no terrain given is a caution",
        "recommend/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
    read(
        "a gradient that is not met names the remedies: another minimum, less mass, another runway",
        "recommend/test_remedies.py::"
        "test_another_runway_that_is_named_can_be_flown_when_it_is_planned",
        "recommend/test_remedies.py::test_less_mass_is_the_greatest_that_climbs_away",
        "recommend/test_remedies.py::"
        "test_a_flatter_procedure_to_the_same_runway_is_another_minimum",
    ),
)
TIME_CRITICAL = (
    read(
        "a failure that wants the ground at once never holds",
        "semantics/test_meant.py::"
        "test_a_failure_that_wants_the_ground_at_once_never_waits_for_weather",
    ),
    read(
        "then a committed landing here is not behind a longer way",
        "semantics/test_meant.py::"
        "test_a_landing_here_is_not_behind_a_longer_way_when_the_failure_presses",
        "courses/test_courses.py::test_time_counts_before_margin_only_where_a_failure_presses",
    ),
    read(
        "suitable is what weather, runway, gradient and services allow",
        "rules/test_engine_out.py::"
        "test_a_place_in_fog_is_not_suitable_and_the_next_one_is_the_nearest",
    ),
)
HOLD_AND_COMMIT = (
    read(
        "holding has two deadlines, each where a decision has no margin left",
        "recommend/test_identities.py::"
        "test_a_deadline_is_where_a_decision_after_that_wait_has_no_margin_left",
        "recommend/test_identities.py::"
        "test_time_aloft_that_a_failure_limits_ends_a_hold_before_the_fuel_does",
    ),
    read(
        "improvement counts from the start of FM and from the end of BECMG",
        "weather/test_conditions.py::"
        "test_fog_that_is_becoming_clear_holds_to_the_end_of_the_change",
        "courses/test_courses.py::test_a_hold_is_tried_to_every_change_of_the_weather_that_bars",
    ),
    read(
        "a hold is flown in the present configuration",
        "semantics/test_meant.py::test_the_hold_is_flown_as_the_aircraft_now_is",
    ),
    read(
        "a second approach has its own fuel and its own weather",
        "courses/test_courses.py::test_a_second_approach_repositions_and_lands_with_less",
    ),
    read(
        "a committed landing wants ample weather, no storm and a runway that stays free",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
        "recommend/test_forgotten_consequences.py::"
        "test_a_runway_that_another_may_block_bars_a_committed_landing_without_a_second_one",
    ),
    read(
        "it is chosen when nothing legal is left to divert to, or the failure presses",
        "recommend/test_verdict.py::test_each_row_of_the_truth_table_decides_as_written",
        "recommend/test_demo_cases.py::"
        "test_every_demo_case_is_expected_and_every_row_of_the_table_has_one",
    ),
)
LEGAL_AND_VERDICT = (
    read(
        "legal is null where something is unknown and nothing fails",
        "courses/test_judge.py::test_legality_has_three_values_and_turns_only_where_it_is_unknown",
        "recommend/test_laws.py::test_unknown_is_never_taken_for_passed_and_legal_comes_first",
    ),
    read(
        "an unknown matters only where the verdict turns on it",
        "semantics/test_meant.py::"
        "test_a_missing_report_is_only_a_caution_where_other_ways_are_known_to_be_legal",
        "recommend/test_demo_cases.py::test_a_demo_case_is_decided_as_its_row_says",
    ),
    read(
        "legality is of the central model, the percentile decides on the caution",
        "semantics/test_meant.py::"
        "test_the_percentile_decides_between_go_and_caution_and_never_legality",
    ),
    read(
        "the margin wanted is five minutes of holding unless the policy says",
        "courses/test_courses.py::"
        "test_the_margin_that_a_policy_wants_is_its_own_or_five_minutes_of_holding",
    ),
    read(
        "each row of the table decides as written",
        "recommend/test_verdict.py::test_each_row_of_the_truth_table_decides_as_written",
        "recommend/test_demo_cases.py::test_a_demo_case_is_decided_as_its_row_says",
    ),
    read(
        "a committed landing tells fuel, runway and weather, and does not say to leave",
        "recommend/test_headline.py::test_a_committed_landing_says_its_weather",
    ),
    read(
        "no text prohibits a landing, and the pilot's authority is cited",
        "semantics/test_meant.py::"
        "test_no_text_says_that_a_landing_is_prohibited_and_the_authority_of_the_pilot_is_cited",
    ),
    read(
        "of illegal courses the gravest breach goes last, then the amount",
        "courses/test_courses.py::test_of_illegal_courses_the_less_grave_breach_comes_first",
        "rules/test_ranking_oracle.py::"
        "test_the_order_is_the_only_one_in_which_every_pair_is_in_order",
    ),
    read(
        "minutes of fuel at a good place beat a landing far below minima",
        "semantics/test_meant.py::"
        "test_little_fuel_at_a_good_place_is_less_bad_than_landing_below_minima",
    ),
    read(
        "no preference outvotes a legal limit",
        "rules/test_ranking_oracle.py::test_no_preference_outvotes_a_limit",
    ),
)
FUEL_STATE = (
    read(
        "minimum fuel: one aerodrome left, with no more to spare than the delay of the policy",
        "recommend/test_fuel_state.py::test_the_fuel_state_is_as_the_annex_defines_it",
        "recommend/test_fuel_state.py::test_the_delay_of_the_policy_decides_minimum_fuel",
    ),
    read(
        "mayday fuel follows from fuel and never from weather alone",
        "recommend/test_fuel_state.py::test_fog_everywhere_is_never_mayday_fuel",
        "recommend/test_demo_cases.py::test_weather_alone_is_never_mayday_fuel",
    ),
    read(
        "an emergency has a level, a reason and a phrase",
        "recommend/test_fuel_state.py::"
        "test_a_failure_that_presses_is_urgency_and_an_unsafe_landing_is_distress",
        "recommend/test_fuel_state.py::"
        "test_mayday_fuel_is_declared_in_the_words_of_the_annex_with_the_endurance",
    ),
    read(
        "the amount of dispatch is no floor in flight, and the floor is called policy",
        "semantics/test_meant.py::test_the_amount_of_dispatch_is_never_the_floor_in_flight",
        "rules/test_rulebook.py::"
        "test_part_121_has_no_fuel_floor_in_flight_and_says_that_its_floor_is_policy",
    ),
    read(
        "part 121 judges the alternate's minima, safe continuation and the nearest airport",
        "rules/test_traps.py::"
        "test_in_flight_the_bar_is_operating_minima_but_part_121_still_wants_alternate_minima",
        "rules/test_engine_out.py::test_going_on_to_a_runway_that_is_too_short_names_what_is_safer",
        "rules/test_engine_out.py::"
        "test_part_121_goes_to_the_nearest_suitable_airport_where_others_leave_it_to_the_crew",
    ),
)
ANSWER = (
    read(
        "the first screen says what to do, by when, and with what",
        "brief/test_golden.py::test_the_decision_fits_a_screen_and_the_rest_a_second",
        "brief/test_golden.py::test_the_brief_of_a_demo_case_reads_as_approved",
    ),
    read(
        "the least fuel to start leaves no margin",
        "recommend/test_identities.py::"
        "test_the_least_fuel_to_start_leaves_the_best_way_out_without_margin",
    ),
    read(
        "no last clean point carries its reason",
        "recommend/test_identities.py::test_where_there_is_no_point_ahead_the_answer_says_why",
    ),
    read(
        "the next look and the end of the answer lie ahead",
        "recommend/test_answer.py::test_the_next_look_and_the_end_of_the_answer_lie_ahead",
    ),
    read(
        "findings are complete and in the order of their codes",
        "courses/test_judge.py::test_findings_are_complete_and_in_the_order_of_their_codes",
    ),
    read(
        "a margin is positive where there is room, and rounded down in text",
        "rules/test_finding.py::test_a_margin_in_text_is_never_better_than_the_margin",
    ),
    read(
        "unrecorded answers have no id and are the same bytes otherwise",
        "service/test_decisions.py::"
        "test_what_is_not_recorded_has_no_id_and_the_same_bytes_otherwise",
    ),
    read(
        "the digest of a request is of its meaning",
        "case/test_build.py::test_the_digest_is_of_the_meaning_and_not_of_the_writing",
    ),
    read(
        "a failed fetch is an answer with unknowns",
        "service/fetching/test_faults.py::"
        "test_a_source_at_fault_costs_no_more_than_the_deadline_and_leaves_the_weather_unknown",
    ),
    read(
        "a policy looser than the rulebook is refused without a reason",
        "recommend/test_answer.py::"
        "test_a_policy_looser_than_the_rulebook_is_refused_unless_it_says_why",
    ),
)
INVARIANTS = (
    read(
        "less fuel never makes anything better",
        "recommend/test_laws.py::test_less_fuel_never_makes_anything_better",
    ),
    read(
        "more miles to divert never raise a margin",
        "recommend/test_laws.py::test_more_miles_to_divert_never_raise_a_margin",
    ),
    read(
        "more headwind on the way never raises a margin",
        "recommend/test_laws.py::test_more_headwind_on_the_way_never_raises_a_margin",
    ),
    read(
        "one more failure never makes a course legal",
        "recommend/test_laws.py::test_one_more_failure_never_makes_a_course_legal",
    ),
    read(
        "worse weather and a shorter runway never make anything better",
        "recommend/test_laws.py::test_worse_weather_never_makes_anything_better",
        "recommend/test_laws.py::test_a_shorter_runway_never_makes_anything_better",
    ),
    read(
        "taking information away never leads to go",
        "recommend/test_laws.py::test_taking_a_report_away_never_leads_to_go",
    ),
)
CALCULATORS = (
    read(
        "the calculators ask the same core as a decision",
        "service/test_tools.py::test_a_diversion_is_that_of_the_core",
        "service/test_tools.py::test_a_landing_is_factored",
        "service/test_tools.py::test_a_climb_has_its_ceiling",
        "service/test_tools.py::test_a_hold_is_that_of_the_core",
    ),
)
READINGS = (
    *ORIGIN_AND_FUEL,
    *CONFIGURATION,
    *GATES_AND_WINDOWS,
    *CLIMB_AND_ROUTE,
    *TIME_CRITICAL,
    *HOLD_AND_COMMIT,
    *LEGAL_AND_VERDICT,
    *FUEL_STATE,
    *ANSWER,
    *INVARIANTS,
    *CALCULATORS,
)


@cache
def functions(file: str) -> frozenset[str]:
    path = ROOT / "tests" / file
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


@pytest.mark.parametrize("reading", [pytest.param(each, id=each.says) for each in READINGS])
def test_every_reading_is_held_by_tests_that_there_are(reading: Reading) -> None:
    assert reading.held_by
    for node in reading.held_by:
        file, _, name = node.partition("::")
        assert name.startswith("test_")
        assert name in functions(file), node


def test_no_reading_stands_twice() -> None:
    said = [reading.says for reading in READINGS]
    assert len(set(said)) == len(said)
