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


DECIDING_AGAIN = (
    read(
        "deciding again is at the moment of deciding, and what was fetched before is forgotten",
        "service/test_again.py::test_it_is_recorded_names_the_one_before_and_says_what_changed",
        "again/test_anew.py::test_reports_are_added_once_and_what_was_fetched_is_forgotten",
    ),
    read(
        "lists of a patch replace, as RFC 7396 says",
        "again/test_merge_patch.py::test_the_examples_of_rfc_7396_come_out_as_it_says",
        "again/test_anew.py::test_lists_of_a_patch_replace",
    ),
    read(
        "state that is not given is carried along the way of the stored action",
        "again/test_anew.py::"
        "test_on_the_way_to_the_threshold_miles_fuel_mass_level_and_position_move",
        "again/test_anew.py::test_on_a_diversion_its_place_comes_nearer_and_every_other_goes_away",
        "again/test_anew.py::test_a_hold_stays_where_it_is_and_burns",
    ),
    read(
        "what is carried is listed with its age",
        "again/test_anew.py::test_every_carried_value_is_listed_with_its_age",
        "again/test_laws.py::test_carrying_twice_is_no_better_than_carrying_once_and_ages_add_up",
    ),
    read(
        "carried state never makes a verdict or a deadline better than before",
        "again/test_laws.py::test_without_news_no_verdict_is_better_and_no_deadline_later",
        "again/test_bounds.py::test_a_verdict_is_no_better_than_the_one_before",
    ),
    read(
        "state older than the policy allows decides nothing and is asked for",
        "again/test_anew.py::test_state_older_than_the_policy_decides_nothing_and_is_asked_for",
    ),
    read(
        "a report stamped after the stored moment counts, since that has moved",
        "again/test_anew.py::test_a_special_report_of_fog_20_minutes_later_is_no_plain_go",
    ),
)
ORIGIN_AND_FUEL = (
    read(
        "miles to run and between places are taken as given",
        "decide/test_courses.py::test_miles_are_as_given",
    ),
    read(
        "miles that are not given are the great circle times the routing factor",
        "decide/test_courses.py::"
        "test_miles_that_are_not_given_are_the_great_circle_with_the_routing_factor",
    ),
    read(
        "without miles and without a position a course is unknown",
        "decide/test_courses.py::"
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
        "decide/test_courses.py::test_unusable_fuel_never_counts",
        "recommend/test_forgotten_consequences.py::test_trapped_fuel_is_on_board_and_is_not_fuel",
    ),
    read(
        "a leak drains every phase, a hold among them",
        "decide/test_courses.py::test_a_leak_drains_in_every_phase",
        "semantics/test_meant.py::test_a_leak_drains_a_hold_too",
    ),
    read(
        "required holding comes before the approach in every course that has one",
        "decide/test_courses.py::test_a_hold_before_the_approach_burns_and_takes_its_minutes",
        "rules/test_delay.py::test_a_diversion_from_the_present_position_does_not_wait",
    ),
    read(
        "a delay told by control is held besides what is planned",
        "rules/test_delay.py::test_a_delay_comes_on_top_of_the_hold_that_is_planned",
    ),
    read(
        "checklists run on the way, those of the failures unless planned",
        "decide/test_courses.py::"
        "test_checklists_are_those_of_the_failures_or_the_plan_and_run_on_the_way",
    ),
    read(
        "fuel at the missed approach is counted at the minimum, after the whole flight to it",
        "semantics/test_meant.py::"
        "test_fuel_at_the_missed_approach_is_what_is_left_of_all_that_was_flown_to_the_minimum",
    ),
    read(
        "the flight to the minimum is clean to the extension point and then with the gear down",
        "decide/test_courses.py::test_the_gear_goes_down_at_the_profile_s_distance_or_as_planned",
    ),
    read(
        "what is required counts go-around, climb, ten miles back, diversion, landing and reserve",
        "semantics/test_meant.py::"
        "test_what_is_needed_after_a_miss_begins_with_the_go_around_and_its_miles",
        "decide/test_courses.py::"
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
        "decide/test_courses.py::test_a_planned_final_reserve_is_taken_as_it_is",
    ),
    read(
        "the planned reserve is one rule, the configured one another",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
    ),
    read(
        "the price of the step that cannot be undone is given for each alternate by name",
        "decide/test_courses.py::test_a_penalty_names_each_alternate_that_can_be_reached",
        "recommend/test_identities.py::"
        "test_a_penalty_is_the_need_after_the_step_less_the_need_before_it",
    ),
    read(
        "a flow more than five per cent above the model scales it and is a caution",
        "attempt/test_attempts.py::test_a_flow_above_the_model_scales_it_and_one_below_does_not",
        "answer/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
)
CONFIGURATION = (
    read(
        "gear and flap are taken as they are, so gear that is down and stays down is flown down",
        "flight/test_configure.py::"
        "test_gear_that_is_down_already_and_stays_down_leaves_nothing_to_lose",
        "flight/test_configure.py::test_gear_that_is_down_and_works_comes_up_for_a_diversion",
    ),
    read(
        "gear in transit or unsafe is never taken as up",
        "flight/test_configure.py::"
        "test_gear_that_is_not_known_to_be_up_counts_as_hanging_with_its_doors",
    ),
    read(
        "slats and flaps are separate",
        "flight/test_configure.py::test_slats_jammed_in_stay_in_with_the_flaps_out",
        "physics/test_profile.py::test_slats_and_flaps_lift_apart",
    ),
    read(
        "alternate extension leaves the doors open and costs fuel",
        "flight/test_configure.py::test_alternate_extension_leaves_the_doors_open",
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
        "decide/test_courses.py::test_slow_flaps_cost_minutes_with_the_flaps_out_after_a_miss",
        "flight/test_configure.py::test_jammed_flaps_stay_where_they_are_in_every_phase",
    ),
    read(
        "a miss at the alternate is robustness only: minutes left, and the next aerodrome or none",
        "flight/test_second_miss.py::"
        "test_where_fuel_reaches_nothing_with_its_reserve_there_is_no_next_place",
        "flight/test_second_miss.py::test_more_fuel_lasts_longer_and_reaches_no_less",
        "flight/test_second_miss.py::test_the_best_legal_diversions_and_the_chosen_one_tell_it_and_no_others",
        "brief/test_brief.py::test_a_miss_at_the_end_of_the_way_is_told_with_what_it_leaves",
    ),
)
GATES_AND_WINDOWS = (
    read(
        "passing the last clean point wants a report no older than the policy allows",
        "answer/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
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
        "the ban looks at reported values only, a forecast group is a caution",
        "rules/test_approach_ban.py::"
        "test_a_forecast_group_below_the_minimum_may_bar_and_fails_nothing",
        "recommend/test_weather_bodies.py::"
        "test_a_forecast_of_fog_under_a_fine_report_bars_nothing_and_is_no_plain_go",
    ),
    read(
        "without an observation the forecast stands in and the ban is unknown",
        "rules/test_approach_ban.py::"
        "test_without_an_observation_the_forecast_stands_in_and_the_ban_is_not_known",
    ),
    read(
        "past the gate only a report issued after it lets the approach go on",
        "rules/test_approach_ban.py::"
        "test_past_the_gate_only_a_report_that_came_after_it_lets_the_approach_go_on",
    ),
    read(
        "the gate is by true height, without QNH unknown",
        "rules/test_approach_ban.py::test_the_gate_is_passed_by_true_height",
    ),
    read(
        "more than an hour after the report the prevailing forecast counts, too",
        "rules/test_approach_ban.py::"
        "test_a_window_more_than_an_hour_after_the_report_meets_the_prevailing_forecast",
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
        "decide/test_judge.py::test_the_planning_window_does_not_reach_into_the_past",
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
        "answer/test_cautions.py::"
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
        "of two reports of one minute the worse governs, and both are quoted",
        "rules/test_approach_ban.py::test_of_two_reports_of_one_minute_the_worse_decides",
        "recommend/test_weather_bodies.py::test_the_worse_of_two_reports_decides_in_either_order",
        "weather/test_collect.py::"
        "test_reports_of_one_kind_and_minute_that_differ_stand_side_by_side",
    ),
    read(
        "a bar that was seen does not lapse by age, nor by the same report again",
        "rules/test_approach_ban.py::"
        "test_what_was_reported_stands_until_a_named_group_improves_on_it",
        "rules/test_approach_ban.py::test_the_bar_of_an_old_range_does_not_lapse_by_its_age",
        "rules/test_approach_ban.py::test_the_same_report_issued_again_bars_no_shorter",
    ),
    read(
        "no forecast in force is named, and is never read as good weather",
        "recommend/test_weather_bodies.py::test_a_forecast_that_is_none_is_missed_by_name",
        "rules/test_approach_ban.py::"
        "test_without_a_forecast_the_report_stands_in_for_an_hour_or_for_its_trend",
    ),
    read(
        "each hazard has its weight, from observation, trend and forecast",
        "weather/test_hazards.py::test_each_kind_of_hazardous_weather_has_its_weight",
        "weather/test_hazards.py::test_a_forecast_group_counts_whatever_a_rulebook_disregards",
        "weather/test_hazards.py::test_the_trend_counts_to_its_own_end",
    ),
    read(
        "a bar closes a place and endangers, a warning is advice at every place",
        "rules/test_hazard.py::"
        "test_a_bar_binds_and_endangers_and_a_warning_is_advice_at_every_place",
    ),
    read(
        "wind shear bars for a quarter of an hour on its runway and is then a caution",
        "weather/test_hazards.py::"
        "test_reported_wind_shear_bars_for_a_quarter_of_an_hour_and_is_then_a_caution",
        "rules/test_hazard.py::test_wind_shear_concerns_the_runway_that_it_is_reported_for",
    ),
    read(
        "for hazards the stated end of a TEMPO is a named improvement",
        "weather/test_hazards.py::"
        "test_the_end_of_a_temporary_hazard_over_a_base_free_of_it_is_a_named_improvement",
    ),
    read(
        "a hazard at the place of landing is never a plain go",
        "recommend/test_weather_bodies.py::test_no_hazard_at_the_place_of_landing_is_a_plain_go",
    ),
    read(
        "the operator may raise the weight of a hazard, and lowers it with a reason",
        "rules/test_hazard.py::test_the_operator_may_weigh_a_hazard_more_gravely",
        "rules/test_hazard.py::test_weighing_a_hazard_lighter_needs_a_reason",
    ),
    read(
        "a spot reading outranks an older report",
        "weather/test_conditions.py::test_a_spot_observation_outranks_an_older_report",
        "attempt/test_attempts.py::test_braking_that_a_pilot_reports_counts_at_its_aerodrome_only",
    ),
    read(
        "a surface temperature is of the report, else of the winds, else unknown",
        "attempt/test_attempts.py::test_what_is_not_reported_is_unknown_and_leaves_no_figure",
    ),
    read(
        "without winds it is calm, with a caution",
        "attempt/test_attempts.py::test_without_winds_the_air_is_calm_and_standard",
        "answer/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
    read(
        "between levels the wind is interpolated as a vector",
        "semantics/test_meant.py::test_between_two_levels_the_wind_is_that_of_the_mean_vector",
    ),
    read(
        "half of a headwind and one and a half times a tailwind count",
        "attempt/test_minima_landing.py::"
        "test_half_of_a_headwind_and_one_and_a_half_of_a_tailwind_count",
    ),
    read(
        "the fuel of extending the gear at ten, seven and five miles is told side by side",
        "flight/test_extension.py::"
        "test_ten_seven_and_five_miles_are_priced_and_the_plan_is_one_of_them",
        "flight/test_extension.py::test_a_price_is_the_fuel_of_an_approach_planned_so",
    ),
    read(
        "a wind beyond the levels given is marked as taken from the nearest",
        "answer/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
)
CLIMB_AND_ROUTE = (
    read(
        "with all engines their gradient is judged and the other is a caution",
        "answer/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
    ),
    read(
        "with an engine out that gradient is the limit where the rulebook binds",
        "rules/test_gradient.py::"
        "test_with_one_engine_out_the_ordinary_gradient_of_a_low_chart_is_guidance",
        "rules/test_gradient.py::test_a_published_gradient_for_one_engine_out_binds",
        "rules/test_rules.py::"
        "test_one_engine_out_is_judged_by_its_own_procedure_where_one_is_published",
    ),
    read(
        "a margin inside the error of the model is never a plain go",
        "decide/test_facts.py::test_what_is_doubtful_about_the_approach_here_is_a_cap",
    ),
    read(
        "no engine-out procedure given is a caution, not taken as met",
        "answer/test_cautions.py::test_a_published_engine_out_gradient_is_judged_and_not_asked_for",
    ),
    read(
        "ceiling, level and oxygen are judged before fuel and name their limit",
        "decide/test_courses.py::test_a_way_over_terrain_that_cannot_be_climbed_names_its_limit",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
    ),
    read(
        "above a level limit of the failure the first leg is a descent",
        "flight/test_level_limits.py::"
        "test_the_first_leg_from_cruise_is_a_named_descent_wherever_a_level_cannot_be_kept",
        "flight/test_level_limits.py::"
        "test_each_limit_has_its_own_descent_and_the_miles_are_credited",
    ),
    read(
        "no failure at cruise level is limited by its level alone",
        "flight/test_level_limits.py::"
        "test_no_failure_at_a_cruise_level_is_limited_by_its_level_alone",
    ),
    read(
        "no course is planned at a placard",
        "physics/test_ordinary_way.py::test_no_plan_is_at_a_placard_where_the_mass_leaves_room",
    ),
    read(
        "the policy percentile takes the dearer of the best and the ordinary way",
        "physics/test_ordinary_way.py::"
        "test_the_policy_percentile_takes_the_dearer_way_and_legality_does_not",
    ),
    read(
        "over terrain oxygen decides, its minutes added up along the way",
        "rules/test_oxygen.py::test_however_high_the_terrain_oxygen_alone_decides",
        "rules/test_oxygen.py::test_minutes_above_a_level_add_up_along_climb_cruise_and_descent",
    ),
    read(
        "an urgent course is flown for time, and keeps its reserve where any speed does",
        "flight/test_for_time.py::test_an_urgent_case_lands_earlier_everywhere_and_takes_no_hold",
        "flight/test_for_time.py::"
        "test_an_urgent_diversion_keeps_its_final_reserve_where_any_speed_does",
    ),
    read(
        "given obstacles decide by height and not by the gradient",
        "rules/test_gradient.py::test_given_obstacles_decide_instead",
    ),
    read(
        "no terrain given is a caution",
        "answer/test_cautions.py::test_a_caution_is_given_where_it_is_called_for",
    ),
    read(
        "a gradient that is not met names the remedies: another minimum, less mass, another runway",
        "what_if/test_remedies.py::"
        "test_another_runway_that_is_named_can_be_flown_when_it_is_planned",
        "what_if/test_remedies.py::test_less_mass_is_the_greatest_that_climbs_away",
        "what_if/test_remedies.py::test_a_flatter_procedure_to_the_same_runway_is_another_minimum",
    ),
)
URGENT = (
    read(
        "a suitable place has no endangering breach but of fuel, and no hazard of weight",
        "decide/test_urgent.py::test_a_place_is_suitable_unless_a_breach_there_endangers",
        "decide/test_urgent.py::test_fuel_is_told_on_its_own_and_makes_no_place_unsuitable",
        "decide/test_urgent.py::"
        "test_hazardous_weather_that_is_advised_against_makes_a_place_unsuitable",
    ),
    read(
        "as soon as possible never holds, and has no deadline of holding or endurance",
        "decide/test_urgent.py::"
        "test_an_urgent_answer_holds_for_nothing_and_has_no_deadline_of_fuel",
        "decide/test_waiting.py::test_with_the_ground_wanted_at_once_nothing_is_held_for",
    ),
    read(
        "a miss is judged at neither place",
        "decide/test_urgent.py::test_a_miss_is_judged_at_no_place",
    ),
    read(
        "courses of these breaches are left out of an urgent landing",
        "decide/test_urgent.py::test_a_course_of_these_breaches_is_left_out_however_early",
        "decide/test_urgent.py::test_every_breach_is_weighed_in_one_way",
    ),
    read(
        "of the others the earliest touchdown decides, here and elsewhere alike",
        "decide/test_urgent.py::test_the_earliest_touchdown_comes_first_here_or_elsewhere",
        "decide/test_urgent.py::"
        "test_with_smoke_the_nearer_runway_is_flown_to_though_the_approach_here_has_ways_out",
    ),
    read(
        "any other endangering breach counts as a quarter of an hour",
        "decide/test_urgent.py::test_any_other_danger_counts_as_a_quarter_of_an_hour",
        "decide/test_urgent.py::test_fog_here_outweighs_fourteen_minutes_and_not_sixteen",
    ),
    read(
        "a limit missed counts as five minutes or a quarter of the earliest time",
        "decide/test_urgent.py::test_a_limit_missed_counts_as_five_minutes",
        "decide/test_urgent.py::test_but_never_as_more_than_a_quarter_of_the_earliest_time",
        "decide/test_urgent.py::test_the_quarter_is_of_the_earliest_that_is_not_left_out",
    ),
    read(
        "landing mass, reserve in part, conditions and guidance count as nothing",
        "decide/test_urgent.py::test_mass_reserve_in_part_and_paper_count_as_nothing",
        "decide/test_urgent.py::test_guidance_counts_as_nothing",
    ),
    read(
        "all left out: the earliest among the lightest",
        "decide/test_urgent.py::"
        "test_where_all_are_left_out_the_earliest_among_the_lightest_comes_first",
    ),
    read(
        "the headline names the earliest and the best legal place, with minutes and breaches",
        "answer/test_headline.py::"
        "test_an_urgent_landing_tells_every_place_with_minutes_and_what_it_breaks",
        "decide/test_urgent.py::test_both_places_stand_in_the_headline_with_their_minutes",
    ),
    read(
        "stopping or weather unknown is a danger at every place alike",
        "decide/test_urgent.py::test_unknown_weather_or_stopping_is_a_danger_at_every_place_alike",
    ),
    read(
        "a nearer suitable place that breaks nothing but landing mass is where to go",
        "decide/test_facts.py::test_a_suitable_place_is_nearer_by_more_than_the_trade",
        "decide/test_facts.py::test_a_nearer_place_breaks_nothing_but_landing_mass",
    ),
    read(
        "a destination without a miss likely is not left for a later place",
        "decide/test_facts.py::"
        "test_the_destination_is_kept_where_it_is_far_above_and_earlier_or_much_earlier",
        "decide/test_facts.py::"
        "test_it_is_kept_where_no_other_place_is_suitable_and_no_miss_is_likely",
    ),
    read(
        "under pressure a hold must land before any other legal course",
        "decide/test_facts.py::test_under_pressure_a_wait_must_land_before_any_other_legal_place",
        "decide/test_waiting.py::test_with_a_leak_a_hold_must_land_before_the_diversion_would",
    ),
    read(
        "a leak counts as nearest suitable",
        "decide/test_urgent.py::test_a_leak_asks_for_the_nearest_suitable_place_at_least",
    ),
    read(
        "with an unknown rate nothing is held for, and no endurance is told",
        "decide/test_facts.py::"
        "test_as_soon_as_possible_and_with_a_leak_of_unknown_rate_there_is_no_wait",
        "answer/test_messages.py::test_an_endurance_is_not_told_where_fuel_is_not_known",
        "answer/test_headline.py::test_a_figure_that_is_not_known_is_said_to_be_unknown",
    ),
    read(
        "part 121 binds the nearest suitable airport for an engine failure",
        "rules/test_engine_out.py::"
        "test_part_121_asks_for_the_nearest_airport_where_others_leave_it_to_the_trade",
        "rules/test_engine_out.py::"
        "test_a_place_in_fog_is_not_suitable_and_the_next_one_is_the_nearest",
    ),
)
HOLD_AND_COMMIT = (
    read(
        "a deadline names its place and what ends",
        "decide/test_deadline.py::"
        "test_only_leaving_and_holding_have_a_deadline_and_it_names_its_place",
        "decide/test_deadline.py::test_a_hold_says_when_it_ends_and_what_ends_it",
    ),
    read(
        "a committed landing or an approach carries no deadline of another course",
        "decide/test_deadline.py::"
        "test_only_leaving_and_holding_have_a_deadline_and_it_names_its_place",
    ),
    read(
        "more checklist minutes never make a deadline later",
        "decide/test_deadline.py::test_more_minutes_of_checklists_never_make_it_later",
    ),
    read(
        "the latest moment of a diversion is of an aircraft that flies on",
        "decide/test_deadline.py::"
        "test_with_fuel_that_does_not_last_to_the_point_it_is_the_last_legal_minute_before_it",
    ),
    read(
        "where waiting here differs both are told",
        "decide/test_deadline.py::"
        "test_where_waiting_here_lasts_longer_than_flying_on_both_are_told",
    ),
    read(
        "an assigned hold is questioned where another answer is had without it",
        "what_if/test_remedies.py::"
        "test_a_hold_that_changes_the_answer_is_questioned_with_words_for_control",
        "what_if/test_remedies.py::"
        "test_the_longest_hold_that_keeps_the_better_answer_is_found_to_a_minute",
        "what_if/test_remedies.py::test_a_hold_that_changes_nothing_is_not_questioned",
    ),
    read(
        "a hold rests on a named group whose text is quoted",
        "decide/test_waiting.py::"
        "test_a_hold_rests_on_a_group_that_names_the_improvement_and_quotes_it",
        "answer/test_headline.py::test_a_hold_quotes_the_group_that_it_rests_on",
    ),
    read(
        "nothing is held for without a name: not TEMPO, not PROB, not silence",
        "decide/test_waiting.py::test_without_a_group_that_names_it_nothing_is_waited_for",
    ),
    read(
        "a trend counts from its end",
        "decide/test_waiting.py::test_a_trend_that_names_it_counts_from_its_end",
    ),
    read(
        "the same report issued again never extends a hold",
        "decide/test_waiting.py::test_the_same_report_issued_again_never_extends_a_hold",
    ),
    read(
        "holding has two deadlines, each where a way has no margin left",
        "recommend/test_identities.py::"
        "test_a_deadline_is_where_a_way_flown_after_that_wait_has_no_margin_left",
        "recommend/test_identities.py::"
        "test_time_aloft_that_a_failure_limits_ends_a_hold_before_the_fuel_does",
    ),
    read(
        "the second deadline counts while a step for good is ahead",
        "decide/test_waiting.py::"
        "test_with_a_step_for_good_ahead_the_second_deadline_is_the_one_that_counts",
    ),
    read(
        "where no diversion is legal the chosen landing's reserve bounds the hold",
        "decide/test_waiting.py::"
        "test_where_no_diversion_is_legal_the_landing_that_is_chosen_bounds_the_hold",
    ),
    read(
        "a hold is flown in the present configuration, with the leak",
        "semantics/test_meant.py::test_the_hold_is_flown_as_the_aircraft_now_is",
        "semantics/test_meant.py::test_a_leak_drains_a_hold_too",
    ),
    read(
        "a hold respects icing, oxygen and terrain",
        "decide/test_waiting.py::test_no_hold_is_offered_in_icing_weather_without_protection",
        "decide/test_waiting.py::test_oxygen_ends_a_hold_where_people_breathe_it",
        "decide/test_waiting.py::"
        "test_a_hold_that_terrain_forbids_is_no_choice_and_the_answer_says_so",
    ),
    read(
        "on an island a hold is bounded by approach, miss, second approach and reserve",
        "decide/test_waiting.py::"
        "test_on_an_island_a_named_improvement_is_waited_for_with_fuel_for_a_second_approach",
        "decide/test_waiting.py::test_on_an_island_without_that_fuel_there_is_no_wait",
    ),
    read(
        "a second approach has its own fuel and its own weather",
        "decide/test_courses.py::test_a_second_approach_repositions_and_lands_with_less",
    ),
    read(
        "a second approach is never the action and never the least bad",
        "rules/test_ranking_oracle.py::"
        "test_a_second_approach_is_the_least_bad_only_where_there_is_nothing_else",
        "recommend/test_demo_cases.py::"
        "test_a_legal_course_is_never_ranked_behind_another_but_a_second_approach_is_last",
    ),
    read(
        "a committed landing wants ample weather, fuel for a second approach and a free runway",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
        "recommend/test_forgotten_consequences.py::"
        "test_a_runway_that_another_may_block_bars_a_committed_landing_without_a_second_one",
    ),
    read(
        "each rulebook has its own provision for coming without an alternate",
        "rules/test_no_alternate.py::test_the_ceiling_decides_at_the_figure_of_the_rulebook",
        "rules/test_no_alternate.py::test_the_visibility_decides_at_the_figure_of_the_rulebook",
        "rules/test_no_alternate.py::test_separate_runways_are_asked_for_where_the_rulebook_does",
        "rules/test_no_alternate.py::"
        "test_in_poor_weather_an_isolated_aerodrome_asks_for_fuel_instead",
    ),
)
LEGAL_AND_VERDICT = (
    read(
        "limits come from the row that a rule cites",
        "rules/test_rulebook_rows.py::test_the_figure_of_the_row_that_a_rule_cites_is_its_limit",
        "rules/test_rulebook_rows.py::"
        "test_a_row_with_a_value_is_read_or_says_that_it_is_for_reference",
    ),
    read(
        "the operator turns guidance into policy by the code of its rule",
        "rules/test_gradient.py::test_guidance_that_the_operator_adopts_binds",
        "rules/test_hazard.py::test_a_warning_that_the_operator_adopts_binds",
    ),
    read(
        "what fails and binds is illegal, guidance is advice unless breaking it endangers",
        "decide/test_judge.py::test_guidance_is_advice_unless_breaking_it_endangers",
    ),
    read(
        "legal is null where something is unknown and nothing that binds fails",
        "decide/test_judge.py::test_legality_has_three_values",
        "recommend/test_demo_cases.py::"
        "test_legal_means_that_every_rule_that_binds_passes_and_unknown_never_does",
    ),
    read(
        "a way that climbs too little after a miss, or ends in hazardous weather, is no way out",
        "decide/test_facts.py::"
        "test_a_diversion_that_is_illegal_hazardous_or_not_climbed_to_is_no_way_out",
    ),
    read(
        "a completion turns every unknown of one cause together",
        "decide/test_completions.py::test_a_completion_turns_all_of_one_cause_together",
        "decide/test_completions.py::test_a_cause_is_the_one_thing_that_would_settle_the_finding",
    ),
    read(
        "tried are all good, all bad, and each cause alone",
        "decide/test_completions.py::"
        "test_several_causes_are_tried_all_bad_all_good_and_each_against_the_others",
    ),
    read(
        "of a go with and without caution the lower is told",
        "decide/test_completions.py::"
        "test_of_a_go_with_and_without_caution_the_lower_is_told_and_what_would_raise_it_is_asked",
    ),
    read(
        "row 1 is read once, without completions",
        "decide/test_completions.py::test_as_soon_as_possible_is_decided_once_and_asks_for_nothing",
    ),
    read(
        "the same answer in all completions has nothing missing",
        "decide/test_completions.py::test_the_same_answer_in_every_completion_has_nothing_missing",
        "semantics/test_meant.py::"
        "test_a_missing_report_is_only_a_caution_where_other_ways_are_known_to_be_legal",
    ),
    read(
        "another action is the one legal in every completion",
        "decide/test_completions.py::"
        "test_the_same_verdict_with_another_action_takes_the_one_legal_in_every_completion",
    ),
    read(
        "else a hold, never on fuel that is not known",
        "decide/test_completions.py::"
        "test_with_no_course_legal_in_every_completion_the_aircraft_holds_for_what_is_missing",
        "decide/test_completions.py::"
        "test_it_does_not_hold_on_fuel_that_it_has_not_and_goes_to_the_earliest_suitable_place",
    ),
    read(
        "never a hold with a leak or a failure that presses, but the earliest suitable place",
        "decide/test_completions.py::"
        "test_with_a_leak_or_a_failure_that_presses_it_holds_for_no_report",
    ),
    read(
        "what is missing is asked of somebody who has it, by the deadline",
        "answer/test_asks.py::test_each_cause_is_asked_of_somebody_who_has_it",
        "answer/test_asks.py::test_what_is_asked_for_is_due_by_the_deadline_of_the_action",
    ),
    read(
        "legality is of the central model, the percentile decides on the caution",
        "semantics/test_meant.py::"
        "test_the_percentile_decides_between_go_and_caution_and_never_legality",
    ),
    read(
        "the margin wanted is five minutes of holding unless the policy says",
        "decide/test_courses.py::"
        "test_the_margin_that_a_policy_wants_is_its_own_or_five_minutes_of_holding",
    ),
    read(
        "endangering breaches are ordered, and a minute or a knot more decides which one it is",
        "decide/test_fuel_state.py::"
        "test_the_level_follows_from_the_gravest_breach_of_the_chosen_course",
        "rules/test_rules.py::test_a_rule_decides_each_of_its_cases",
    ),
    read(
        "unfit, unfit for now, barred and usable are told apart",
        "decide/test_facts.py::test_fitness_is_what_the_gravest_against_the_approach_here_leaves",
    ),
    read(
        "far above is ample ceiling and visibility, without hazard and without a threat of the ban",
        "decide/test_facts.py::"
        "test_far_above_is_ample_ceiling_and_visibility_and_nothing_said_against_it",
    ),
    read(
        "every cap keeps a plain go away",
        "decide/test_facts.py::test_what_is_doubtful_about_the_approach_here_is_a_cap",
        "decide/test_facts.py::"
        "test_thin_margins_advice_and_a_lacking_forecast_at_a_way_out_are_caps",
        "answer/test_accuracy.py::"
        "test_the_error_that_a_profile_states_is_the_one_that_makes_a_gradient_doubtful",
    ),
    read(
        "each row of the table decides as written, the first that fits",
        "decide/test_table.py::test_each_row_of_the_table_decides_as_written",
        "decide/test_table.py::test_the_first_row_that_fits_speaks_though_all_later_ones_would",
        "recommend/test_demo_cases.py::test_a_demo_case_is_decided_as_its_row_says",
    ),
    read(
        "no combination of facts is without a row",
        "decide/test_table.py::test_every_combination_of_facts_has_a_row_and_each_answer_is_lawful",
    ),
    read(
        "the choice goes by fuel unless the policy forces it",
        "decide/test_facts.py::"
        "test_a_poor_diversion_lands_within_ten_minutes_of_its_reserve_or_is_advised_against",
        "decide/test_facts.py::test_what_the_policy_prefers_is_a_fact_without_default",
    ),
    read(
        "every other place fails by stopping only, and there is one",
        "decide/test_facts.py::"
        "test_only_stopping_asks_for_another_place_and_that_each_fails_by_its_runway_alone",
    ),
    read(
        "with weather the one danger it is held for, while fuel lasts and nothing presses",
        "decide/test_facts.py::test_weather_alone_endangers_a_landing_here",
        "decide/test_facts.py::test_without_fuel_for_a_second_approach_nothing_is_waited_for",
        "decide/test_waiting.py::"
        "test_where_weather_alone_is_bad_the_hold_is_for_a_report_and_says_by_when",
    ),
    read(
        "a committed landing tells fuel, runway and weather, and does not say to leave",
        "answer/test_headline.py::"
        "test_a_committed_landing_says_fuel_runway_and_weather_over_minima_and_not_to_leave",
    ),
    read(
        "no text prohibits a landing, and the pilot's authority is cited",
        "semantics/test_meant.py::"
        "test_no_text_says_that_a_landing_is_prohibited_and_the_authority_of_the_pilot_is_cited",
    ),
    read(
        "a headline names the place and the deed that the action has",
        "answer/test_headline.py::"
        "test_every_demo_case_has_one_plain_sentence_with_place_and_runway_of_its_action",
        "answer/test_headline.py::"
        "test_the_headline_of_a_demo_case_has_the_words_of_its_action_and_of_no_other",
    ),
    read(
        "the least bad says what it breaks, and only",
        "answer/test_headline.py::"
        "test_the_least_bad_says_what_it_breaks_and_that_it_breaks_only_that",
    ),
    read(
        "reasons are never empty",
        "answer/test_headline.py::test_reasons_are_never_empty_and_name_a_rule_and_a_place",
        "answer/test_headline.py::test_reasons_are_never_empty_where_anything_was_found",
    ),
    read(
        "the least bad goes by the worst item, the amount, then fuel on landing",
        "rules/test_ranking_oracle.py::test_the_least_bad_is_the_one_that_no_other_beats",
        "rules/test_ranking_oracle.py::"
        "test_the_least_bad_goes_by_the_worst_item_and_under_pressure_by_touchdown",
    ),
    read(
        "minutes of fuel at a good place beat a landing far below minima",
        "semantics/test_meant.py::"
        "test_little_fuel_at_a_good_place_is_less_bad_than_landing_below_minima",
        "rules/test_ranking_oracle.py::"
        "test_the_least_bad_goes_by_the_worst_item_and_under_pressure_by_touchdown",
    ),
    read(
        "no preference outvotes a legal limit",
        "rules/test_ranking_oracle.py::test_no_preference_outvotes_a_limit",
        "rules/test_ranking_oracle.py::"
        "test_the_order_is_the_only_one_in_which_every_pair_is_in_order",
    ),
)
FUEL_STATE = (
    read(
        "minimum fuel: there and at every other safe place a delay may cost the planned reserve",
        "decide/test_fuel_state.py::test_the_fuel_state_is_as_the_annex_defines_it",
        "decide/test_fuel_state.py::test_the_delay_of_the_policy_decides_minimum_fuel",
        "decide/test_fuel_state.py::"
        "test_room_where_the_aircraft_goes_is_enough_and_room_elsewhere_is_too",
    ),
    read(
        "the leak is in what a delay drains",
        "decide/test_fuel_state.py::test_what_a_delay_drains_has_the_leak_in_it",
    ),
    read(
        "a flow observed above the model counts for the state",
        "decide/test_fuel_state.py::test_a_flow_observed_above_the_model_brings_the_call_earlier",
    ),
    read(
        "mayday fuel follows from fuel and never from weather alone",
        "decide/test_fuel_state.py::test_fog_everywhere_is_never_mayday_fuel",
        "recommend/test_demo_cases.py::test_weather_alone_is_never_mayday_fuel",
    ),
    read(
        "distress is of fuel, of a failure that wants the ground, or of an endangering breach",
        "decide/test_fuel_state.py::test_mayday_fuel_is_distress_whatever_else_is_so",
        "decide/test_fuel_state.py::"
        "test_the_level_follows_from_urgency_and_what_the_landing_is_like",
        "decide/test_fuel_state.py::"
        "test_the_level_follows_from_the_gravest_breach_of_the_chosen_course",
    ),
    read(
        "nothing is declared for mass, planning, conditions or guidance alone",
        "decide/test_fuel_state.py::"
        "test_mass_planning_conditions_and_guidance_alone_declare_nothing",
    ),
    read(
        "the name of a row declares nothing",
        "decide/test_fuel_state.py::test_the_name_of_the_row_declares_nothing",
    ),
    read(
        "minimum fuel is a call and no emergency",
        "decide/test_fuel_state.py::test_minimum_fuel_is_a_call_and_no_emergency",
        "decide/test_fuel_state.py::"
        "test_minimum_fuel_of_a_sound_aircraft_is_called_and_nothing_is_declared",
    ),
    read(
        "the distress message is in the order of the annex",
        "answer/test_messages.py::test_the_distress_message_is_in_the_order_of_the_annex",
    ),
    read(
        "each action has words of its own and never those of another",
        "answer/test_messages.py::test_no_message_has_the_words_of_another_action",
        "answer/test_headline.py::"
        "test_the_headline_of_a_demo_case_has_the_words_of_its_action_and_of_no_other",
    ),
    read(
        "the amount of dispatch is no floor in flight, and the floor is called policy",
        "semantics/test_meant.py::test_the_amount_of_dispatch_is_never_the_floor_in_flight",
        "rules/test_rulebook.py::"
        "test_part_121_has_no_fuel_floor_in_flight_and_says_that_its_floor_is_policy",
    ),
    read(
        "part 121 judges the alternate's minima and safe continuation",
        "rules/test_traps.py::"
        "test_in_flight_the_bar_is_operating_minima_but_part_121_still_wants_alternate_minima",
        "rules/test_engine_out.py::test_going_on_to_a_runway_that_is_too_short_names_what_is_safer",
    ),
)
ANSWER = (
    read(
        "the first screen begins with the action and its place",
        "recommend/test_demo_cases.py::test_the_brief_fits_a_terminal_and_says_who_decides",
        "brief/test_golden.py::test_the_brief_of_a_demo_case_reads_as_approved",
    ),
    read(
        "action, headline and messages agree in place and runway",
        "answer/test_messages.py::test_action_headline_and_messages_agree_in_place_and_runway",
    ),
    read(
        "instead is the second-best landing and what it costs or breaks",
        "answer/test_second_best.py::test_it_is_the_next_place_in_order_with_minutes_and_fuel",
        "answer/test_second_best.py::"
        "test_the_second_best_of_a_demo_case_is_another_landing_than_the_action",
    ),
    read(
        "arrivals are rounded up to the minute and deadlines down",
        "answer/test_headline.py::"
        "test_leaving_is_by_a_moment_rounded_down_and_by_the_miles_to_the_point",
        "answer/test_headline.py::"
        "test_the_nearest_suitable_place_is_told_with_the_minutes_of_the_others",
    ),
    read(
        "figures of one table count from the same point",
        "recommend/test_identities.py::"
        "test_a_penalty_is_the_need_after_the_step_less_the_need_before_it",
    ),
    read(
        "too heavy to land offers burning off and the overweight landing, each with its price",
        "what_if/test_remedies.py::"
        "test_an_overweight_arrival_may_burn_off_or_land_overweight_each_with_its_price",
        "what_if/test_remedies.py::test_under_pressure_no_minute_is_spent_on_a_remedy",
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
        "answer/test_answer.py::test_the_next_look_and_the_end_of_the_answer_lie_ahead",
    ),
    read(
        "findings are complete and in the order of their codes",
        "decide/test_judge.py::test_findings_are_complete_and_in_the_order_of_their_codes",
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
        "answer/test_answer.py::"
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
    *DECIDING_AGAIN,
    *CONFIGURATION,
    *GATES_AND_WINDOWS,
    *CLIMB_AND_ROUTE,
    *URGENT,
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
