"""The order that practitioners share, as the unit's own order: its steps, its counts, its variants, its exceptions.

Common practice, no source, all of it. Local procedure overrides every one of these values.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from types import MappingProxyType
from typing import Any

import pytest

from vestry.sequence import (
    Assurance,
    Case,
    NoPlan,
    Plan,
    Policy,
    assure,
    assure_order,
    order_of,
    plan_case,
    program_of,
)
from vestry.trade import Order, Step, load_catalogue

WITH_RESPIRATOR = ("gloves", "shield", "hair-cover", "gown", "foot-covers", "respirator")
WITH_MASK = (*WITH_RESPIRATOR[:-1], "mask")
WITH_BELT_BLOWER = ("gloves", "papr-hose", "papr-hood", "papr-belt-unit", "gown", "foot-covers")
WITH_HELMET_BLOWER = ("gloves", "gown", "foot-covers", "papr-shroud", "papr-helmet")
OPTIONS = ("hair-cover", "foot-covers")

HAEMORRHAGIC = Case(hazard="ebola")
RESPIRATORY = Case(hazard="mers")


@cache
def planned(case: Case = HAEMORRHAGIC, order: tuple[str, ...] = WITH_RESPIRATOR, **policy: Any) -> Plan:
    chosen = Policy.model_validate({"doffing-order": order, **{k.replace("_", "-"): v for k, v in policy.items()}})
    return plan_case(case, chosen, load_catalogue())


def done(plan: Plan) -> list[str]:
    """The way out in short: `doff gown`, `look inner-gloves`, or the act alone."""
    kinds = {name: item.kind for name, item in load_catalogue().items.items()}
    what = {**kinds, **{name: name for name, kind in kinds.items() if kind == "gloves"}}
    return [
        f"look {step.topic}" if step.act == "inspect"
        else " ".join([step.act, *(what[item] for item in step.items)])
        for step in plan.phase("doffing")
    ]  # fmt: skip


def how_often(plan: Plan, act: str) -> int:
    return sum(step.act == act for step in plan.phase("doffing"))


def donned(plan: Plan) -> list[str]:
    """Kinds in donning order; gloves by their layer."""
    items = [load_catalogue().items[item] for item in plan.worn]
    return [f"{item.layer}-gloves" if item.kind == "gloves" else item.kind for item in items]


def donning_acts(plan: Plan) -> list[str]:
    return ["+".join(step.items) or step.topic or step.act for step in plan.phase("donning")]


# ---- the golden order (common practice, no source) ----


def test_golden_order() -> None:
    """Common practice, no source."""
    assert done(planned()) == [
        "look ensemble",
        "disinfect-gloves", "doff outer-gloves-long",
        "look inner-gloves",
        "disinfect-gloves", "doff shield",
        "disinfect-gloves", "doff hair-cover",
        "disinfect-gloves", "doff gown",
        "disinfect-gloves", "doff foot-covers",
        "disinfect-gloves", "doff inner-gloves-long",
        "hand-hygiene", "don fresh-gloves",
        "doff respirator",
        "disinfect-gloves", "doff fresh-gloves",
        "hand-hygiene",
    ]  # fmt: skip


def test_golden_order_disinfects_gloves_seven_times_and_bare_hands_twice() -> None:
    """Common practice, no source."""
    assert how_often(planned(), "disinfect-gloves") == 7
    assert how_often(planned(), "hand-hygiene") == 2


def test_golden_order_uses_three_glove_pairs_an_entry() -> None:
    """Common practice, no source."""
    assert planned().fresh_pairs == 3


def test_golden_order_puts_on_face_and_gloves_in_their_order() -> None:
    """Common practice, no source."""
    assert donned(planned()) == [
        "scrubs", "shoes", "foot-covers", "inner-gloves", "gown", "respirator", "hair-cover", "outer-gloves", "shield",
    ]  # fmt: skip


def test_golden_order_is_the_teams_own_and_clean_as_taught() -> None:
    """Common practice, no source."""
    assert planned().origin == "own-order"
    assert assure(planned(), load_catalogue()).clean


@pytest.mark.parametrize("of", ["shield", "respirator"])
def test_face_items_are_taken_by_their_straps_leaning_forward(of: str) -> None:
    """Common practice, no source."""
    catalogue = load_catalogue()
    step = next(s for s in planned().phase("doffing") if s.items and catalogue.items[s.items[0]].kind == of)
    found = next(t for t in catalogue.techniques if t.id == step.technique and of in t.for_)

    assert found.pose == "leaning"
    taught = [touch.touch for touch in found.touches if touch.slip is None and touch.residue is None]
    assert any("strap" in touch and touch.startswith("contact") for touch in taught)
    assert not any("self.front" in touch and "hand" in touch for touch in taught)


def test_foot_covers_come_off_seated_on_the_clean_seat() -> None:
    """Common practice, no source."""
    catalogue = load_catalogue()
    step = next(s for s in planned().phase("doffing") if s.items == ("foot-covers-low",))
    assert any(t.id == step.technique and t.pose == "seated" for t in catalogue.techniques if t.act == "doff")


@pytest.mark.parametrize(("case", "stream"), [(HAEMORRHAGIC, "infectious-lined"), (RESPIRATORY, "ordinary")])
def test_waste_goes_where_practice_says(case: Case, stream: str) -> None:
    """Common practice, no source."""
    streams = {step.waste for step in planned(case).phase("doffing") if step.act == "doff"}
    assert len(streams) == 1
    assert stream in streams.pop()


# ---- variants (common practice, no source) ----


def test_one_pair_is_checked_disinfected_and_kept_on() -> None:
    """Common practice, no source."""
    plan = planned(RESPIRATORY)

    assert done(plan) == [
        "look ensemble",
        "look outer-gloves",
        "disinfect-gloves", "doff shield",
        "disinfect-gloves", "doff hair-cover",
        "disinfect-gloves", "doff gown",
        "disinfect-gloves", "doff foot-covers",
        "disinfect-gloves", "doff gloves-long",
        "hand-hygiene", "don fresh-gloves",
        "doff respirator",
        "disinfect-gloves", "doff fresh-gloves",
        "hand-hygiene",
    ]  # fmt: skip
    assert plan.fresh_pairs == 2


def test_a_mask_takes_the_respirators_place() -> None:
    """Common practice, no source."""
    mask = planned(order=WITH_MASK, mask_for_stable_haemorrhagic=True)

    assert done(mask) == [step.replace("respirator", "mask") for step in done(planned())]
    assert mask.fresh_pairs == 3


@pytest.mark.parametrize(("case", "pairs"), [(HAEMORRHAGIC, 2), (RESPIRATORY, 1)])
def test_belt_blower_comes_off_in_the_shields_place_hose_hood_belt(case: Case, pairs: int) -> None:
    """Common practice, no source."""
    plan = planned(case, WITH_BELT_BLOWER, respirator="belt-blower")
    steps = done(plan)
    hose = steps.index("doff papr-hose")

    assert steps[hose - 1 : hose + 3] == [
        "disinfect-gloves", "doff papr-hose", "doff papr-hood", "doff papr-belt-unit",
    ]  # fmt: skip
    assert steps[hose - 2] == f"look {'inner' if pairs == 2 else 'outer'}-gloves"
    assert [step for step in steps[hose + 3 :] if step.startswith("doff")][:2] == ["doff gown", "doff foot-covers"]
    assert plan.fresh_pairs == pairs
    assert len({step.group for step in plan.phase("doffing")} - {None}) == 1


def test_parts_of_a_unit_named_one_by_one_are_not_split_and_not_turned_round() -> None:
    with pytest.raises(NoPlan, match="holds it"):
        planned(order=("gloves", "papr-hood", "papr-hose", "papr-belt-unit", "gown", "foot-covers"),
                respirator="belt-blower")  # fmt: skip
    whole = planned(order=("gloves", "papr-hose", "gown", "foot-covers"), respirator="belt-blower")
    assert done(whole)[5:7] == ["doff papr-hose papr-belt-unit", "doff papr-hood"]


def test_reusable_parts_go_into_a_container_for_cleaning() -> None:
    """Common practice, no source."""
    plan = planned(order=WITH_BELT_BLOWER, respirator="belt-blower")
    streams = {step.items: step.waste for step in plan.phase("doffing") if step.act == "doff"}

    assert streams[("papr-hose",)] == streams[("papr-belt-unit",)] == "reusable-parts"
    assert streams[("papr-hood",)] != "reusable-parts"


@pytest.mark.parametrize("case", [HAEMORRHAGIC, RESPIRATORY])
def test_helmet_blower_is_kept_to_the_end_and_off_with_the_fresh_gloves_on(case: Case) -> None:
    """Common practice, no source."""
    plan = planned(case, WITH_HELMET_BLOWER, respirator="helmet-blower")

    assert done(plan)[-6:] == [
        "hand-hygiene", "don fresh-gloves", "doff papr-helmet",
        "disinfect-gloves", "doff fresh-gloves", "hand-hygiene",
    ]  # fmt: skip


@pytest.mark.parametrize("case", [HAEMORRHAGIC, RESPIRATORY])
@pytest.mark.parametrize("left_out", [c for size in (0, 1, 2) for c in combinations(OPTIONS, size)])
def test_an_option_left_out_takes_its_disinfection_with_it(case: Case, left_out: tuple[str, ...]) -> None:
    """Common practice, no source: never two glove disinfections in a row."""
    plan = planned(case, **{f"with_{option.replace('-', '_')}": False for option in left_out})
    full = how_often(planned(case), "disinfect-gloves")

    assert how_often(plan, "disinfect-gloves") == full - len(left_out)
    assert how_often(plan, "hand-hygiene") == 2
    assert_no_hygiene_twice_in_a_row(plan)


@pytest.mark.parametrize("case", [HAEMORRHAGIC, RESPIRATORY])
@pytest.mark.parametrize("change", ["before-face-item", pytest.param("search", marks=pytest.mark.slow), "none"])
@pytest.mark.parametrize("respirator", ["disposable", "belt-blower", "helmet-blower"])
@pytest.mark.parametrize("left_out", [(), OPTIONS])
@pytest.mark.sampled(8)
def test_searched_orders_too_have_no_hygiene_twice_in_a_row(
    case: Case, change: str, respirator: str, left_out: tuple[str, ...]
) -> None:
    """Common practice, no source."""
    options = {f"with_{option.replace('-', '_')}": False for option in left_out}
    assert_no_hygiene_twice_in_a_row(planned(case, (), respirator=respirator, glove_change=change, **options))


def assert_no_hygiene_twice_in_a_row(plan: Plan) -> None:
    acts = [step.act for step in plan.phase("doffing") if step.act != "inspect"]
    for before, after in pairwise(acts):
        assert (before, after) not in {("disinfect-gloves",) * 2, ("hand-hygiene",) * 2}


# ---- exceptions (common practice, no source) ----


@pytest.mark.parametrize(
    ("hazard", "presentation", "asked", "worn"),
    [
        ("ebola", "dry", True, True),
        ("lassa", "dry", True, True),
        ("ebola", "dry", False, False),
        ("ebola", "wet", True, False),
        ("mers", "dry", True, False),
        ("novel-influenza-a", "dry", True, False),
        ("mpox-clade-i", "dry", True, False),
        ("suspected-hcid", "dry", True, False),
    ],
)
def test_a_surgical_mask_is_only_for_a_stable_haemorrhagic_suspect(
    hazard: str, presentation: str, asked: bool, worn: bool
) -> None:
    """Common practice, no source."""
    case = Case.model_validate({"hazard": hazard, "presentation": presentation})
    plan = planned(case, (), mask_for_stable_haemorrhagic=asked)

    assert ("mask" in donned(plan)) == worn
    assert ("respirator" in donned(plan)) != worn


def test_a_mask_is_not_for_a_respiratory_disease_that_is_not_airborne_either() -> None:
    """Common practice, no source. No hazard of the catalogue is one: here is one made so."""
    catalogue, mers = load_catalogue(), load_catalogue().hazards["mers"]
    routes = mers.routes.model_copy(update={"value": ("contact", "droplet"), "default": None})
    droplet = mers.model_copy(update={"routes": routes})
    hazards = MappingProxyType({**catalogue.hazards, "mers": droplet})
    plan = plan_case(RESPIRATORY, Policy(mask_for_stable_haemorrhagic=True), replace(catalogue, hazards=hazards))

    assert "respirator" in donned(plan)
    assert "mask" not in donned(plan)


@pytest.mark.parametrize("hazard", ["mers", "novel-influenza-a"])
def test_a_respiratory_disease_needs_a_respirator_or_a_powered_unit(hazard: str) -> None:
    """Common practice, no source."""
    catalogue = load_catalogue()
    filters = {name for name, item in catalogue.items.items() if item.filters_air}
    parts = {name for name, item in catalogue.items.items() if item.kind.startswith("papr")}
    without = tuple(name for name in catalogue.items if name not in filters)

    with pytest.raises(NoPlan) as none:
        planned(Case(hazard=hazard, gear=without), ())
    assert {(one.site, one.route) for one in none.value.reasons} >= {("nose-mouth", "airborne")}
    for unit in ({"respirator-disposable"}, {"papr-belt-unit", "papr-hood", "papr-hose"}, parts - {"papr-hood"}):
        gear = tuple(name for name in catalogue.items if name not in filters | parts or name in unit)
        assert unit & set(planned(Case(hazard=hazard, gear=gear), ()).worn) & filters


@pytest.mark.parametrize("respirator", ["belt-blower", "helmet-blower"])
@pytest.mark.parametrize("case", [HAEMORRHAGIC, RESPIRATORY])
def test_hair_cover_and_shield_are_left_out_with_a_powered_unit_which_goes_on_last(case: Case, respirator: str) -> None:
    """Common practice, no source."""
    worn = donned(planned(case, (), respirator=respirator, with_hair_cover=True))

    assert not {"hair-cover", "shield", "goggles", "respirator", "mask"} & set(worn)
    unit = [kind for kind in worn if kind.startswith("papr")]
    assert worn[-len(unit) :] == unit
    assert worn[-len(unit) - 1] in ("outer-gloves", "single-gloves")


@pytest.mark.parametrize("feet", ["low", "high"])
def test_foot_covers_go_on_before_the_hand_hygiene_before_the_inner_gloves(feet: str) -> None:
    """Common practice, no source."""
    acts = donning_acts(planned(order=(), foot_covers=feet))
    covers = next(index for index, act in enumerate(acts) if act in ("foot-covers-low", "boot-covers-high"))

    assert covers < acts.index("hand-hygiene") == acts.index("inner-gloves-long") - 1


def test_the_inner_pair_is_long_and_its_cuff_lies_under_the_sleeve() -> None:
    """Common practice, no source."""
    catalogue, plan = load_catalogue(), planned()
    worn = donned(plan)

    assert worn.index("inner-gloves") < worn.index("gown") < worn.index("outer-gloves")
    assert all(catalogue.items[item].length == "long" for item in plan.worn if "gloves" in item)
    assert outermost_at_the_wrist(plan, up_to="gown-fluid-resistant") == "gown-fluid-resistant"
    assert outermost_at_the_wrist(plan) == "outer-gloves-long"


def test_one_long_cuffed_pair_goes_on_late_cuff_over_the_sleeve() -> None:
    """Common practice, no source."""
    plan = planned(RESPIRATORY)
    worn = donned(plan)
    two = [kind for kind in donned(planned()) if kind != "inner-gloves"]

    assert [kind.replace("single", "outer") for kind in worn] == two
    assert "gloves-long" in plan.worn
    assert outermost_at_the_wrist(plan) == "gloves-long"


def outermost_at_the_wrist(plan: Plan, up_to: str | None = None) -> str:
    items = load_catalogue().items
    worn = plan.worn if up_to is None else plan.worn[: plan.worn.index(up_to) + 1]
    return next(item for item in reversed(worn) for face in items[item].faces if "wrist-l" in face.at)


def test_the_whole_is_checked_by_a_second_person_and_moved_through() -> None:
    """Common practice, no source."""
    steps = planned().phase("donning")

    assert [step.topic for step in steps[-2:]] == ["integrity-check", "range-of-motion"]
    assert steps[-2].who != "wearer"
    assert steps[0].topic == "gear"


def test_clothing_and_skin_are_looked_at_last_with_the_observer() -> None:
    """Common practice, no source."""
    first = planned().phase("after")[0]
    assert (first.act, first.topic, first.who) == ("inspect", "skin-and-clothing", "observer")


# ---- the consequence (common practice, no source) ----


@pytest.mark.parametrize("case", [HAEMORRHAGIC, RESPIRATORY])
def test_belt_blower_off_before_the_gown_leaves_the_face_uncovered_while_the_gown_comes_off(case: Case) -> None:
    """Common practice, no source: the model shows it as more routes to eyes, nose and mouth."""
    belt = planned(case, WITH_BELT_BLOWER, respirator="belt-blower")
    helmet = planned(case, WITH_HELMET_BLOWER, respirator="helmet-blower")

    assert mucosa_reached_at_the_gown(belt) == {"body.eyes", "body.nose-mouth"}
    assert mucosa_reached_at_the_gown(planned(case)) == {"body.eyes"}  # the shield is off, the respirator stays
    assert not mucosa_reached_at_the_gown(helmet)

    hood_kept = hood_after_gown(order_of(belt))
    off_first, off_later = (
        mucosa_routes(assure_order(order, load_catalogue(), 1)) for order in (order_of(belt), hood_kept)
    )
    assert off_first[0] == off_later[0] == 0
    assert off_first[1] > off_later[1]


def mucosa_reached_at_the_gown(plan: Plan) -> set[str]:
    """What one slip of the gown's removal reaches, of eyes, nose and mouth."""
    gown = next(step for step in program_of(plan, load_catalogue()).steps if step.startswith("doff:gown"))
    found = assure(plan, load_catalogue(), 1)
    return {
        route.surface for route in found.weak if route.endpoint == "mucosa" and route.events[0].endswith(f"@{gown}")
    }


def hood_after_gown(order: Order) -> Order:
    """The same order with the hood (no longer fed) kept on until the gown is off and the gloves are disinfected."""
    hood = next(step for step in order.steps if step.handled == ("papr-hood",))
    steps: list[Step] = [step for step in order.steps if step is not hood]
    gown = next(n for n, step in enumerate(steps) if step.act == "doff" and step.handled[0].startswith("gown"))
    return order.model_copy(update={"steps": (*steps[: gown + 2], hood, *steps[gown + 2 :])})


def mucosa_routes(found: Assurance) -> tuple[int, ...]:
    table = next(t for t in found.tables if t.loads == "all" and not t.latent)
    return next(row.ever for row in table.endpoints if row.endpoint == "mucosa")
