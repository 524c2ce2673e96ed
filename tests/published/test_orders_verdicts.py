"""The verdict on every published order for taking off, as taught, for whom it is published, with its reason.

The orders were transcribed before any verdict was looked at; what was changed after one stands in
docs/decisions/0001-changes-after-verdicts.md. What the model reaches in a superseded order is pinned with its witness.
"""

from __future__ import annotations

from functools import cache

import pytest
from tools.make_evidence_pages import (
    PAGES,
    all_orders,
    at,
    doffing_orders,
    for_presentation,
    is_clean,
    moved,
    presentations,
    published_page,
    published_row,
    verdict_for,
)

from vestry.contact.check import Reached, as_taught
from vestry.contact.compiler import compile_order
from vestry.contact.program import Program
from vestry.sequence import assure_order
from vestry.trade import Order, load_catalogue
from vestry.trade.orders import packaged_orders

pytestmark = pytest.mark.published

# Entry to publisher, year and how surely it is known, as the files' `published` tables have them.
IN_FORCE = {
    "cdc-vhf-unstable-n95-gown-doff-2015": ("US CDC", "2015, current VHF reissue", "from-memory"),
    "cdc-vhf-unstable-n95-coverall-doff-2015": ("US CDC", "2015, current VHF reissue", "from-memory"),
    "cdc-vhf-unstable-papr-ext-gown-doff-2015": ("US CDC", "2015, current VHF reissue", "from-memory"),
    "cdc-vhf-unstable-papr-ext-coverall-doff-2015": ("US CDC", "2015, current VHF reissue", "from-memory"),
    "cdc-vhf-stable-doff": ("US CDC", "2015, current VHF reissue", "from-memory"),
    "cdc-standard-doff-ex1": ("US CDC", "poster of about 2014-2015", "seen-secondary"),
    "cdc-standard-doff-ex2": ("US CDC", "poster of about 2014-2015", "from-memory"),
    "who-ebola-gown-doff": ("WHO", "2014-2015", "from-memory"),
    "ecdc-2020-covid-doff": ("ECDC", "Feb 2020", "from-memory"),
    "phe-2020-agp-doff": ("Public Health England", "2020", "seen-secondary"),
    "au-doh-2021-doff": (
        "hospital poster, text credited to Australian Government Department of Health",
        "July 2021",
        "seen-secondary",
    ),
    "cdc-covid-doff-2020": ("US CDC", "2020", "seen-secondary"),
}
# Not asked to be clean, and clean.
ALSO_CLEAN = {
    "cdc-standard-doff-earlier-poster": ("US CDC", "2004-2007, still quoted in 2014", "seen-secondary"),
    "who-epidemic-ari-doff": ("WHO", "2008-2014", "from-memory"),
    "phe-2020-nonagp-doff": ("Public Health England", "2020", "seen-secondary"),
    "field-2014-gown-doff": ("CDC / MSF, via Washington Post graphic", "Sept-Oct 2014", "seen-secondary"),
}
SUPERSEDED = "cdc-ebola-2014oct-papr-doff"
# Headpiece, hose and belt unit come off one after the other with no rub between, by the text: the hand that was on the
# hose undoes the seal at the chin.
HOSE_TO_NECK = ("papr-hose.hose", "inner-gloves-long.palm-l", "papr-helmet.chin-seal", "body.neck")

PUBLISHED = {name: order for name, order in doffing_orders().items() if order.published}
CASES = [(name, presentation) for name, order in PUBLISHED.items() for presentation in presentations(order)]
SUPERSEDED_CASES = [case for case in CASES if case[0].startswith(SUPERSEDED)]


def entry(name: str) -> str:
    return name.partition("--")[0]


@cache
def judged(name: str, presentation: str) -> tuple[Program, tuple[Reached, ...]]:
    return run(for_presentation(PUBLISHED[name], presentation))


def run(order: Order) -> tuple[Program, tuple[Reached, ...]]:
    program = compile_order(order, load_catalogue())
    return program, as_taught(program)


def witness(program: Program, route: Reached) -> tuple[str, ...]:
    return tuple(program.surfaces[link.surface] for link in route.links)


# ---- orders in force ----


@pytest.mark.parametrize("name", [*IN_FORCE, *ALSO_CLEAN])
def test_the_source_stands_in_every_file_of_the_entry(name: str) -> None:
    files = [order for file, order in PUBLISHED.items() if entry(file) == name]

    assert files
    for order in files:
        assert order.published is not None
        assert order.published.url
        source = (order.published.publisher, order.published.year, order.published.certainty)
        assert source == {**IN_FORCE, **ALSO_CLEAN}[name]


@pytest.mark.parametrize(("name", "presentation"), [case for case in CASES if entry(case[0]) != SUPERSEDED])
def test_as_taught_an_order_in_force_reaches_no_mucosa_no_helper_and_no_skin_at_the_end(
    name: str, presentation: str
) -> None:
    program, routes = judged(name, presentation)

    assert not any(one.endpoint in ("mucosa", "helper") for one in routes)
    assert not any(one.endpoint == "skin" and one.when == "at-end" for one in routes)
    # Skin that is reached and cleaned again is that of the hands, by the dispenser or the tub that gloves have touched.
    for one in routes:
        if one.endpoint == "skin":
            assert one.surface in ("body.hand-l", "body.hand-r")
            assert {"place.dispenser", "place.wipe-tub"} & set(witness(program, one))


def test_the_entries_are_all_there() -> None:
    assert {entry(name) for name in PUBLISHED} == {*IN_FORCE, *ALSO_CLEAN, SUPERSEDED}


