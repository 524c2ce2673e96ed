"""What `check` says of steps beside the verdict, and what it refuses as naming nothing."""

from __future__ import annotations

import pytest

from vestry.cli import main
from vestry.contact.references import unknown_reference
from vestry.sequence import assure_order
from vestry.sequence.notes import notes_of
from vestry.trade import BadFacts, load_catalogue, read_order
from vestry.trade.orders import packaged_orders

CATALOGUE = load_catalogue()
ORDER = """
format-version = 1
title = "gloves"
case = {{ hazard = "ebola", presentation = "dry" }}
worn = ["scrubs", "washable-shoes", "inner-gloves-long", "gown-impermeable", "outer-gloves-long"]
steps = [
  {steps}
]
"""
UNDER = '{ act = "doff", item = "inner-gloves-long" },'


def order(steps: str):
    return read_order(ORDER.format(steps=steps), "gloves.toml")


def notes(steps: str) -> list[tuple[str, int, str]]:
    return [(one.kind, one.number, one.what) for one in assure_order(order(steps), CATALOGUE, 1).notes]


def test_inner_gloves_drawn_out_from_beneath_the_outer_pair_are_noted():
    assert notes(UNDER) == [("drawn-from-beneath", 1, "inner-gloves-long outer-gloves-long")]


def test_outer_gloves_first_is_nothing_to_note():
    assert notes('{ act = "doff", item = "outer-gloves-long" }, ' + UNDER) == []


def test_a_touch_of_what_is_not_worn_is_noted_and_judged_all_the_same():
    assert notes('{ act = "touch", touches = ["hand", "surgical-mask.front"] },') == [
        ("touches-nothing", 1, "surgical-mask.front")
    ]


@pytest.mark.parametrize(
    ("reference", "says"),
    [
        ("gown.frnt", "no face is called frnt; like it are front"),
        ("gwn.front", "no item is called gwn; like it are gown"),
        ("outer@nos-mouth", "no site of the body is called nos-mouth; like it are nose-mouth"),
        ("place.set", "nothing is called set; like it are seat"),
        ("helper.glvs", "no face of a helper is called glvs; like it are gloves"),
        ("over@eyes", "before @ stands outer or under"),
        ("elbow", "elbow names no surface"),
        ("self.palm", "the step names no item"),
    ],
)
def test_a_touch_of_what_does_not_exist_is_refused_with_what_would_be_right(reference, says):
    with pytest.raises(BadFacts) as bad:
        assure_order(order(f'{{ act = "touch", touches = ["hand", "{reference}"] }},'), CATALOGUE, 1)

    problem = bad.value.problems[0]
    assert problem.field == "steps.0.touches"
    assert says in problem.what


@pytest.mark.parametrize("technique", CATALOGUE.techniques, ids=lambda one: f"{one.act} {one.id}")
def test_what_the_techniques_themselves_name_is_known(technique):
    handled = tuple(one.id for one in CATALOGUE.items.values() if one.kind in (*technique.for_, *technique.together))
    everything = handled or tuple(CATALOGUE.items)
    names = {word for touch in technique.touches for word in touch.touch.split()[1:]} - {"onto", "by"}

    assert [wrong for name in names if (wrong := unknown_reference(name, everything, CATALOGUE))] == []


def test_check_tells_both(capsys, tmp_path):
    path = tmp_path / "order.toml"
    path.write_text(ORDER.format(steps=UNDER + ' { act = "touch", touches = ["hand", "goggles.lens"] },'), "utf-8")
    main(["check", str(path)])
    said = " ".join(capsys.readouterr().out.split())

    assert "Take note, step 1, off from beneath the outer gloves: the inner gloves." in said
    assert "Take note, step 2: goggles.lens is not worn there, so the touch meets nothing." in said


def test_only_the_superseded_orders_draw_foot_covers_out_from_beneath_the_suit():
    """October 2014: foot covers before the garment. The legs of the suit lie over them; 2015 moved the covers."""
    noted = {name: notes_of(read_order(text, name), CATALOGUE) for name, text in packaged_orders().items()}
    found = {name: {one.what for one in notes} for name, notes in noted.items() if notes}

    assert set(found) == {
        f"cdc-ebola-2014oct-papr-doff--coverall-{blower}-{apron}-apron"
        for blower in ("external", "self-contained")
        for apron in ("with", "without")
    }
    assert set.union(*found.values()) == {"boot-covers-high coverall-impermeable"}
