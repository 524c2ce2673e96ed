"""The printed sheet: what stands on it, in which order, and that it is an accessible PDF."""

import io
import re
from dataclasses import replace
from functools import cache
from itertools import product

import pypdf
import pytest
from pypdf.generic import NameObject, StreamObject
from tests.sequence.test_search import unlike_hazards

from vestry.papers import ENGLISH, Approval, CannotPrint, NotOfThisPlan, sheet_content, sheet_pages_png, sheet_pdf
from vestry.papers.sheet import KINDS, qr_text, short_hash, steps_of
from vestry.papers.typesetting import pdf
from vestry.sequence import Case, NoPlan, Policy, assure, plan_case, say
from vestry.trade import load_catalogue
from vestry.trade.words import load_words

CATALOGUE, WORDS = load_catalogue(), load_words("en")
UNIT = "Harrow Point General, invented for demonstration"
APPROVED = Approval(3, "I. Marsh, programme lead", "2026-03-12", "5 of 6 on shift", UNIT)

WEARERS = ("donning", "doffing")

CASES = {
    "wet-hood": (Case(hazard="ebola", presentation="wet"), Policy(respirator="belt-blower", with_apron=True)),
    "dry-respirator": (Case(hazard="lassa", presentation="dry"), Policy()),
    "two": (Case(hazard="ebola", presentation="wet", wearers=2), Policy()),
    "respiratory": (Case(hazard="mers", presentation="dry"), Policy(eye_protection="goggles", garment="coverall")),
}


@cache
def planned(name):
    plan = plan_case(*CASES[name], CATALOGUE)
    return plan, assure(plan, CATALOGUE)


@cache
def printed(name, approval=APPROVED, kinds=WEARERS, **more):
    return sheet_pdf(
        *planned(name), WORDS, CATALOGUE, approval, kinds=kinds, unit=UNIT, printed_on="2026-03-14", **more
    )


def flat(text):
    """Text without its line breaks, and with hyphens at line ends closed up."""
    return re.sub(r"\s+", " ", text).strip()


# What is written on a page, without its drawings: those hold no text, and reading past them takes seconds.
WRITTEN = re.compile(rb"q (?:-?[\d.]+ ){6}cm[^\n]*\nBT.*?\nET\nQ", re.DOTALL)


@cache
def pages(data):
    """The text of each page, all of it on the paper."""
    found = []

    def on_paper(text, cm, tm, *_):
        if text.strip():
            assert 20 < cm[4] < 575, f"off the side: {text}"
            assert 20 < cm[5] < 825, f"off the page: {text}"

    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        bare = StreamObject()
        bare.set_data(b"\n".join(WRITTEN.findall(page.get_contents().get_data())))
        page[NameObject("/Contents")] = bare
        found.append(flat(page.extract_text(visitor_text=on_paper)))
    return found


def squeezed(text):
    """Signs alone: where a line breaks after a hyphen, extraction shows a space."""
    return re.sub(r"\s+", "", text)


def step_pages(data):
    """The pages that observer and wearer use."""
    return [page for page in pages(data) if ENGLISH.hold in page]


# ---- it is an accessible PDF ----


def test_it_is_tagged_and_says_that_it_is_pdf_ua():
    reader = pypdf.PdfReader(io.BytesIO(printed("wet-hood")))
    root = reader.trailer["/Root"]

    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    assert reader.metadata.title == "Gown · Apron · Powered hood. Ebola disease"


def test_every_picture_is_said_in_words():
    reader = pypdf.PdfReader(io.BytesIO(printed("wet-hood")))
    said = [node["/Alt"] for node in structure(reader) if node.get("/S") == "/Figure"]

    assert said
    assert all(len(alt) > 20 for alt in said)
    assert any("Hold here:" in alt and "Do not touch:" in alt for alt in said)


def structure(reader):
    """Every element of the structure tree."""
    left = [reader.trailer["/Root"]["/StructTreeRoot"]]
    while left:
        node = left.pop()
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            left += reversed(node)
        elif isinstance(node, dict):
            yield node
            if "/K" in node:
                left.append(node["/K"])


@pytest.mark.slow
def test_steps_are_headings_in_order():
    plan, _ = planned("dry-respirator")
    reader = pypdf.PdfReader(io.BytesIO(printed("dry-respirator")))
    titles = [one.title for sheet in reader.outline if isinstance(sheet, list) for one in sheet]

    found = [int(match[1]) for title in titles if (match := re.match(r"(\d+) ", title))]

    assert found == list(range(1, len(plan.steps) + 1))