@pytest.mark.parametrize("name", [n for n in PUBLISHED if entry(n) == "cdc-vhf-unstable-papr-ext-coverall-doff-2015"])
def test_the_powered_coverall_set_is_judged_wet_too(name: str) -> None:
    assert "wet" in presentations(PUBLISHED[name])


# Work clothing and shoes reached as taught decide no verdict; they are shown, so they are pinned.
CLOTHING = {
    # The soles of the socks, where the boots come off and no shoe is under them.
    **{name: ["body.soles"] for name in PUBLISHED if entry(name) == "who-ebola-gown-doff" and "kept" not in name},
    **{name: ["body.soles"] for name in PUBLISHED if entry(name) == "field-2014-gown-doff" and "boots" in name},
    # The tub that the outer glove touched for the soil at the start is the tub that the shoes are wiped from.
    "cdc-vhf-unstable-n95-gown-doff-2015--soiled-front": ["washable-shoes.upper"],
}


@pytest.mark.parametrize(("name", "presentation"), [case for case in CASES if entry(case[0]) != SUPERSEDED])
def test_what_work_clothing_is_reached(name: str, presentation: str) -> None:
    _, routes = judged(name, presentation)

    assert [one.surface for one in routes if one.endpoint == "clothing"] == CLOTHING.get(name, [])


# ---- the superseded order of October 2014 ----


@pytest.mark.parametrize(("name", "presentation"), SUPERSEDED_CASES)
def test_in_2014_the_seat_carries_from_garment_to_trousers(name: str, presentation: str) -> None:
    """Boot covers come off seated, with the garment still on; later the shoes are wiped, seated, without it."""
    program, routes = judged(name, presentation)
    chain = witness(program, next(one for one in routes if one.surface == "body.thighs"))

    assert chain[-2:] == ("place.seat", "body.thighs")
    assert chain[-3].partition(".")[2] in ("skirt", "legs", "front")


@pytest.mark.parametrize(("name", "presentation"), SUPERSEDED_CASES)
def test_the_move_of_2015_falls_out_of_the_model(name: str, presentation: str) -> None:
    """Boot covers and their rub moved to after the garment and its rub: the documented correction. No trousers."""
    order = for_presentation(PUBLISHED[name], presentation)
    garment = "gown-impermeable" if "gown-impermeable" in order.worn else "coverall-impermeable"
    covers = at(order, "doff", "boot-covers-high")
    assert order.steps[covers + 1].act == "disinfect-gloves"
    _, routes = run(moved(order, (covers, covers + 1), at(order, "doff", garment) + 1))

    assert "body.thighs" in {one.surface for one in judged(name, presentation)[1]}
    assert "body.thighs" not in {one.surface for one in routes}


@pytest.mark.parametrize(("name", "presentation"), SUPERSEDED_CASES)
def test_in_2014_an_external_blower_reaches_the_neck_from_the_hose(name: str, presentation: str) -> None:
    program, routes = judged(name, presentation)
    at_end = {one.surface: witness(program, one) for one in routes if one.endpoint == "skin" and one.when == "at-end"}
    hose = tuple(s.replace("inner-gloves-long", "fresh-gloves") if "torn" in name else s for s in HOSE_TO_NECK)

    assert at_end == ({} if "self-contained" in name else {"body.neck": hose})
    assert is_clean(routes) is ("self-contained" in name)


# ---- sizes, and orders judged for someone else ----


def test_a_full_gown_ensemble_is_fine_enough() -> None:
    program, _ = judged("cdc-vhf-unstable-n95-gown-doff-2015--with-apron", "dry")

    assert len(program.surfaces) >= 40
    assert len(program.events) >= 60


@pytest.mark.parametrize("name", [name for name in PUBLISHED if entry(name) == "cdc-vhf-stable-doff"])
def test_an_order_for_the_stable_is_not_for_a_wet_case(name: str) -> None:
    wet = assure_order(for_presentation(PUBLISHED[name], "wet"), load_catalogue(), 1)
    dry = assure_order(for_presentation(PUBLISHED[name], "dry"), load_catalogue(), 1)

    assert (dry.verdict, wet.verdict) == ("clean", "not-for-this-case")


# ---- the page ----


@pytest.mark.parametrize(
    "name",
    [
        "cdc-vhf-unstable-n95-gown-doff-2015--with-apron",
        f"{SUPERSEDED}--coverall-external-with-apron",
    ],
)
def test_the_page_has_the_line_of_an_order(name: str) -> None:
    assert published_row(name, PUBLISHED[name]) in (PAGES / "published-orders.md").read_text("utf-8")


def test_the_page_has_every_file_of_the_reference_once_in_its_tables() -> None:
    lines = (PAGES / "published-orders.md").read_text("utf-8").splitlines()
    named = [line.split(" | ")[0].removeprefix("| ") for line in lines if line.startswith("| ")]

    assert sorted(name for name in named if name in packaged_orders()) == sorted(packaged_orders())


@pytest.mark.slow
def test_with_every_convention_off_no_order_of_taking_off_stands_and_every_order_of_putting_on_does() -> None:
    off = tuple(load_catalogue().conventions)

    assert {verdict_for(order, "dry", off) for order in doffing_orders().values()} == {"**reached**"}
    putting_on = [order for name, order in all_orders().items() if name not in doffing_orders()]
    assert {verdict_for(order, "dry", off) for order in putting_on} == {"clean"}


@pytest.mark.slow
def test_the_page_is_up_to_date() -> None:
    assert (PAGES / "published-orders.md").read_text("utf-8") == published_page()
