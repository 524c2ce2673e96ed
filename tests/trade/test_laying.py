"""A hospital's own operations and standards: whole record, with a reason; all of it or nothing; every shadow listed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vestry.trade import BadFacts
from vestry.trade.operations import SHAPE as OPERATIONS_SHAPE
from vestry.trade.operations import load_operations, load_operations_texts
from vestry.trade.operations_values import ContactTime
from vestry.trade.parting import part
from vestry.trade.shipped import shipped_texts
from vestry.trade.standards import SHAPE as STANDARDS_SHAPE
from vestry.trade.standards import load_standards, load_standards_texts

BECAUSE = 'because = { reason = "invented", name = "Ingrid Vell", date = 2026-11-01 }\n'
HOSPITAL = 'source = "hospital"\ncertainty = "hospital"\n'
HEAD = "format-version = 1\n"
CONTACT = f'[[contact-time]]\nid = "surfaces"\nuse = "surfaces"\nminutes = 5.0\n{HOSPITAL}{BECAUSE}'
INTERVAL = (
    '[[interval]]\nid = "us-fit-test"\nof = "fit-test"\njurisdiction = "us"\n'
    f'months = {{ value = 6, source = "hospital", certainty = "hospital" }}\n{BECAUSE}'
)
PASS = (
    '[[pass-level]]\nid = "us-half-mask"\njurisdiction = "us"\ndevice = "half-mask"\nlevel = 200\nqualitative = false\n'
    f"{HOSPITAL}{BECAUSE}"
)
NO_SPECIMEN = f'[[retire]]\nkind = "door-thing"\nid = "specimen"\n{BECAUSE}'
GOOD = {"own-operations.toml": HEAD + CONTACT + NO_SPECIMEN, "own-standards.toml": HEAD + INTERVAL + PASS}


def operations(**files: str):  # type: ignore[no-untyped-def]
    return load_operations_texts(shipped_texts("operations"), {f"{name}.toml": text for name, text in files.items()})


def standards(**files: str):  # type: ignore[no-untyped-def]
    return load_standards_texts(shipped_texts("standards"), {f"{name}.toml": text for name, text in files.items()})


def test_their_record_stands_whole_in_place_of_ours_and_nothing_else_changes():
    laid, ours = standards(own=HEAD + INTERVAL + PASS), load_standards()
    assert laid.months("fit-test", "us") == 6
    level = laid.pass_level("us", "half-mask")
    assert level is not None
    assert (level.level, level.qualitative) == (200, False)
    changed = {
        (table, key) for table, rows in ours.tables.items() for key in rows if laid.tables[table][key] != rows[key]
    }
    assert changed == {("interval", "us-fit-test"), ("pass-level", "us-half-mask")}
    assert laid.digest != ours.digest
    assert standards().digest == ours.digest


def test_every_shadow_is_listed_with_what_differs_why_and_where():
    shadows = {(one.kind, one.id): one for one in operations(own=HEAD + CONTACT + NO_SPECIMEN).shadows}
    assert set(shadows) == {("contact-time", "surfaces"), ("door-thing", "specimen")}
    told = shadows["contact-time", "surfaces"].as_json()
    assert {"field": "minutes", "ours": 15.0, "theirs": 5.0} in told["differs"]
    assert not any(one["field"].startswith("because") for one in told["differs"])
    assert (told["change"], told["name"], told["line"]) == ("laid-over", "Ingrid Vell", 2)
    assert shadows["door-thing", "specimen"].change == "retired"


def test_what_is_retired_is_out_of_force_and_nothing_else_is():
    laid = operations(own=HEAD + NO_SPECIMEN)
    assert "specimen" not in laid.tables["door-thing"]
    assert len(laid.tables["door-thing"]) == len(load_operations().tables["door-thing"]) - 1


# What a file says, and the problem that is told.
BAD_OPERATIONS = {
    "not ours and not said so": (CONTACT.replace('"hospital"', '"judgement"'), 'certainty = "hospital"'),
    "speaks of the same as ours": (CONTACT.replace('id = "surfaces"', 'id = "our-wipe"'), "the same as surfaces"),
    "wider rights": (
        f'[[bag-right]]\nid = "release"\nact = "release"\nroles = ["staff-member"]\n{HOSPITAL}{BECAUSE}',
        "may not by the table of access",
    ),
    "no such agent": (
        '[[hygiene-time]]\nid = "x"\nagent = "alcohol-rob"\non = "hands"\nsort = "rub"\nseconds = 20\n'
        "range = [20, 20]\n"
        f"{HOSPITAL}{BECAUSE}",
        "did you mean alcohol-rub?",
    ),
    "no words": (f'[[door-thing]]\nid = "trolley"\ndirection = "out"\n{HOSPITAL}{BECAUSE}', "no words for trolley"),
    "no such product": (
        f'[[shelf-life]]\nid = "x"\nproducts = ["bleech"]\nsetting = "field"\nhours = 2.0\n{HOSPITAL}{BECAUSE}',
        "did you mean bleach?",
    ),
    "retires what is reckoned with": (
        f'[[retire]]\nkind = "contact-time"\nid = "surfaces"\n{BECAUSE}',
        "lay another record over it instead",
    ),
    "retires nothing": (f'[[retire]]\nkind = "door-thing"\nid = "specimem"\n{BECAUSE}', "did you mean specimen?"),
    "retires and lays over": (
        NO_SPECIMEN + f'[[door-thing]]\nid = "specimen"\ndirection = "out"\n{HOSPITAL}{BECAUSE}',
        "stands twice",
    ),
}
BAD_STANDARDS = {
    "no reason": (PASS.replace(BECAUSE, ""), "says why"),
    "no months": (INTERVAL.replace("value = 6, ", ""), "give `value`, or `default`"),
    "months below nought": (INTERVAL.replace("value = 6", "value = -6"), "from 1 to 600"),
    "speaks of the same as ours": (PASS.replace('id = "us-half-mask"', 'id = "own"'), "the same as us-half-mask"),
    "unknown source": (PASS.replace('source = "hospital"', 'source = "the-label"'), "no source is called the-label"),
    "retires a level": (f'[[retire]]\nkind = "pass-level"\nid = "us-half-mask"\n{BECAUSE}', "lay another record over"),
}


@pytest.mark.parametrize("name", BAD_OPERATIONS)
def test_a_bad_record_of_operations_is_refused_with_file_and_line(name: str):
    text, says = BAD_OPERATIONS[name]
    with pytest.raises(BadFacts, match=r"own\.toml") as bad:
        operations(own=HEAD + text)
    assert says in "\n".join(map(str, bad.value.problems))


@pytest.mark.parametrize("name", BAD_STANDARDS)
def test_a_bad_standard_is_refused_with_file_and_line(name: str):
    text, says = BAD_STANDARDS[name]
    with pytest.raises(BadFacts, match=r"own\.toml") as bad:
        standards(own=HEAD + text)
    assert says in "\n".join(map(str, bad.value.problems))


def test_files_are_parted_by_their_tables_and_one_of_two_sorts_is_refused():
    parted = part(GOOD)
    assert (list(parted.operations), list(parted.standards)) == (["own-operations.toml"], ["own-standards.toml"])
    assert list(part({"retire.toml": HEAD + NO_SPECIMEN}).operations) == ["retire.toml"]
    with pytest.raises(BadFacts, match="a file of each"):
        part({"both.toml": HEAD + CONTACT + PASS})


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(GOOD)), st.data())
def test_a_file_that_is_cut_or_changed_anywhere_is_laid_whole_or_refused_with_its_name(name: str, data: st.DataObject):
    text = GOOD[name]
    at = data.draw(st.integers(0, len(text) - 1))
    put = data.draw(
        st.text(st.characters(codec="utf-8"), max_size=8) | st.sampled_from(["[[", "{", '"', "\n", "= 1e999"])
    )
    spoiled = text[:at] + put + text[at + data.draw(st.integers(0, 20)) :]
    problems = None
    try:
        parted = part({name: spoiled})
        laid = (
            load_operations_texts(shipped_texts("operations"), parted.operations),
            load_standards_texts(shipped_texts("standards"), parted.standards),
        )
    except BadFacts as bad:
        problems = bad.problems
    if problems is not None:
        assert problems
        assert all(str(one).startswith(name) for one in problems)
        return
    for one, shape in zip(laid, (OPERATIONS_SHAPE, STANDARDS_SHAPE), strict=True):
        assert one.digest
        for table in shape.same:
            said = [shape.same[table](record) for record in one.tables[table].values()]
            assert len(set(said)) == len(said)


def test_a_contact_time_laid_over_is_the_one_that_is_used():
    from vestry.room.dilution import contact_time

    assert contact_time("surfaces", operations(own=HEAD + CONTACT)).minutes == 5
    assert load_operations().one(ContactTime, "surfaces").minutes == 15