# ---- the steps ----


@pytest.mark.parametrize("name", CASES)
@pytest.mark.sampled(1)
def test_every_step_stands_there_in_order_with_its_number(name):
    plan, _ = planned(name)
    text = squeezed("".join(step_pages(printed(name))))

    at = 0
    for number, step in enumerate(plan.steps, 1):
        said, who = say(step, WORDS, CATALOGUE), WORDS.term("who", step.who)
        wanted = squeezed(f"{number}{who[0].upper()}{who[1:]}:{said.say}")
        found = text.find(wanted, at)
        assert found >= 0, f"step {number} is missing or out of order: {said.say}"
        at = found + len(wanted)
        watch = text.find(squeezed(said.watch), at)
        assert watch >= 0, f"step {number} has no watch line"


def test_each_step_has_its_three_boxes():
    plan, _ = planned("wet-hood")
    text = "".join(step_pages(printed("wet-hood")))

    assert text.count("seen not seen prompted") == len(plan.steps)


@pytest.mark.parametrize("name", CASES)
def test_a_removal_names_its_waste_stream(name):
    plan, _ = planned(name)
    text = squeezed("".join(step_pages(printed(name))))

    for stream in {step.waste for step in plan.steps if step.waste}:
        count = sum(step.waste == stream for step in plan.steps)
        assert text.count(squeezed(f"{ENGLISH.waste}: {WORDS.waste(stream)}")) == count


@pytest.mark.parametrize("name", CASES)
def test_stop_points_stand_before_their_step(name):
    plan, _ = planned(name)
    text = squeezed("".join(step_pages(printed(name))))

    for step in plan.steps:
        if step.stop_point:
            stop, said = WORDS.stop(step.stop_point), say(step, WORDS, CATALOGUE).say
            start = text.index(squeezed(f"{ENGLISH.stop_point}: {stop.name}{stop.say}"))
            assert text.find(squeezed(said), start) > start


def test_the_pages_of_the_steps_bear_no_verdict():
    text = " ".join(step_pages(printed("wet-hood"))).lower()

    for word in ("verdict", "checked against", "further error", "margin", "convention"):
        assert word not in text


def test_glove_disinfection_and_hand_hygiene_are_never_one_step():
    plan, assurance = planned("wet-hood")
    content = sheet_content(plan, assurance, WORDS, CATALOGUE, None, ENGLISH, kinds=WEARERS)
    rubbed = [
        (step.act, shown["alt"], shown["say"])
        for sheet in content["sheets"]
        for shown in sheet["steps"]
        for step in [plan.steps[shown["number"] - 1]]
        if step.act in ("disinfect-gloves", "hand-hygiene")
    ]

    assert {act for act, _, _ in rubbed} == {"disinfect-gloves", "hand-hygiene"}
    for act, alt, said in rubbed:
        gloves = act == "disinfect-gloves"
        assert alt == (f"{ENGLISH.hygiene_gloves}." if gloves else f"{ENGLISH.hygiene_hands}.")
        assert ("Hand hygiene" not in said) if gloves else ("Glove disinfection" not in said)


def test_a_group_without_a_pause_is_marked_at_its_first_step_only():
    plan, assurance = planned("wet-hood")
    content = sheet_content(plan, assurance, WORDS, CATALOGUE, None, ENGLISH, kinds=WEARERS)
    shown = [step for sheet in content["sheets"] for step in sheet["steps"]]
    wanted = [step.group for step in plan.steps]

    assert [step["grouped"] for step in shown] == [group is not None for group in wanted]
    assert sum(step["first"] for step in shown) == len({group for group in wanted if group})
    assert "".join(step_pages(printed("wet-hood"))).count(ENGLISH.together) == len({g for g in wanted if g})


# ---- what stands on every page ----


def test_every_page_names_plan_version_and_its_own_number():
    found = pages(printed("wet-hood"))
    plan, _ = planned("wet-hood")

    for number, page in enumerate(found, 1):
        assert f"Plan {short_hash(plan.hash)}" in page
        assert "Version 3, approved 2026-03-12 by I. Marsh, programme lead" in page
        assert f"page {number} of {len(found)}" in page
        assert squeezed(WORDS.cautions[0]) in squeezed(page)
        assert ENGLISH.unapproved not in page


