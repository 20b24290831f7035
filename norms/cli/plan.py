"""The command `norms plan`: how many people of which ages and how many retest pairs give which precision."""

import argparse
import json

from norms.build.plan import (
    DESIGNS,
    EVEN,
    ChangePower,
    Precision,
    change_power,
    people_needed_everywhere,
    plan_picture,
    planned_ages,
    precision,
)
from norms.cli.arguments import UsageError, age_edges
from norms.cli.output import as_json, write_pictures
from norms.worth.bridging import power, power_of_no_wider, power_of_sd_ratio
from norms.worth.verification import power_of_verification

FLOOR_N, WARN_N = 30, 50
DESIGN_WORDS = {EVEN: "evenly over",
                "three_groups": "a third each about the youngest, the middle and the oldest age from"}
TRUE_RATIOS = (0.8, 1.0)


def run_plan(asked: argparse.Namespace) -> int:
    """Print what a plan gives; where asked, draw it."""
    low, high = _ages(asked.ages)
    plans = [precision(planned_ages(asked.people, low, high, design), low, high, design)
             for design in DESIGNS]
    change = change_power(asked.pairs, asked.r)
    bridge = _bridge(asked)
    if asked.json:
        found = {"precision": [_precision_json(one) for one in plans], "change": as_json(change),
                 "bridge": bridge, "verify": [power_of_verification(asked.people, shift)._asdict()
                                              for shift in (0.0, 0.5)]}
        print(json.dumps(found, allow_nan=False))
    else:
        print("\n".join([*(_precision_line(one) for one in plans), *map(_needed_line, (FLOOR_N, WARN_N)),
                         *_change_lines(change), *_bridge_lines(asked, bridge), _verify_line(asked.people)]))
    if asked.picture:
        write_pictures({asked.picture: plan_picture(plans)})
    return 0


def _ages(text: str) -> tuple[float, float]:
    edges = age_edges(text, "norms plan: argument --ages")
    if len(edges) != 2 or not 0 <= edges[0] <= edges[1] - 10 or edges[1] > 120:
        raise UsageError("norms plan: argument --ages: must be two ages 10 years or more apart, as 18,90")
    return edges[0], edges[1]


def _bridge(asked: argparse.Namespace) -> dict[str, object]:
    """Power of each test of norms bridge in 100, for people on two equal panels beside the retest pairs."""
    n, r = asked.bridge_people, asked.bridge_r
    return {"people": n, "r": r, "bias": 100 * power((2 * (1 - r)) ** 0.5 / n**0.5, n - 1),
            "sd_ratio": 100 * power_of_sd_ratio(n, r),
            "visits": {f"{ratio:g}": 100 * power_of_no_wider(n, asked.pairs, ratio) for ratio in TRUE_RATIOS}}


def _precision_json(one: Precision) -> dict[str, object]:
    return {"design": one.design, "people": one.people,
            **{name: getattr(one, name).tolist() for name in ("ages", "n_mean", "df_sd", "low", "high")}}


def _precision_line(one: Precision) -> str:
    worst, best = int(one.n_mean.argmin()), int(one.n_mean.argmax())
    return (f"{one.people} people {DESIGN_WORDS[one.design]} {one.ages[0]:g} to {one.ages[-1]:g} years: an "
            f"age is worth {one.n_mean[worst]:.0f} to {one.n_mean[best]:.0f} people; a score at percentile 5 "
            f"may truly lie at {one.low[worst]:.1f} to {one.high[worst]:.1f} (95 %) where it is worth least, "
            f"{one.low[best]:.1f} to {one.high[best]:.1f} where most")


def _needed_line(wanted: int) -> str:
    even, groups = (people_needed_everywhere(wanted, design) for design in DESIGNS)
    return (f"every age worth {wanted}: {even} people evenly, {groups} in three groups (nobody then "
            "checks the curve between them)")


def _change_lines(one: ChangePower) -> list[str]:
    seen = ", ".join(f"{share:.0f} after a change of {change:g} SD"
                     for change, share in zip(one.changes_sd, one.seen, strict=True))
    return [f"{one.pairs} retest pairs, r {one.r:g}: of 100 healthy people are called reliably poorer {seen}"
            f"; of 100 who have not changed, {one.unchanged:.0f}"]


def _bridge_lines(asked: argparse.Namespace, found: dict[str, object]) -> list[str]:
    visits = found["visits"]
    shares = [f"{share:.0f} where {ratio} times as wide" for ratio, share in visits.items()] \
        if isinstance(visits, dict) else []
    return [f"{asked.bridge_people} people on two panels that are equal, r {asked.bridge_r:g}: of 100 "
            f"studies show an equivalent bias {found['bias']:.0f}, equivalent SDs {found['sd_ratio']:.0f}, "
            f"differences about as narrow as those of the retest pairs {', '.join(shares)}"]


def _verify_line(people: int) -> str:
    fits, shifted = (power_of_verification(people, shift) for shift in (0.0, 0.5))
    return (f"{people} local people against a table from elsewhere: few enough outside in "
            f"{fits.count_passes:.0f} of 100 samples where it fits, {shifted.count_passes:.0f} where it is "
            f".5 SD off; an equivalent mean in {fits.mean_equivalent:.0f} and {shifted.mean_equivalent:.0f}")
