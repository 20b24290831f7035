"""Why a number is not judged, and what to mind where it is: the refusals and warnings of norms, in words."""

from collections.abc import Callable, Mapping

Say = Callable[..., str]
Sentences = Mapping[str, Callable[[Say, Mapping[str, str]], str]]

REFUSALS: Sentences = {
    "no_table_loaded": lambda say, v: say("No table is loaded.", **v),
    "synthetic_with_real_person": lambda say, v: say(
        "The reference data are simulated; they answer demonstration and training visits only.", **v
    ),
    "expired": lambda say, v: say("The table %(table)s expired on %(expires)s.", **v),
    "other_battery": lambda say, v: say(
        "The table is for battery %(table_has)s, this visit used %(visit_has)s.", **v
    ),
    "other_battery_version": lambda say, v: say(
        "The table is for battery version %(table_has)s, this visit used version %(visit_has)s.", **v
    ),
    "other_scoring_version": lambda say, v: say(
        "The table is for scoring version %(table_has)s, this visit was scored by version %(visit_has)s.", **v
    ),
    "other_comparison_version": lambda say, v: say(
        "The table follows comparison rules version %(table_has)s, the rules here are version %(visit_has)s.",
        **v,
    ),
    "measure_missing": lambda say, v: say("The table %(table)s does not hold this measure.", **v),
    "other_input": lambda say, v: say("The table is for %(table_has)s, this visit used %(visit_has)s.", **v),
    "other_device_class": lambda say, v: say(
        "The table is for tablets of class %(table_has)s, this one is of class %(visit_has)s.", **v
    ),
    "device_class_not_named": lambda say, v: say(
        "The table holds several classes of tablet (%(table_has)s); one must be named.", **v
    ),
    "age_outside": lambda say, v: say(
        "The table covers ages %(age_from)s to %(age_to)s, this person is %(age_years)s.", **v
    ),
    "birth_date_too_coarse": lambda say, v: say(
        "The birth date %(birth_date)s is too coarse: its possible days fall in different rows of the table.",
        **v,
    ),
    "no_row_for_sex": lambda say, v: say("The table has no row for sex %(sex)s at this age.", **v),
    "n_below_floor": lambda say, v: say(
        "The reference group is too small here (n %(n)s, at least %(floor_n)s are needed).", **v
    ),
    "value_outside_scale": lambda say, v: say(
        "The value lies outside the scale on which it is compared.", **v
    ),
    "latency_unknown": lambda say, v: say("The delay of this tablet is not known.", **v),
    "ceiling": lambda say, v: say(
        "At this age a quarter or more of the reference group is near the highest value.", **v
    ),
    "no_direction": lambda say, v: say("This measure has no better direction.", **v),
    "not_comparable": lambda say, v: say(
        "The two visits differ in %(what)s (%(before)s, then %(after)s).", **v
    ),
    "earlier_was_training": lambda say, v: say("A visit for training is not compared with.", **v),
    "change_not_bridged": lambda say, v: say(
        "The bridging study does not carry changes over to tablets of class %(visit_has)s.", **v
    ),
    "no_retest_study": lambda say, v: say("The table holds no retest study of this measure.", **v),
    "study_too_small": lambda say, v: say(
        "The retest study is too small (n %(n)s, %(needed)s are needed).", **v
    ),
    "interval_outside_study": lambda say, v: say(
        "No retest study covers an interval of %(interval)s (%(days_min)s to %(days_max)s days are studied).",
        **v,
    ),
    "age_band_between": lambda say, v: say("The two visits fall in different age bands.", **v),
    "one_trial_only": lambda say, v: say("It rests on one valid trial where two are the norm.", **v),
    "beyond_percentiles": lambda say, v: say(
        "At one visit it lies below percentile 2 or above 98, where the table does not say how far.", **v
    ),
    "too_few_visits": lambda say, v: say(
        "A series needs %(needed)s visits; there are %(visits)s.", **v
    ),
    "too_many_measures": lambda say, v: say(
        "The correlations rest on too few people (n %(n)s) for %(measures)s measures together.", **v
    ),
    "later_before_earlier": lambda say, v: say("The later visit does not come after the earlier one.", **v),
    "correlation_missing": lambda say, v: say(
        "The table does not say how %(measure_1)s and %(measure_2)s go together.", **v
    ),
    "correlation_not_positive_definite": lambda say, v: say(
        "The correlations in the table contradict each other (smallest eigenvalue %(smallest)s).", **v
    ),
    "nothing_to_count": lambda say, v: say("No measure is scored.", **v),
    "lag_needs_both": lambda say, v: say("Lag needs both circles, and one is missing.", **v),
}

WARNINGS: Sentences = {
    "synthetic": lambda say, v: say("SIMULATED REFERENCE DATA. NOT FOR USE WITH REAL PEOPLE.", **v),
    "small_n": lambda say, v: say("The reference group is small: the ranges are wide.", **v),
    "near_band_edge": lambda say, v: say(
        "The age is near the edge of an age band; the next band answers differently.", **v
    ),
    "language_not_listed": lambda say, v: say(
        "The reference group was not tested with instructions in this language.", **v
    ),
    "carried_over": lambda say, v: say(
        "The reference group used another kind of tablet; a bridging study carries the table over.", **v
    ),
    "highest_value": lambda say, v: say(
        "The value is the highest possible: read the percentile as this or higher.", **v
    ),
    "lowest_value": lambda say, v: say(
        "The value is the lowest possible: read the percentile as this or lower.", **v
    ),
    "small_study": lambda say, v: say("The retest study is small: its limits are unsure.", **v),
    "practice_beyond_study": lambda say, v: say(
        "More earlier visits than the retest study had: limits with its practice gain and with none.", **v
    ),
    "practice_carried": lambda say, v: say(
        "The practice gain of the second visit is taken off every later visit too.", **v
    ),
    "far_from_study": lambda say, v: say("The earlier value lies far from those of the retest study.", **v),
    "small_correlation_n": lambda say, v: say(
        "The correlations rest on few people: the number in 100 is unsure.", **v
    ),
}