@pytest.mark.slow
def test_every_page_of_an_unapproved_plan_says_so():
    found = pages(printed("wet-hood", None))

    # In the band at the head and in the foot: one may be torn off or covered.
    assert [page.count(ENGLISH.unapproved) >= 2 for page in found] == [True] * len(found)
    assert all(ENGLISH.unapproved_why in page for page in found)
    assert "Version" not in " ".join(found)


def test_a_draft_translation_says_so_on_every_page():
    draft = replace(WORDS, language=WORDS.language.model_copy(update={"status": "draft"}))
    found = pages(sheet_pdf(*planned("dry-respirator"), draft, CATALOGUE, APPROVED, kinds=("donning",)))

    assert [ENGLISH.draft in page for page in found] == [True] * len(found)


def test_the_code_holds_the_whole_hash_and_the_version():
    plan, _ = planned("wet-hood")

    assert qr_text(plan, APPROVED) == f"PLAN:{plan.hash.upper()}:VERSION:3"
    assert qr_text(plan, None) == f"PLAN:{plan.hash.upper()}:UNAPPROVED"


# ---- the front ----


def test_the_front_says_case_ensemble_verdict_cautions_and_sources():
    plan, assurance = planned("wet-hood")
    front = squeezed(" ".join(page for page in pages(printed("wet-hood")) if ENGLISH.hold not in page))

    wanted = [
        UNIT,
        WORDS.hazard("ebola"),
        plan.hash,
        "5 of 6 on shift",
        WORDS.verdict("clean").says,
        WORDS.spoken("stop").say,
        ENGLISH.hold_card,
        "US CDC",
        *WORDS.cautions,
        *(WORDS.item(item) for item in plan.worn),
        *(WORDS.convention(one).says for one in assurance.conventions),
    ]
    assert [one for one in wanted if squeezed(one) not in front] == []
    assert "safe" not in " ".join(pages(printed("wet-hood"))).lower()


@pytest.mark.slow
def test_a_source_recalled_from_memory_is_marked():
    plan, assurance = planned("wet-hood")
    rows = sheet_content(plan, assurance, WORDS, CATALOGUE, None, ENGLISH)["front"]["sources"]
    recalled = [row for row in rows if row["memory"]]

    assert recalled
    assert all(WORDS.term("certainty", "from-memory") in row["certainty"] for row in recalled)
    assert ENGLISH.recall_mark in " ".join(pages(printed("wet-hood")))


# ---- the same, and bounded ----


@pytest.mark.slow
def test_two_printings_are_the_same_bytes():
    again = sheet_pdf(*planned("wet-hood"), WORDS, CATALOGUE, APPROVED, unit=UNIT, printed_on="2026-03-14")

    assert again == printed("wet-hood", kinds=KINDS)


@pytest.mark.slow
def test_the_pages_can_be_looked_at():
    content = sheet_content(*planned("dry-respirator"), WORDS, CATALOGUE, APPROVED, ENGLISH, unit=UNIT)
    shown = sheet_pages_png(content, ppi=20)

    assert [page[:4] for page in shown] == [b"\x89PNG"] * len(pages(pdf(content)))


@pytest.mark.slow
def test_one_sheet_alone_has_only_its_steps():
    plan, _ = planned("dry-respirator")
    text = "".join(step_pages(printed("dry-respirator", kinds=("doffing",))))

    shown = {kind: [number for number, _ in steps_of(kind, plan)] for kind in WEARERS}
    assert shown["donning"] + shown["doffing"] == list(range(1, len(plan.steps) + 1))
    assert say(plan.steps[shown["doffing"][0] - 1], WORDS, CATALOGUE).say in text
    assert WORDS.confirm("area-confirmed").say not in text


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_the_number_of_pages_is_bounded(name):
    plan, _ = planned(name)

    assert len(pages(printed(name))) <= 3 + -(-len(plan.steps) // 3)
    own = [*plan.turnaround, *(step for member in plan.team for step in member.steps)]
    assert len(pages(printed(name, kinds=("team",)))) <= 3 + 1 + len(plan.team) + -(-len(own) // 3)


# ---- the others ----


@pytest.mark.slow
def test_assistant_and_observer_have_sheets_of_their_own_numbered_apart():
    plan, _ = planned("wet-hood")
    text = squeezed("".join(step_pages(printed("wet-hood", kinds=("team",)))))

    for member in plan.team:
        assert squeezed(ENGLISH.own.format(who=WORDS.term("who", member.role).capitalize())) in text
        for number, step in enumerate(member.steps, 1):
            who = WORDS.term("who", step.who)
            assert squeezed(f"{member.role[0].upper()}{number} {who[0].upper()}{who[1:]}:") in text
            assert squeezed(say(step, WORDS, CATALOGUE).say) in text


@pytest.mark.slow
def test_what_is_done_between_two_exits_is_printed_only_where_two_come_out():
    assert squeezed(ENGLISH.turnaround_lead) not in squeezed("".join(step_pages(printed("wet-hood"))))
    text = squeezed("".join(step_pages(printed("two", kinds=("team",)))))
    for key in planned("two")[0].turnaround:
        assert squeezed(WORDS.turnaround(key).say) in text


# ---- what cannot be printed is refused ----


def test_an_assurance_of_another_plan_is_refused():
    with pytest.raises(NotOfThisPlan, match="the assurance is of"):
        sheet_pdf(planned("wet-hood")[0], planned("dry-respirator")[1], WORDS, CATALOGUE, None)


def test_an_unknown_kind_is_refused():
    with pytest.raises(ValueError, match="washing"):
        sheet_pdf(*planned("wet-hood"), WORDS, CATALOGUE, None, kinds=("washing",))


@pytest.mark.slow
def test_a_sign_that_no_font_has_is_refused_and_named():
    with pytest.raises(CannotPrint, match="病"):
        sheet_pdf(*planned("dry-respirator"), WORDS, CATALOGUE, None, unit="病院")


def test_text_is_never_markup():
    trick = "#panic() *bold* $x$ <script> \\ {page}"
    found = pages(
        sheet_pdf(*planned("dry-respirator"), WORDS, CATALOGUE, replace(APPROVED, unit=trick), kinds=("donning",))
    )

    assert all(trick in page for page in found)


@pytest.mark.slow
def test_long_words_and_right_to_left_are_not_cut_off():
    content = sheet_content(*planned("wet-hood"), WORDS, CATALOGUE, None, ENGLISH, unit=UNIT)
    del content["sheets"][1]
    longer = content["sheets"][0]["steps"] = content["sheets"][0]["steps"][:8]
    for step in longer:
        step["say"], step["long"] = f"{step['say']} {step['say']} {step['watch']} " * 5 + "End of step.", True
    content["hazard"] = f"{content['hazard']} and a very long name of a disease in another language " * 12
    for rtl in (False, True):
        content["rtl"] = rtl
        found = pages(pdf(content))
        assert sum(page.count("End of step.") for page in found) == len(longer)
        assert all(f"page {number} of {len(found)}" in page for number, page in enumerate(found, 1))


# ---- the whole small catalogue ----

# The steps of a sheet follow from what is worn and from the family, routes and virus class of a hazard; its name and
# words from the hazard. So every choice is printed for hazards that are unlike, and of each other hazard a few.
CHOICES = list(product(("dry", "wet"), ("disposable", "belt-blower", "helmet-blower"), ("gown", "coverall")))
UNLIKE = set(unlike_hazards(CATALOGUE))
SMALL = [
    (hazard, *choice)
    for place, hazard in enumerate(CATALOGUE.hazards)
    for number, choice in enumerate(CHOICES)
    if hazard in UNLIKE or (number - place) % 5 == 0
]


def prints(hazard, presentation, respirator, garment):
    """Compiles under ua-1 without a warning: pdf() refuses both."""
    case, policy = Case(hazard=hazard, presentation=presentation), Policy(respirator=respirator, garment=garment)
    try:
        plan = plan_case(case, policy, CATALOGUE)
    except NoPlan:
        pytest.skip("there is no plan for this case")
    data = sheet_pdf(plan, assure(plan, CATALOGUE), WORDS, CATALOGUE, None, unit=UNIT)
    steps = [*plan.steps, *(step for member in plan.team for step in member.steps)]
    assert len(pypdf.PdfReader(io.BytesIO(data)).pages) <= 3 + len(plan.team) + -(-len(steps) // 3)


@pytest.mark.slow
@pytest.mark.property
@pytest.mark.parametrize("choice", SMALL, ids="-".join)
def test_every_plan_of_the_small_catalogue_prints(choice):
    prints(*choice)
